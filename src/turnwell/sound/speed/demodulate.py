"""Turns a coarse speed track into the phase of the shaft, line by line.

Along a track the sound is multiplied by exp(-2πi k φ(t)), φ being the shaft's turns, and averaged
over a whole number of turns: every other harmonic then falls on an exact zero of the average, at
whatever speed. What is left is the slow phase by which the shaft runs ahead of the track.

A block begins with a sample, not with the turn itself, so that the zeros are missed by a part of a
sample; what the other lines carry over by this is known in closed form, and taken off.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["Baseband", "baseband_of"]

_SAMPLES_AT_ONCE = 1 << 19
_FOLDED = 0.1  # two lines that sampling folds onto one another cannot be told apart


@dataclass(frozen=True, slots=True, eq=False)
class Baseband:
    """Lines of a shaft, brought down to zero frequency along a track.

    Parameters
    ----------
    time_s : array of float64, shape (blocks,)
        Middle of each block of whole turns.
    turns : array of float64, shape (blocks,)
        Turns of the track's shaft at that instant.
    count : array of float64, shape (blocks,)
        Samples in each block.
    lines : array of complex128, shape (orders, blocks)
        Mean of the sound times exp(-2πi k φ).
    orders : tuple of float
        k of each row.
    """

    time_s: NDArray[np.float64]
    turns: NDArray[np.float64]
    count: NDArray[np.float64]
    lines: NDArray[np.complex128]
    orders: tuple[float, ...]

    def moved(self, ahead: NDArray[np.float64]) -> "Baseband":
        """Give the same lines along a track that runs `ahead` turns before this one."""
        turn = np.exp(-2j * np.pi * np.outer(self.orders, ahead))
        return replace(self, turns=self.turns + ahead, lines=self.lines * turn)

    def grouped(self, edges: NDArray[np.int64]) -> "Baseband":
        """Give longer blocks, each from one edge (a block's index) to the next."""
        count = np.add.reduceat(self.count, edges)
        total = np.add.reduceat(self.lines * self.count, edges, axis=1)
        mean = np.asarray(total / count, np.complex128)
        return Baseband(
            time_s=np.add.reduceat(self.time_s * self.count, edges) / count,
            turns=np.add.reduceat(self.turns * self.count, edges) / count,
            count=count,
            lines=mean,
            orders=self.orders,
        )


def baseband_of(
    samples: NDArray[np.float32],
    rate_hz: float,
    node_s: NDArray[np.float64],
    node_hz: NDArray[np.float64],
    orders: tuple[int, ...],
    *,
    block_s: float,
) -> Baseband:
    """Bring the lines of a shaft down along a track.

    Parameters
    ----------
    samples : array of float32, shape (n,)
    rate_hz : float
    node_s, node_hz : arrays, shape (m,)
        The track, straight between nodes; the stretch from its first to its last node is used.
    orders : tuple of int
        Harmonics, rising.
    block_s : float
        Wanted length of a block at the highest speed; at least one turn is taken.
    """
    first = max(int(np.ceil(node_s[0] * rate_hz)), 0)
    last = min(int(node_s[-1] * rate_hz), samples.size)
    turns_a_block = max(1, round(block_s * float(np.max(node_hz))))
    sums: list[NDArray[np.complex128]] = []
    counts: list[NDArray[np.float64]] = []
    times: list[NDArray[np.float64]] = []
    lags: list[NDArray[np.float64]] = []
    ahead = 0.0
    carry: tuple[NDArray[np.complex128], float, float] | None = None
    for begin in range(first, last, _SAMPLES_AT_ONCE):
        at = np.arange(begin, min(begin + _SAMPLES_AT_ONCE, last))
        phase = np.cumsum(np.interp(at / rate_hz, node_s, node_hz)) / rate_hz + ahead
        ahead = float(phase[-1])
        block = np.floor(phase / turns_a_block).astype(np.int64)
        starts = np.concatenate([[0], np.flatnonzero(np.diff(block)) + 1])
        part = _line_sums(samples[at[0] : at[-1] + 1], phase, starts, orders)
        count = np.diff(np.append(starts, at.size)).astype(np.float64)
        moment = count * (at[starts] + 0.5 * (count - 1.0))
        lag = phase[starts] % 1.0
        if carry is not None and carry[2] == block[0]:
            # A block that lies across two stretches of samples is put together again.
            part[:, 0] += sums[-1][:, -1]
            count[0] += counts[-1][-1]
            moment[0] += times[-1][-1]
            lag[0] = lags[-1][-1]
            sums[-1], counts[-1] = sums[-1][:, :-1], counts[-1][:-1]
            times[-1], lags[-1] = times[-1][:-1], lags[-1][:-1]
        carry = (part[:, -1], count[-1], float(block[-1]))
        sums.append(part)
        counts.append(count)
        times.append(moment)
        lags.append(lag)
    count = np.concatenate(counts)
    # The first and the last block may be short of a turn.
    inner = slice(1, -1)
    time_s = (np.concatenate(times) / count / rate_hz)[inner]
    track = _turns_at(node_s, node_hz, time_s, first / rate_hz)
    lines = (np.concatenate(sums, axis=1) / count)[:, inner]
    lag = np.concatenate(lags)
    lines = _apart(lines, orders, lag[1:], count[inner], turns_a_block / count[inner])
    return Baseband(time_s, track, count[inner], lines, tuple(float(k) for k in orders))


def _line_sums(
    samples: NDArray[np.float32],
    phase: NDArray[np.float64],
    starts: NDArray[np.int64],
    orders: tuple[int, ...],
) -> NDArray[np.complex128]:
    """Sum of the sound times exp(-2πi k φ) over each block."""
    angle = (-2.0 * np.pi * (phase - np.floor(phase))).astype(np.float32)
    turn = np.empty(angle.size, np.complex64)
    np.cos(angle, out=turn.real)
    np.sin(angle, out=turn.imag)
    product, done = samples.astype(np.complex64), 0
    sums = np.empty((len(orders), starts.size), np.complex128)
    for row, order in enumerate(orders):
        while done < order:
            product *= turn
            done += 1
        sums[row] = np.add.reduceat(product, starts)
    return sums


def _apart(
    lines: NDArray[np.complex128],
    orders: tuple[int, ...],
    lag: NDArray[np.float64],
    count: NDArray[np.float64],
    advance: NDArray[np.float64],
) -> NDArray[np.complex128]:
    """Take from each line what the others, and its own image, carry into its blocks.

    A line at m turns off sums to (w(m, end) - w(m, begin)) / (w(m, a sample's advance) - 1) with
    w(m, φ) = exp(2πi m φ); `lag` holds by how much of a turn the first sample of each block, and of
    the one after the last, comes late.
    """

    @cache
    def carried(off: int) -> NDArray[np.complex128]:
        at_edge = np.exp(2j * np.pi * off * lag)
        each = np.exp(2j * np.pi * off * advance) - 1.0
        share = (at_edge[1:] - at_edge[:-1]) / np.where(np.abs(each) > _FOLDED, each, np.inf)
        return np.asarray(share / count, np.complex128)

    apart = lines.copy()
    for row, order in enumerate(orders):
        for other, size in zip(orders, lines, strict=True):
            if other != order:
                apart[row] -= size * carried(other - order)
            apart[row] -= np.conj(size) * carried(-other - order)
    return apart


def _turns_at(
    node_s: NDArray[np.float64],
    node_hz: NDArray[np.float64],
    time_s: NDArray[np.float64],
    start_s: float,
) -> NDArray[np.float64]:
    """Count the turns of the track's shaft from `start_s` to instants, exact between nodes."""
    step = np.diff(node_s)
    at_node = np.concatenate([[0.0], np.cumsum(0.5 * (node_hz[1:] + node_hz[:-1]) * step)])

    def at(instant: NDArray[np.float64]) -> NDArray[np.float64]:
        left = np.clip(np.searchsorted(node_s, instant) - 1, 0, step.size - 1)
        since = instant - node_s[left]
        slope = (node_hz[left + 1] - node_hz[left]) / step[left]
        turns: NDArray[np.float64] = at_node[left] + since * (node_hz[left] + 0.5 * slope * since)
        return turns

    return at(time_s) - at(np.array([start_s]))
