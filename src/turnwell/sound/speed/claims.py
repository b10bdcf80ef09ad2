"""Decides whether a steady tone may be called a handpiece, and what its rotation line is.

A tone that goes on is not yet a shaft: mains hum, a slow compressor, a voice and music are steady
for a while too. Each has a mark that a rotor lacks, and a tone with such a mark is refused with the
reason; what cannot be told from a rotor by any mark (one pure tone that lasts) is accepted.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.speed.plateaus import HOP_S, Plateau

__all__ = ["Claim", "claim_of", "has_first_line", "is_mains_speed", "joined"]

Floats = NDArray[np.float32]

# The path through the spectra may follow any line, or a half to a quarter of one: p/q of the speed.
_MULTIPLES = sorted({p / q for p in range(1, 5) for q in range(1, 9)})
_LINES = 8
_MEAN_IN_NOISE = 0.596
_SD_IN_NOISE = 0.56  # of L in one spectrum: 0.42 by theory, more by the floor's error
_STANDS_OUT = 3.5  # standard deviations
_LEAST_EXCESS = 0.2
_MOST_FRAMES = 1_000
_EMPTY = 0.1  # cost of a line, there or not
_CROWDED = 2.0  # times what a place between the lines is worth
_NO_FIRST = 0.5  # cost of a series whose line 1 is not there
_MAINS_HZ = (50.0, 60.0, 100.0, 120.0)
_MAINS_SHARE = 0.003
_MARGIN = 4  # frames
_TURBINE_HZ = 2_500.0
_SHORTEST_S = 0.3
_SHORTEST_UNKNOWN_S = 0.7
_SHORTEST_LOW_S = 1.5
_LONG_S = 2.0
_VOICE_HZ = 250.0
_SHORTEST_WHOLE_S = 0.38
_WHOLE = 0.8  # share of a recording that holds nothing else
_LEAST_STEADY = 0.007
_EXPLAINED = 0.5
_FLANK = 1.5  # bins from the middle of a line
_CLOSEST = 3.0  # bins between lines that can still be told apart
_ADDED_HEARD = 0.3  # share of a slower series' own lines
_HEARD = 1.3  # mean of L of a line that is there


@dataclass(frozen=True, slots=True, eq=False)
class Claim:
    """A stretch of steady tone with what speaks against it.

    Parameters
    ----------
    plateau : Plateau
        With the rotation line settled.
    refusal : str or None
        Key of the reason why it is no running handpiece; None when it may be one.
    """

    plateau: Plateau
    refusal: str | None


def claim_of(
    plateau: Plateau,
    lines: Floats,
    everything: Floats,
    bin_hz: float,
    *,
    low_hz: float,
    high_hz: float,
    is_known: bool,
) -> Claim:
    """Settle the rotation line of a stretch and look for what speaks against it.

    Parameters
    ----------
    plateau : Plateau
    lines, everything : array
        L of the long spectra, without and with the tones that were refused before.
    bin_hz : float
    low_hz, high_hz : float
        Rotation frequencies that are searched.
    is_known : bool
        True where the class of the handpiece is known; without it a tone must last longer.
    """
    factor = _settled_multiple(plateau, lines, bin_hz, high_hz)
    settled = replace(plateau, rotation_hz=plateau.rotation_hz * factor)
    turbine_s = _SHORTEST_S if is_known else _SHORTEST_UNKNOWN_S
    shortest_s = turbine_s if settled.median_hz > _TURBINE_HZ else _SHORTEST_LOW_S
    if settled.frames.size > _WHOLE * len(lines):
        shortest_s = min(shortest_s, _SHORTEST_WHOLE_S)
    return Claim(settled, _refusal(settled, everything, bin_hz, low_hz, shortest_s))


def is_mains_speed(speed_hz: float) -> bool:
    """Tell whether a speed is one at which the mains hums.

    >>> is_mains_speed(100.0), is_mains_speed(110.0)
    (True, False)
    """
    return any(abs(speed_hz / mains_hz - 1.0) < _MAINS_SHARE for mains_hz in _MAINS_HZ)


def has_first_line(plateau: Plateau, lines: Floats, bin_hz: float) -> bool:
    """Tell whether line 1 of a stretch is there.

    Parameters
    ----------
    plateau : Plateau
    lines : array
        L of the long spectra.
    bin_hz : float
    """
    return bool(_mean_levels(plateau, lines, bin_hz, np.ones(1))[0] >= _HEARD)


def joined(plateaus: tuple[Plateau, ...]) -> tuple[Plateau, ...]:
    """Join stretches of the same speed that a short fade has split."""
    result: list[Plateau] = []
    for plateau in plateaus:
        if result:
            last = result[-1]
            gap = (plateau.frames[0] - last.frames[-1]) * HOP_S
            jump = abs(np.log(plateau.rotation_hz[0] / last.rotation_hz[-1]))
            if gap < 0.45 and jump < 0.01:
                frames = np.arange(last.frames[0], plateau.frames[-1] + 1)
                known = np.concatenate([last.frames, plateau.frames])
                values = np.concatenate([last.rotation_hz, plateau.rotation_hz])
                result[-1] = Plateau(
                    frames, np.interp(frames, known, values), last.score + plateau.score
                )
                continue
        result.append(plateau)
    return tuple(result)


def _some_frames(plateau: Plateau) -> slice:
    """Give every so many frames of a stretch that lasts more than a minute."""
    return slice(None, None, -(-plateau.frames.size // _MOST_FRAMES))


def _mean_levels(
    plateau: Plateau,
    lines: Floats,
    bin_hz: float,
    orders: NDArray[np.float64],
    *,
    off_bins: float | NDArray[np.float64] = 0.0,
) -> NDArray[np.float64]:
    """Mean of L along the stretch at, or some bins off, given orders; -inf where out of range."""
    some = _some_frames(plateau)
    at = np.maximum(np.outer(plateau.rotation_hz[some], orders) / bin_hz + off_bins, 0.0)
    left = np.minimum(at.astype(np.int64), lines.shape[1] - 2)
    share = np.clip(at - left, 0.0, 1.0)
    rows = plateau.frames[some, None]
    level = (1.0 - share) * lines[rows, left] + share * lines[rows, left + 1]
    inside = at.max(axis=0) < lines.shape[1] - 1
    return np.where(inside, level.mean(axis=0), -np.inf)


def _settled_multiple(plateau: Plateau, lines: Floats, bin_hz: float, high_hz: float) -> float:
    """Factor that turns the found rotation frequency into the one all lines agree on.

    Every line that stands out counts by how far; a line that is empty costs little, for any may be
    missing but line 1. Twice the speed leaves lines out, half the speed has empty ones.
    """
    # Hum or a voice beside the shaft puts lines anywhere: a line must be worth more than a place
    # between the lines of the series is on average.
    places = np.arange(0.5, _LINES, max(bin_hz / plateau.median_hz, 0.01))
    between = np.abs(places - np.rint(places)) * plateau.median_hz > 2.5 * bin_hz
    crowd = _gains(plateau, lines, bin_hz, places[between])
    crowd = crowd[np.isfinite(crowd)]
    cost = _EMPTY + _CROWDED * (float(np.mean(crowd)) if crowd.size else 0.0)
    multiples = _possible_multiples(plateau.median_hz, bin_hz, high_hz)
    series = [multiple * np.arange(1.0, int(_LINES / multiple) + 1.0) for multiple in multiples]
    # The series have most of their places in common.
    distinct, place = np.unique(np.concatenate([[1.0], *series]).round(9), return_inverse=True)
    gains_of = np.split(
        _gains(plateau, lines, bin_hz, distinct)[place][1:],
        np.cumsum([orders.size for orders in series])[:-1],
    )
    best, best_score = 1.0, -np.inf
    for multiple, orders, every in zip(multiples, series, gains_of, strict=False):
        gains = every[np.isfinite(every)]
        if gains.size == 0 or _is_patched(orders[: gains.size], gains):
            continue
        score = float(np.max(np.cumsum(gains - cost))) - (0.0 if gains[0] > 0.0 else _NO_FIRST)
        if score > best_score:
            best, best_score = multiple, score
    return best


def _possible_multiples(found_hz: float, bin_hz: float, high_hz: float) -> list[float]:
    """Give the multiples of a found frequency at which a shaft could turn and be told apart."""
    lowest_hz = _CLOSEST * bin_hz
    if found_hz >= _TURBINE_HZ:
        lowest_hz = max(lowest_hz, _TURBINE_HZ / 2.0)
    return [multiple for multiple in _MULTIPLES if lowest_hz <= found_hz * multiple <= high_hz]


def _gains(
    plateau: Plateau, lines: Floats, bin_hz: float, orders: NDArray[np.float64]
) -> NDArray[np.float64]:
    """By how much a line stands out at each order, NaN where the spectra do not reach."""
    level, left, right = np.split(
        _mean_levels(
            plateau,
            lines,
            bin_hz,
            np.tile(orders, 3),
            off_bins=np.repeat([0.0, -_FLANK, _FLANK], orders.size),
        ),
        3,
    )
    # A line is a summit; what lies on the flank of a stronger line is none.
    above = level - _MEAN_IN_NOISE - _clear_excess(plateau)
    summits = np.where(level >= np.maximum(left, right), np.maximum(above, 0.0), 0.0)
    return np.asarray(np.where(np.isfinite(level), summits, np.nan), np.float64)


def _is_patched(orders: NDArray[np.float64], gains: NDArray[np.float64]) -> bool:
    """Tell whether a slower series is put together of the found one and a few strays.

    A line of a damaged bearing, with its multiples, finds a place in a series slow enough. A slower
    shaft without its own line 1 shows at least some of its other lines.
    """
    if gains[0] > 0.0:
        return False
    added = np.abs(orders - np.rint(orders)) > 1e-6
    return bool(added.any() and np.mean(gains[added] > 0.0) < _ADDED_HEARD)


def _refusal(
    plateau: Plateau, lines: Floats, bin_hz: float, low_hz: float, shortest_s: float
) -> str | None:
    """Key of what speaks against the stretch."""
    speed_hz = plateau.median_hz
    spread = np.abs(np.log(plateau.rotation_hz / speed_hz))
    wander = 1.4826 * float(np.median(spread))
    is_constant = wander < 0.0008 + 0.02 * bin_hz / speed_hz
    # The mains hums before and after; what begins and ends may be a motor, if it runs up or down.
    is_inside = plateau.frames[0] >= _MARGIN and plateau.frames[-1] < len(lines) - _MARGIN
    first_lines = _mean_levels(plateau, lines, bin_hz, np.array([1.0, 2.0]))
    objections = {
        "hum": is_constant and is_mains_speed(speed_hz) and not is_inside,
        "no_line": first_lines.max() < _HEARD,
        "not_steady": wander > _LEAST_STEADY,
        "too_slow": speed_hz < 0.99 * low_hz,
        "too_short": plateau.frames.size * HOP_S < shortest_s,
    }
    for key, holds in objections.items():
        if holds:
            return key
    return None if _is_alone(plateau, lines, bin_hz) else "several_tones"


def _is_alone(plateau: Plateau, lines: Floats, bin_hz: float) -> bool:
    """Tell whether a stretch is more than one harmonic of a voice or of music."""
    if plateau.median_hz < _TURBINE_HZ:
        lowest_hz = 0.4 * plateau.median_hz
    elif plateau.frames.size * HOP_S < _LONG_S:
        lowest_hz = _VOICE_HZ
    else:
        # No voice and no note holds a pitch as high for as long as a turbine does.
        return True
    return _explained(plateau, lines, bin_hz, lowest_hz) >= _EXPLAINED


def _explained(plateau: Plateau, lines: Floats, bin_hz: float, lowest_hz: float) -> float:
    """Give the share of what stands out of the noise that lies on the lines of the stretch."""
    speed_hz = plateau.median_hz
    some = _some_frames(plateau)
    first, last = int(lowest_hz / bin_hz), int(10.0 * speed_hz / bin_hz)
    part = np.maximum(lines[plateau.frames[some], max(first, 4) : last] - 3.0, 0.0)
    at_hz = (np.arange(part.shape[1]) + max(first, 4)) * bin_hz
    order = at_hz[None, :] / plateau.rotation_hz[some, None]
    away = np.abs(order - np.rint(order)) * plateau.rotation_hz[some, None]
    on_line = (away < 2.6 * bin_hz) & (order > 0.5)
    explained, total = (part * on_line).sum(axis=1), part.sum(axis=1)
    clear = total > 0.0
    if np.mean(clear) < 0.2:
        # No spectrum shows anything clearly, not even the stretch's own lines.
        return _explained_on_average(plateau, lines, bin_hz, max(first, 4), last)
    # The median over the spectra: while the speed still rises, a strong line is smeared.
    return float(np.median(explained[clear] / total[clear]))


def _explained_on_average(
    plateau: Plateau, lines: Floats, bin_hz: float, first: int, last: int
) -> float:
    """Give the share of what stands out of the mean over all spectra, where no one shows it."""
    frames = plateau.frames[_some_frames(plateau)]
    level = lines[frames, first:last].mean(axis=0, dtype=np.float64)
    above = np.maximum(level - _MEAN_IN_NOISE - _clear_excess(plateau), 0.0)
    at_hz = (np.arange(above.size) + first) * bin_hz
    order = np.rint(at_hz / plateau.median_hz)
    drift_hz = order * float(np.ptp(plateau.rotation_hz)) / 2.0
    away = np.abs(at_hz - order * plateau.median_hz)
    on_line = (away < 2.6 * bin_hz + drift_hz) & (order > 0.0)
    total = float(above.sum())
    return float(above[on_line].sum()) / total if total > 0.0 else 1.0


def _clear_excess(plateau: Plateau) -> float:
    """By how much the mean of L along a stretch must lie above that of noise to count as a line."""
    independent = max(0.6 * plateau.frames.size, 1.0)
    return float(max(_STANDS_OUT * _SD_IN_NOISE / np.sqrt(independent), _LEAST_EXCESS))
