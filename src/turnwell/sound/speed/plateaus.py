"""Finds stretches of steady running: a harmonic series whose speed stays put.

Spectra of 128 ms are long enough to lift a weak rotation line out of the noise and short enough for
the drift of a turbine. In every spectrum the strongest lines, and what they would be the second,
third or fourth line of, are candidates; each is scored by

    s(f) = max over K of sum over k <= K of (L(k f) - a)

where the allowance a, paid for every line, keeps the score from falling for the octave below (it
pays for lines that are empty) or above (it leaves lines out). The best path through the candidates
of all spectra, with an unvoiced state, is found by dynamic programming (Viterbi).

References
----------
Harmonic summation as approximate maximum likelihood: [NIELSEN2017]; path: [FORNEY1973].
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.speed.spectra import Spectra, spectra_of

__all__ = ["Plateau", "find_plateaus", "long_spectra", "without_lines"]

Floats = NDArray[np.float32]

WINDOW_S = 0.128
HOP_S = 0.064
_HIGHEST_HZ = 27_000.0

_PEAKS = 40
_KEPT = 48
_CARRIED = 12
_DIVISORS = (1, 2, 3, 4)
_LINES = 8
_ALLOWANCE = 2.0  # of one line, L being the largest of three bins
_HEARD = 1.5  # mean of L of a line that is there
_SLEW = 0.0012  # relative change from frame to frame, one standard deviation
_CHANGE_OF_STATE = 4.5
_FARTHEST = 16.0  # cost above which two candidates are not the same shaft
_ROWS_AT_ONCE = 1_024
_STEPS_AT_ONCE = 16


@dataclass(frozen=True, slots=True, eq=False)
class Plateau:
    """A stretch in which one harmonic series goes on.

    Parameters
    ----------
    frames : array of int, shape (n,)
        Consecutive rows of the spectra.
    rotation_hz : array of float64, shape (n,)
        Rotation frequency in each of them.
    score : float
        Sum of the scores over the frames.
    median_hz : float
        Median of the rotation frequency; it is asked for many times.
    """

    frames: NDArray[np.int64]
    rotation_hz: NDArray[np.float64]
    score: float
    median_hz: float = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "median_hz", float(np.median(self.rotation_hz)))


def long_spectra(samples: Floats, rate_hz: float) -> Spectra:
    """Give the spectra of a whole recording in which steady running is looked for.

    Parameters
    ----------
    samples : array of float32, shape (n,)
    rate_hz : float
    """
    return spectra_of(
        samples,
        rate_hz,
        window_s=WINDOW_S,
        hop_s=HOP_S,
        highest_hz=min(_HIGHEST_HZ, 0.49 * rate_hz),
    )


def find_plateaus(
    spectra: Spectra, lines: Floats, low_hz: float, high_hz: float
) -> tuple[Plateau, ...]:
    """Find the stretches with a harmonic series between two rotation frequencies.

    Parameters
    ----------
    spectra : Spectra
        Of `WINDOW_S` and `HOP_S`.
    lines : array, the shape of the spectra
        L of every bin.
    low_hz, high_hz : float
        Rotation frequencies to search.
    """
    if len(lines) < 2:
        return ()
    found = _scored_by_parts(spectra, lines, low_hz, high_hz)
    chosen = _best_path(found.rotation_hz, found.scores, spectra.bin_hz)
    return _runs(found.rotation_hz, found.scores, chosen)


def without_lines(lines: Floats, plateaus: Iterable[Plateau], bin_hz: float) -> Floats:
    """Give L with the harmonics of plateaus taken out, to look for what they hide.

    Only harmonics that are there are taken out: those of a slow series would fill the spectrum.
    """
    left = lines.copy()
    for plateau in plateaus:
        _take_out(left, plateau, bin_hz)
    return left


def _take_out(lines: Floats, plateau: Plateau, bin_hz: float) -> None:
    bins = lines.shape[1]
    reach = 3 if plateau.median_hz > 10.0 * bin_hz else 2
    order = np.arange(1, int(bins * bin_hz / plateau.median_hz) + 1)
    at = np.rint(np.outer(plateau.rotation_hz, order) / bin_hz).astype(np.int64)
    at = np.minimum(at, bins - 1)
    rows = np.broadcast_to(plateau.frames[:, None], at.shape)
    heard = lines[rows, at].mean(axis=0) > _HEARD
    for offset in range(-reach, reach + 1):
        lines[rows[:, heard], np.clip(at[:, heard] + offset, 0, bins - 1)] = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class _Scored:
    """Candidates of each frame and their scores, both of shape (frames, candidates)."""

    rotation_hz: NDArray[np.float64]
    scores: Floats


def _scored_by_parts(spectra: Spectra, lines: Floats, low_hz: float, high_hz: float) -> _Scored:
    """Score the candidates of all frames, some minutes at a time."""
    frames = len(lines)
    parts: list[_Scored] = []
    for begin in range(0, frames, _ROWS_AT_ONCE):
        end = min(begin + _ROWS_AT_ONCE, frames)
        # A frame looks at its neighbours.
        rows = slice(max(begin - 1, 0), min(end + 1, frames))
        part = _scored(spectra.power_of(rows), lines[rows], spectra.bin_hz, low_hz, high_hz)
        inner = slice(begin - rows.start, end - rows.start)
        parts.append(_Scored(part.rotation_hz[inner].copy(), part.scores[inner].copy()))
    return _Scored(
        np.concatenate([part.rotation_hz for part in parts]),
        np.concatenate([part.scores for part in parts]),
    )


def _scored(power: Floats, lines: Floats, bin_hz: float, low_hz: float, high_hz: float) -> _Scored:
    """Score the candidates of some frames that follow one another."""
    widened = _widened(lines)
    candidates = _best(widened, _candidates(power, lines, bin_hz, low_hz, high_hz), bin_hz, _KEPT)
    # A line that fades for one spectrum is carried over from its neighbours.
    carried = candidates[:, :_CARRIED]
    none = np.zeros((1, carried.shape[1]))
    before, after = np.vstack([none, carried[:-1]]), np.vstack([carried[1:], none])
    candidates = np.hstack([candidates, before, after])
    return _Scored(candidates, _scores(widened, candidates, bin_hz))


def _widened(lines: Floats) -> Floats:
    """Give the largest L of three neighbouring bins."""
    widened = lines.copy()
    np.maximum(widened[:, 1:], lines[:, :-1], out=widened[:, 1:])
    np.maximum(widened[:, :-1], lines[:, 1:], out=widened[:, :-1])
    return widened


def _candidates(
    power: Floats, lines: Floats, bin_hz: float, low_hz: float, high_hz: float
) -> NDArray[np.float64]:
    """Rotation frequencies worth scoring, shape (frames, candidates); 0 where there is none."""
    top = min(int(high_hz * 3.0 / bin_hz) + 2, lines.shape[1] - 1)
    first = max(int(low_hz / bin_hz) - 1, 2)
    middle = lines[:, first:top]
    # Peaks are looked for in the power: L is capped, and flat on top of a strong line.
    summit = power[:, first:top]
    is_peak = (summit >= power[:, first - 1 : top - 1]) & (summit > power[:, first + 1 : top + 1])
    height = np.where(is_peak & (middle > 1.6), middle, 0.0)
    count = min(_PEAKS, height.shape[1])
    at = np.argpartition(-height, count - 1, axis=1)[:, :count]
    rows = np.arange(len(lines))[:, None]
    found = height[rows, at] > 0.0
    bins = at + first
    log_power = [np.log(power[rows, bins + offset] + 1e-30) for offset in (-1, 0, 1)]
    bend = log_power[0] - 2.0 * log_power[1] + log_power[2]
    shift = 0.5 * (log_power[0] - log_power[2]) / np.where(bend < -1e-9, bend, -1e-9)
    peak_hz = np.where(found, (bins + np.clip(shift, -0.5, 0.5)) * bin_hz, 0.0)
    rotation_hz = np.concatenate([peak_hz / divisor for divisor in _DIVISORS], axis=1)
    inside = (rotation_hz >= low_hz) & (rotation_hz <= high_hz)
    return np.where(inside, rotation_hz, 0.0)


def _best(
    widened: Floats, rotation_hz: NDArray[np.float64], bin_hz: float, count: int
) -> NDArray[np.float64]:
    """Keep the candidates of highest score in each frame, best first."""
    order = np.argsort(-_scores(widened, rotation_hz, bin_hz), axis=1)[:, :count]
    return np.take_along_axis(rotation_hz, order, axis=1)


def _scores(widened: Floats, rotation_hz: NDArray[np.float64], bin_hz: float) -> Floats:
    """Harmonic score of every candidate; very low where there is no candidate."""
    bins = widened.shape[1]
    begins = bins * np.arange(len(widened))[:, None]
    total = np.zeros(rotation_hz.shape, np.float32)
    best = np.full(rotation_hz.shape, -np.inf, np.float32)
    for line in range(1, _LINES + 1):
        at = np.rint(rotation_hz * (line / bin_hz)).astype(np.int64)
        seen = at < bins
        np.minimum(at, bins - 1, out=at)
        at += begins
        level = widened.take(at)
        level *= seen
        level -= np.float32(_ALLOWANCE)
        total += level
        np.maximum(best, total, out=best)
    return np.where(rotation_hz > 0.0, best, np.float32(-1e6))


def _best_path(
    rotation_hz: NDArray[np.float64], scores: Floats, bin_hz: float
) -> NDArray[np.int64]:
    """Index of the candidate in each frame, -1 where unvoiced."""
    frames, count = scores.shape
    back = np.empty((frames, count + 1), np.int16)
    total = np.append(scores[0], 0.0)
    for begin in range(1, frames, _STEPS_AT_ONCE):
        costs = _costs_of_steps(rotation_hz[begin - 1 : begin + _STEPS_AT_ONCE], bin_hz)
        for frame, cost in enumerate(costs, start=begin):
            kept = total[:-1] - cost
            came = kept.argmax(axis=1)
            best = kept.max(axis=1)
            fresh = total[-1] - _CHANGE_OF_STATE
            back[frame, :-1] = np.where(best >= fresh, came, count)
            ends = int(total[:-1].argmax())
            rest = total[ends] - _CHANGE_OF_STATE
            back[frame, -1] = ends if rest > total[-1] else count
            unvoiced = max(rest, total[-1])
            np.maximum(best, fresh, out=total[:-1])
            total[:-1] += scores[frame]
            total[-1] = unvoiced
    return _traced(back, int(np.argmax(total)), count)


def _costs_of_steps(rotation_hz: NDArray[np.float64], bin_hz: float) -> NDArray[np.float64]:
    """Cost of going from each candidate to each of the next frame, infinite where it is too far.

    Shape (frames - 1, to, from).
    """
    logarithm = np.log(np.maximum(rotation_hz, 1.0))
    # The frequency of a line is uncertain by a part of a bin, which matters for slow shafts.
    spread = _SLEW + 0.15 * bin_hz / np.maximum(rotation_hz[1:], 1.0)
    cost = logarithm[1:, :, None] - logarithm[:-1, None, :]
    cost /= spread[:, :, None]
    cost *= cost
    cost *= 0.5
    cost[cost > _FARTHEST] = np.inf
    return cost


def _traced(back: NDArray[np.int16], state: int, count: int) -> NDArray[np.int64]:
    chosen = np.empty(len(back), np.int64)
    for frame in range(len(back) - 1, -1, -1):
        chosen[frame] = state
        if frame:
            state = int(back[frame, state])
    return np.where(chosen == count, -1, chosen)


def _runs(
    rotation_hz: NDArray[np.float64], scores: Floats, chosen: NDArray[np.int64]
) -> tuple[Plateau, ...]:
    """Split the path at unvoiced frames and at jumps no shaft can make."""
    rows = np.arange(len(chosen))
    value = np.where(chosen >= 0, rotation_hz[rows, np.maximum(chosen, 0)], np.nan)
    score = scores[rows, np.maximum(chosen, 0)]
    with np.errstate(invalid="ignore"):
        breaks = ~(np.abs(np.diff(np.log(value))) < 0.05)
    pieces = np.split(rows, np.flatnonzero(breaks) + 1)
    return tuple(
        Plateau(piece, value[piece], float(score[piece].sum()))
        for piece in pieces
        if np.isfinite(value[piece[0]])
    )
