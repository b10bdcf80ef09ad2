"""Averages the order spectrum of a stretch, each bin over the noise floor around it.

The sound, at equal steps of angle, is cut into half overlapping blocks of whole turns, so that an
order of the shaft falls on one bin. The level of each block is taken off before the average,
because in a coast-down level and speed change from block to block: every bin is divided by the
noise floor of its own block, the 40 % quantile of a band of bins. What then is left of the floor's
shape is taken off the average by a running median. In noise alone a bin is a gamma variable of
mean 1.

References
----------
Average of overlapping windowed blocks and its variance: [WELCH1967].
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from math import log

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from turnwell.sound.orders.angle import Turned
from turnwell.sound.segment import SegmentKind

__all__ = ["Kind", "OrderSpectrum", "averaged", "block_turns"]

Floats = NDArray[np.float64]
Samples = NDArray[np.float32]

_LONGEST_BLOCK = 256
_SHORTEST_BLOCK = 16
_FEWEST_BLOCKS = 4
_QUANTILE = 0.4
_QUANTILE_OF_NOISE = -log(1.0 - _QUANTILE)
_BAND_ORDERS, _BAND_BINS = 0.25, 24
_FLOOR_REACH = 2
_MEDIAN_ORDERS, _MEDIAN_BINS = 0.15, 12
_WIDEST_MASK = 0.08
_NARROWEST_MASK_BINS = 3
_LOWEST_BINS, _LOWEST_ORDER = 6, 0.1
_AT_ONCE = 16


class Kind(StrEnum):
    """Of what a spectrum is."""

    DIRECT = "direct"
    ENVELOPE = "envelope"


@dataclass(frozen=True, slots=True, eq=False)
class OrderSpectrum:
    """Power over the noise floor, in steps of the order.

    Parameters
    ----------
    stretch : SegmentKind
        Steady or coast-down.
    kind : Kind
        Of the sound itself, or of the squared envelope of a band.
    band_hz : tuple of two floats or None
        The band whose envelope it is.
    power : array, shape (bins,)
        Mean of the bin over that of the noise; 1 in noise alone.
    blocks : array of int, shape (bins,)
        Blocks in which the bin could be heard; 0 where the recording cannot show it.
    is_shaft : array of bool, shape (bins,)
        Bins that orders of the shaft fill.
    order_step : float
        Spacing of the bins; the first is order 0.
    overdispersion : float
        Variance of bins over that of noise by theory, at least 1: errors of the floor.
    speed_low_hz, speed_high_hz : float
        Range of the rotation frequency.
    turns : int
        Turns that were used.
    judges : bool
        False where another spectrum of the same turns judges bearings better.
    speed_error : float
        Relative standard deviation of the speed, by which orders may be off.
    """

    stretch: SegmentKind
    kind: Kind
    band_hz: tuple[float, float] | None
    power: Floats
    blocks: NDArray[np.int64]
    is_shaft: NDArray[np.bool_]
    order_step: float
    overdispersion: float
    speed_low_hz: float
    speed_high_hz: float
    turns: int
    judges: bool = True
    speed_error: float = 0.0

    @property
    def highest_order(self) -> float:
        """Highest order that can be heard."""
        seen = np.flatnonzero(self.blocks)
        return float(seen[-1] * self.order_step) if seen.size else 0.0

    @property
    def is_open(self) -> NDArray[np.bool_]:
        """Bins that can be heard and that no order of the shaft fills."""
        return (self.blocks > 0) & ~self.is_shaft

    @property
    def freedom(self) -> Floats:
        """Shape of the gamma distribution of each bin in noise; 0 where it cannot be heard."""
        return self.blocks / (overlap_variance() * self.overdispersion)


def block_turns(turns: int) -> int | None:
    """Give the length of the blocks in turns, a power of two; None when there are too few turns."""
    longest = turns // _FEWEST_BLOCKS
    if longest < _SHORTEST_BLOCK:
        return None
    return min(1 << (longest.bit_length() - 1), _LONGEST_BLOCK)


def averaged(
    pieces: Sequence[Turned],
    *,
    stretch: SegmentKind,
    kind: Kind,
    highest_order: float,
    edge_hz: float,
    band_hz: tuple[float, float] | None = None,
    speed_error: float = 0.0,
) -> OrderSpectrum | None:
    """Average the spectra of blocks of whole turns; None when there are too few turns.

    Parameters
    ----------
    pieces : sequence of Turned
        Stretches of one kind, as many samples a turn in each.
    stretch, kind, band_hz
        As kept in the spectrum.
    speed_error : float
        As kept in the spectrum.
    highest_order, edge_hz : float
        Bins above either, at the highest speed of a block, are not heard in that block.
    """
    turns = max((len(piece.samples) for piece in pieces), default=0)
    length = block_turns(turns)
    if length is None:
        return None
    pieces = [piece for piece in pieces if len(piece.samples) >= length]
    bins = min(int(highest_order * length), pieces[0].per_turn * length // 2 - 1) + 1
    power = np.concatenate([_powers(piece, length, bins) for piece in pieces])
    speed = np.concatenate([_fastest(piece, length) for piece in pieces])
    heard = np.minimum((edge_hz / speed * length).astype(np.int64), bins)
    total, blocks = np.zeros(bins), np.zeros(bins, np.int64)
    ratio = power / _floors(power, heard, length)
    for row, last in zip(ratio, heard, strict=True):
        total[:last] += row[:last]
        blocks[:last] += 1
    blocks[blocks < _FEWEST_BLOCKS] = 0
    blocks[: max(_LOWEST_BINS, int(_LOWEST_ORDER * length))] = 0
    mean = total / np.maximum(blocks, 1)
    mean, is_shaft = _levelled(mean, blocks, length)
    return OrderSpectrum(
        stretch=stretch,
        kind=kind,
        band_hz=band_hz,
        power=mean,
        blocks=blocks,
        is_shaft=is_shaft,
        order_step=1.0 / length,
        overdispersion=_overdispersion(mean, blocks, is_shaft),
        speed_low_hz=min(float(piece.rotation_hz.min()) for piece in pieces),
        speed_high_hz=max(float(piece.rotation_hz.max()) for piece in pieces),
        turns=sum(len(piece.samples) for piece in pieces),
        speed_error=speed_error,
    )


def _starts(turned: Turned, length: int) -> NDArray[np.int64]:
    return np.arange(0, len(turned.samples) - length + 1, length // 2)


def _fastest(turned: Turned, length: int) -> Floats:
    """Highest rotation frequency in each block."""
    return np.array([turned.rotation_hz[s : s + length].max() for s in _starts(turned, length)])


def _powers(turned: Turned, length: int, bins: int) -> Samples:
    """Power of the windowed blocks, shape (blocks, bins)."""
    starts = _starts(turned, length)
    size = length * turned.per_turn
    window = _window(size).astype(np.float32)
    flat = turned.samples.reshape(-1)
    power = np.empty((starts.size, bins), np.float32)
    for begin in range(0, starts.size, _AT_ONCE):
        part = starts[begin : begin + _AT_ONCE] * turned.per_turn
        blocks = np.stack([flat[s : s + size] for s in part])
        lines = fft.rfft(blocks * window, axis=1)[:, :bins]
        power[begin : begin + part.size] = lines.real**2 + lines.imag**2
    return power


def _window(size: int) -> Floats:
    """Window of sin⁴: its sidelobes fall by 30 dB an octave, so that a strong line stays narrow."""
    window: Floats = np.sin(np.pi * np.arange(size) / size) ** 4
    return window


@lru_cache
def overlap_variance() -> float:
    """Variance of an average of half overlapping blocks, over that of as many apart."""
    window = _window(4_096)
    shared = float(window[:2_048] @ window[2_048:] / (window @ window))
    return 1.0 + 2.0 * shared**2


@lru_cache
def bin_correlation() -> tuple[float, ...]:
    """Correlation of the power of noise in bins 0, 1, 2, 3 apart."""
    squared = _window(4_096) ** 2
    spectrum = np.abs(np.fft.rfft(squared))[:4] / squared.sum()
    return tuple(float(value) for value in spectrum**2)


def _floors(power: Samples, heard: NDArray[np.int64], length: int) -> Samples:
    """Noise floor of every bin of every block, drawn straight between the quantiles of bands."""
    bins = power.shape[1]
    width = min(max(int(_BAND_ORDERS * length), _BAND_BINS), bins)
    step = max(width // 2, 1)
    begins = np.arange(_LOWEST_BINS, max(bins - width, _LOWEST_BINS) + step, step)
    begins = np.minimum(begins, bins - width)
    levels: list[Samples] = []
    centres: list[float] = []
    for begin in np.unique(np.maximum(begins, 0)):
        band = power[:, begin : begin + width]
        rank = int(_QUANTILE * (band.shape[1] - 1))
        level = np.log(np.partition(band, rank, axis=1)[:, rank] + np.float32(1e-37))
        # A band beyond what is heard goes on with the last that is.
        if levels:
            level = np.where(begin + width <= heard, level, levels[-1])
        levels.append(level)
        centres.append(begin + width / 2.0)
    level = _steadied(np.stack(levels, axis=1)) - np.float32(np.log(_QUANTILE_OF_NOISE))
    place = np.interp(np.arange(bins), centres, np.arange(len(centres)))
    left = np.minimum(place.astype(np.int64), max(len(centres) - 2, 0))
    right = np.minimum(left + 1, len(centres) - 1)
    share = (place - left).astype(np.float32)
    floor: Samples = np.exp(level[:, left] * (1.0 - share) + level[:, right] * share)
    return floor


def _steadied(level: Samples) -> Samples:
    """Keep each block's own mean level; smooth the shape of the floor over up to five blocks."""
    own = level.mean(axis=1, keepdims=True)
    shape = level - own
    count = len(level)
    total = np.concatenate([np.zeros((1, level.shape[1])), np.cumsum(shape, axis=0, dtype=float)])
    at = np.arange(count)
    # As many blocks before as after, so that a floor that moves is not moved.
    reach = np.minimum(np.minimum(at, count - 1 - at), _FLOOR_REACH)
    mean = (total[at + reach + 1] - total[at - reach]) / (2 * reach + 1)[:, None]
    return np.asarray(own + mean, np.float32)


def _levelled(
    mean: Floats, blocks: NDArray[np.int64], length: int
) -> tuple[Floats, NDArray[np.bool_]]:
    """Divide by the running median, and mark the bins that orders of the shaft fill."""
    reach = max(int(_MEDIAN_ORDERS * length), _MEDIAN_BINS)
    heard = np.flatnonzero(blocks)
    if heard.size < 2 * reach:
        return np.ones(mean.size), np.ones(mean.size, bool)
    is_shaft = np.zeros(mean.size, bool)
    for _ in range(2):
        # The second time the shaft's own lines no longer lift the median.
        used = heard[~is_shaft[heard]]
        padded = np.pad(mean[used], reach, mode="reflect")
        windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)
        middle = np.partition(windows, reach, axis=1)[:, reach]
        freedom = blocks[used] / overlap_variance()
        # Median of a gamma variable of mean 1 (Wilson and Hilferty).
        floor = middle / (1.0 - 1.0 / (9.0 * freedom)) ** 3
        levelled = mean / np.maximum(np.interp(np.arange(mean.size), used, floor), 1e-30)
        is_shaft = _shaft_bins(levelled, blocks, length)
    return np.where(blocks > 0, levelled, 1.0), is_shaft


def _shaft_bins(power: Floats, blocks: NDArray[np.int64], length: int) -> NDArray[np.bool_]:
    """Mark whole orders of the shaft, as wide as they stand out, and half orders if they do."""
    marked = np.zeros(power.size, bool)
    clear = 1.0 + 3.0 / np.sqrt(np.maximum(blocks, 1) / overlap_variance())
    widest = max(int(_WIDEST_MASK * length), _NARROWEST_MASK_BINS)
    halves = np.arange(length // 2, power.size, length)
    halves = halves[blocks[halves] > 0]
    has_halves = halves.size >= 3 and np.median(power[halves] / clear[halves]) > 1.0
    for middle in range(length, power.size, length // 2 if has_halves else length):
        reach = _NARROWEST_MASK_BINS
        while reach < widest:
            ends = np.array([middle - reach - 1, middle + reach + 1])
            ends = ends[ends < power.size]
            if not np.any(power[ends] > clear[ends]):
                break
            reach += 1
        marked[max(middle - reach, 0) : middle + reach + 1] = True
    return marked


def _overdispersion(power: Floats, blocks: NDArray[np.int64], is_shaft: NDArray[np.bool_]) -> float:
    """Spread of the bins over that of noise, by the upper quantiles that few lines reach."""
    used = (blocks > 0) & ~is_shaft
    if np.count_nonzero(used) < 40:
        return 1.0
    spread = (power[used] - 1.0) * np.sqrt(blocks[used] / overlap_variance())
    low, high = np.quantile(spread, (0.16, 0.84))
    return max(float(0.5 * (high - low)) ** 2, 1.0)
