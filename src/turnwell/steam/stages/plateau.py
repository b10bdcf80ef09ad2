"""The plateau: the hottest steady stretch, until the pressure falls."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.cycle import Cycle
from turnwell.steam.stages.foot import foot_s
from turnwell.steam.stages.signals import Signals

__all__ = ["Plateau", "plateau_of", "runs_in"]

# Below this no steam sterilizer's plateau lies.
COLDEST_C = 105.0
# The shortest stretch near the top that is one; a shorter one is a peak.
SHORTEST_S = 20.0
# A crest above the plateau is not higher than this, in whole kelvin.
CREST_K = 10
# What is held is met this many times as often as the temperatures just below it; what is passed
# through is met as often.
HELD_RATIO = 2.0
# Near the top: within this of the hottest temperature held.
NEAR_K = 3.0
# No run holds for less; a steam pulse stays up shorter.
HELD_S = 120.0
# The knee of a rise without a set temperature lies this far under the level it comes to.
KNEE_K = 0.5
# The last of a rise is not followed for longer than this.
MOST_LEAD_S = 30.0
# Further above the plan no overshoot comes: the plan is of another cycle.
OTHER_K = 8.0
# The fall is looked for down to this part of the way to the atmosphere.
FALL_PART = 0.5


@dataclass(frozen=True, slots=True)
class Plateau:
    """Where the plateau lies.

    Parameters
    ----------
    start_s, stop_s : float
    start, stop : int
        First and last sample in it.
    level_c, level_kpa : float
        Medians of it.
    reached_set : bool
        True where it begins at the plan's set temperature.
    has_exhaust : bool
        True where the pressure falls after it; else the record ends in it.
    """

    start_s: float
    stop_s: float
    start: int
    stop: int
    level_c: float
    level_kpa: float
    reached_set: bool
    has_exhaust: bool


def plateau_of(signals: Signals, cycle: Cycle) -> Plateau | None:
    """Find the plateau; None where nothing was held hot.

    A plan's set temperature that was reached and left at once is a plateau, too, a short one.
    """
    hot = _hot(signals) or _reached(signals, cycle)
    if hot is None:
        return None
    first, last = hot
    level_c = float(np.median(signals.temperature_c[signals.within(first, last)]))
    level_kpa = float(np.median(signals.pressure_kpa[signals.within(first, last)]))
    fall = _exhaust(signals, first, last, level_kpa)
    stop_s = float(signals.time_s[-1]) if fall is None else fall
    stop = int(np.searchsorted(signals.time_s, stop_s, side="right")) - 1
    if first == 0 and fall is None:
        return None
    rise = _rise(signals, first, level_kpa)
    over_k = float("-inf") if cycle.set_c is None else level_c - cycle.set_c
    # Far above the plan it is another cycle than the one named: its own flat top decides.
    reached = -KNEE_K / 2.0 <= over_k <= OTHER_K
    knee_k = min(max(KNEE_K, 3.5 * signals.noise_k), 2.0 * KNEE_K + 0.2)
    # A flat top at the set temperature itself crosses it by noise alone: look just under the top.
    target_c = level_c - knee_k
    if reached and cycle.set_c is not None:
        target_c = min(cycle.set_c, level_c - KNEE_K / 2.0)
    start = _first_above(signals.temperature_c, rise, stop, target_c)
    if start is None:
        return None
    start_s = signals.crossing_s(signals.temperature_c, start, target_c)
    if not reached and cycle.set_c is not None:
        start_s += _to_top_s(signals, rise, start, target_c, level_c)
    # Heating broken off far below the plan is no plateau; what is held there is another cycle's.
    if cycle.set_c is not None and over_k < -OTHER_K and stop_s - start_s < HELD_S:
        return None
    return Plateau(
        start_s=start_s,
        stop_s=stop_s,
        start=start,
        stop=stop,
        level_c=level_c,
        level_kpa=level_kpa,
        reached_set=reached,
        has_exhaust=fall is not None,
    )


def runs_in(signals: Signals) -> int:
    """Count the runs in a record: hot stretches between which the pressure was let off."""
    hot = signals.temperature_c >= _held_c(signals) - 2.0 * NEAR_K
    if _held_c(signals) < COLDEST_C:
        return 0
    # The steam pulses of a cycle at 121 °C come near the top, too, but are not held.
    edges = [
        (first, last)
        for first, last in _stretches(hot, signals.time_s)
        if signals.time_s[last - 1] - signals.time_s[first] >= HELD_S
    ]
    low_kpa = signals.atmosphere_kpa + 0.1 * (
        float(np.max(signals.pressure_kpa)) - signals.atmosphere_kpa
    )
    runs = 1
    for (_, before), (after, _) in pairwise(edges):
        between = signals.pressure_kpa[before:after]
        cooled = signals.temperature_c[before:after]
        runs += bool(np.any(between <= low_kpa) and np.any(cooled < COLDEST_C))
    return runs


def _held_c(signals: Signals) -> float:
    """Give the hottest temperature that was held for a while: a peak is not held."""
    step = signals.interval_s
    count = max(round(SHORTEST_S / step), 1)
    if signals.temperature_c.size < count:
        return float("-inf")
    windows = np.lib.stride_tricks.sliding_window_view(signals.temperature_c, count)
    return float(np.max(np.min(windows, axis=1)))


def _usual_c(signals: Signals, held_c: float) -> float:
    """Give the temperature near the top at which most time was spent: a crest above it is shorter.

    Counted by kelvin, each with its two neighbours; of equals the hottest.
    """
    kelvin = np.rint(held_c - signals.temperature_c).astype(np.int64)
    # What noise lifts above what was held counts with it.
    kelvin[kelvin == -1] = 0
    counts = np.bincount(kelvin[(kelvin >= 0) & (kelvin <= CREST_K)], minlength=CREST_K + 1)
    return held_c - float(np.argmax(np.convolve(counts, np.ones(3), mode="same")))


def _is_passed(signals: Signals, usual_c: float) -> bool:
    """Tell a top that was passed through: the 3 K below it are met nearly as often on the way.

    Only the way to and from the top itself counts; pulses that come near it are met apart.
    """
    edge_c = usual_c - NEAR_K / 2.0
    stretches = _stretches(signals.temperature_c >= edge_c - NEAR_K, signals.time_s)
    if not stretches:
        return True
    begin, end = max(stretches, key=lambda ends: ends[1] - ends[0])
    way = signals.temperature_c[begin:end]
    top = np.count_nonzero((way >= edge_c) & (way <= edge_c + NEAR_K))
    return bool(top < HELD_RATIO * np.count_nonzero(way < edge_c))


def _hot(signals: Signals) -> tuple[int, int] | None:
    """Give the first and last sample of the longest stretch near the top, over short dips."""
    held_c = _held_c(signals)
    if held_c < COLDEST_C:
        return None
    usual_c = _usual_c(signals, held_c)
    if _is_passed(signals, usual_c):
        return None
    near = signals.temperature_c >= usual_c - NEAR_K
    # A chamber that is merely near the top while its pressure is let off is not on its plateau.
    stretches = _joined(signals, _stretches(near, signals.time_s), usual_c)
    if not stretches:
        return None
    first, last = max(
        stretches, key=lambda ends: signals.time_s[ends[1] - 1] - signals.time_s[ends[0]]
    )
    return first, last - 1


def _reached(signals: Signals, cycle: Cycle) -> tuple[int, int] | None:
    """Give the first and last sample at the plan's set temperature; None where it says none."""
    if cycle.set_c is None:
        return None
    hot = np.flatnonzero(signals.temperature_c >= cycle.set_c)
    if hot.size < 2 or signals.temperature_c[hot[0]] > cycle.set_c + OTHER_K:
        return None
    return int(hot[0]), int(hot[-1])


def _joined(
    signals: Signals, stretches: list[tuple[int, int]], usual_c: float
) -> list[tuple[int, int]]:
    """Join stretches between which it was less hot, but the pressure was not let off."""
    joined: list[tuple[int, int]] = []
    for begin, end in stretches:
        if joined and _is_dip(signals, joined[-1][1], begin, usual_c):
            joined[-1] = joined[-1][0], end
        else:
            joined.append((begin, end))
    return joined


def _is_dip(signals: Signals, begin: int, end: int, usual_c: float) -> bool:
    rest, pressure = signals.atmosphere_kpa, signals.pressure_kpa
    let_off = rest + (1.0 - FALL_PART) * (float(np.median(pressure[end : end + 3])) - rest)
    is_hot = float(np.min(signals.temperature_c[begin:end])) >= usual_c - OTHER_K
    return is_hot and float(np.min(pressure[begin:end])) > let_off


def _stretches(chosen: NDArray[np.bool_], time_s: NDArray[np.float64]) -> list[tuple[int, int]]:
    """Give begin and end (past the last) of every stretch of chosen samples that lasts."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], chosen.astype(np.int8), [0]))))
    pairs = list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
    return [
        (begin, end)
        for begin, end in pairs
        if time_s[end - 1] - time_s[begin] >= SHORTEST_S / 2.0 or end - begin >= 2
    ]


def _exhaust(signals: Signals, first: int, last: int, level_kpa: float) -> float | None:
    """Give when the pressure begins to fall for good; None where it never does."""
    rest, top = signals.atmosphere_kpa, level_kpa
    if top <= rest:
        return None
    middle = rest + (1.0 - FALL_PART) * (top - rest)
    below = np.flatnonzero(signals.pressure_kpa[first:] < middle)
    # The first fall through the middle after the top was last held.
    below = below[below > last - first]
    if not below.size:
        return None
    crossing = first + int(below[0])
    # From the middle of the hot stretch, past its overshoot, to the middle of the fall.
    return foot_s(signals, first + (last - first) // 2, crossing, level_kpa)


def _to_top_s(signals: Signals, rise: int, start: int, target_c: float, level_c: float) -> float:
    """Give how long the last of the rise takes, from a little under the flat top to its beginning.

    By the pace over the same distance below.
    """
    under_k = level_c - target_c
    below = _first_above(signals.temperature_c, rise, start, target_c - under_k)
    if below is None:
        return 0.0
    before_s = signals.crossing_s(signals.temperature_c, below, target_c - under_k)
    at_s = signals.crossing_s(signals.temperature_c, start, target_c)
    return min(max(at_s - before_s, 0.0), MOST_LEAD_S)


def _rise(signals: Signals, first: int, level_kpa: float) -> int:
    """Give the sample after which the pressure rises to the plateau for the last time."""
    middle = (signals.atmosphere_kpa + level_kpa) / 2.0
    below = np.flatnonzero(signals.pressure_kpa[:first] < middle)
    return int(below[-1]) if below.size else 0


def _first_above(values: NDArray[np.float64], start: int, stop: int, level: float) -> int | None:
    above = np.flatnonzero(values[start : stop + 1] >= level)
    return start + int(above[0]) if above.size else None
