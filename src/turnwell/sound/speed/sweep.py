"""Follows a shaft away from steady running: down through the coast-down, back through the run-up.

Spectra of 21 ms (longer for slow shafts) are scored on a logarithmic grid of rotation frequencies,
as for steady running, and the best falling path that starts at the steady speed is found by dynamic
programming. Starting from the known speed keeps it from the octaves. The path ends where going on
no longer adds to its score.
"""

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from turnwell.sound.speed.spectra import likelihoods, spectra_of

__all__ = ["Sweep", "follow"]

Floats = NDArray[np.float64]

_GRID = 0.004
_LINES = 6
_ALLOWANCE = 1.7
_THRESHOLD = 1.2
_COST_OF_STEP = 0.04
_STEEPEST_PER_S = 9.0
_LOWEST_SHARE = 0.04
_LONGEST_S, _LONGEST_RUN_UP_S = 20.0, 5.0
_LOWEST_HZ = 25.0
_ABOVE = 5  # points of the grid above the steady speed
_LEFT = 0.03  # of the logarithm of the speed
_FORBIDDEN = np.float32(-1e6)
_TOP = 11  # points of the grid at which a path may begin
_BEHIND = np.float32(60.0)  # a path this far behind the best one is given up


@dataclass(frozen=True, slots=True, eq=False)
class Sweep:
    """A path away from steady running, in the order of time.

    Parameters
    ----------
    time_s, rotation_hz : arrays, shape (n,)
        Middle of each spectrum and rotation frequency there.
    """

    time_s: Floats
    rotation_hz: Floats


def follow(
    samples: NDArray[np.float32],
    rate_hz: float,
    *,
    from_s: float,
    to_s: float,
    rotation_hz: float,
    edge_hz: float,
    leaves_by_s: float | None = None,
) -> Sweep | None:
    """Follow a shaft from a time at which it turns steadily to another time.

    Parameters
    ----------
    samples, rate_hz
        The recording.
    from_s, to_s : float
        Where it turns at `rotation_hz`, and how far to follow; backwards when `to_s` is earlier.
    rotation_hz : float
    edge_hz : float
        Highest frequency the codec passes.
    leaves_by_s : float or None
        From then on it turns slower: what passes its first speed later is another line, one of a
        bearing that sweeps down through it.
    """
    backwards = to_s < from_s
    to_s = min(max(to_s, from_s - _LONGEST_RUN_UP_S), from_s + _LONGEST_S)
    # As long as a quickly falling line allows: fewer than a dozen turns tell no lines apart.
    window_s = max(0.0213, 14.0 / rotation_hz)
    spectra = spectra_of(
        samples,
        rate_hz,
        window_s=window_s,
        # A run-up is drawn, never measured.
        hop_s=window_s / (2.0 if backwards else 4.0),
        highest_hz=min(edge_hz, max(_LINES * rotation_hz * 1.05, 4_000.0), 26_000.0),
        start_s=min(from_s, to_s),
        stop_s=max(from_s, to_s),
    )
    if len(spectra.power) < 4:
        return None
    lines = likelihoods(spectra, edge_hz)
    if backwards:
        lines = lines[::-1]
    lowest = max(_LOWEST_SHARE * rotation_hz, _LOWEST_HZ, 1.5 * spectra.bin_hz)
    grid_hz = rotation_hz * np.exp(
        -_GRID * np.arange(-_ABOVE, np.log(rotation_hz / lowest) / _GRID)
    )
    scores = _scores(lines, grid_hz, spectra.bin_hz) - np.float32(_THRESHOLD)
    if leaves_by_s is not None:
        scores[spectra.time_s > leaves_by_s, : _ABOVE + round(_LEFT / _GRID)] = _FORBIDDEN
    steps = max(2, round(_STEEPEST_PER_S * spectra.hop_s / _GRID))
    path = _falling_path(scores, steps)
    # Where the path rests on the lowest point of the grid the shaft has left it.
    path = path[: int(np.argmax(np.append(path >= grid_hz.size - 3, True)))]
    if path.size < 3:
        return None
    times = spectra.time_s[::-1] if backwards else spectra.time_s
    order = slice(None, None, -1) if backwards else slice(None)
    return Sweep(times[: path.size][order], grid_hz[path][order])


def _scores(lines: NDArray[np.float32], grid_hz: Floats, bin_hz: float) -> NDArray[np.float32]:
    """Harmonic score on the grid, shape (frames, grid)."""
    # By frequency: whole rows are read, and the grid's order is kept.
    by_bin = np.ascontiguousarray(lines.T)
    total = np.zeros((grid_hz.size, len(lines)), np.float32)
    best = np.full_like(total, -np.inf)
    for line in range(1, _LINES + 1):
        at = grid_hz * (line / bin_hz)
        # The grid falls: what lies above the spectra comes first.
        above = int(np.count_nonzero(at >= len(by_bin) - 1))
        left = at[above:].astype(np.int64)
        share = (at[above:] - left).astype(np.float32)[:, None]
        level = by_bin[left]
        level *= 1.0 - share
        level += share * by_bin[left + 1]
        level -= np.float32(_ALLOWANCE)
        total[above:] += level
        total[:above] -= np.float32(_ALLOWANCE)
        np.maximum(best, total, out=best)
    return np.ascontiguousarray(best.T)


def _falling_path(scores: NDArray[np.float32], steps: int) -> NDArray[np.int64]:
    """Grid index in each frame of the best path that starts near the top and never rises.

    A line of a damaged bearing, louder than the rotor's own, falls through the same speeds later. A
    path that could rise would go over to it, one that could wait would meet it: hence the bound on
    how far behind a path may be.
    """
    frames, size = scores.shape
    moves = np.arange(steps + 1)
    cost = (_COST_OF_STEP * moves).astype(np.float32)
    # Best total of a path to each grid point in each frame; beyond the grid's ends there is none.
    totals = np.full((frames, size + steps), -np.inf, np.float32)
    totals[0, steps : steps + size] = np.where(np.arange(size) < _TOP, scores[0], -np.inf)
    # Row m of each frame holds, for each grid point, the total of the point m steps above it.
    came = sliding_window_view(totals, size, axis=1)[:, ::-1]
    reached = np.empty((moves.size, size), np.float32)
    low, high = 0, min(_TOP, size)
    for frame in range(1, frames):
        # Only points that a path still alive can reach.
        high = min(high + steps, size)
        near = reached[:, : high - low]
        np.subtract(came[frame - 1, :, low:high], cost[:, None], out=near)
        total = totals[frame, steps + low : steps + high]
        np.maximum.reduce(near, axis=0, out=total)
        total += scores[frame, low:high]
        is_alive = total >= total.max() - _BEHIND
        total[~is_alive] = -np.inf
        alive = np.flatnonzero(is_alive)
        low, high = low + int(alive[0]), low + int(alive[-1]) + 1
    last = int(np.argmax(totals.max(axis=1)))
    if last == 0:
        return np.empty(0, np.int64)
    path = np.empty(last + 1, np.int64)
    path[last] = int(np.argmax(totals[last])) - steps
    for frame in range(last, 0, -1):
        # What came to each point is worked out again for the points of the path alone.
        before = path[frame] - moves
        path[frame - 1] = before[np.argmax(totals[frame - 1, steps + before] - cost)]
    return path
