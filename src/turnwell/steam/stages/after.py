"""What comes after the plateau: exhaust, drying with its admissions of air, the final air inlet."""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from turnwell.steam.stage import VACUUM_KPA, Admission
from turnwell.steam.stages.foot import foot_s
from turnwell.steam.stages.plateau import Plateau
from turnwell.steam.stages.signals import Signals
from turnwell.steam.stages.turning import turns_of

__all__ = ["COLLAPSE_S", "Descent", "descent_of"]

# The exhaust is over this far above the atmosphere.
VENTED_KPA = 5.0
# A vent empties a small chamber within minutes; a closed one takes this long at least to cool.
SILENT_S = 900.0
# Air let in during drying moves the pressure by this at least.
ADMISSION_KPA = 6.0
# At the atmosphere again: within this part of the way from the vacuum.
ARRIVED_PART = 0.05
# A chamber that is opened cools this far within this time.
COLLAPSE_K = 15.0
COLLAPSE_S = 60.0
# Until it has cooled by this much it is not yet open.
OPENED_K = 1.0
# A record may stop just before the atmosphere is reached: this part of the way is enough.
NEARLY_PART = 0.75
# Where the pressure never comes down to the atmosphere, as at an open vent with boiling water, the
# exhaust ends this near to it.
VENT_KPA = 12.0


@dataclass(frozen=True, slots=True)
class Descent:
    """The way back to the atmosphere.

    Parameters
    ----------
    exhaust_stop_s : float
    has_vacuum : bool
    reaches_atmosphere : bool
        False where the record ends under pressure or in the vacuum.
    drying_stop_s : float or None
        Where the final air inlet begins, or the drying without vacuum ends; None where neither is
        in the record.
    inlet_stop_s : float or None
        Where the chamber is at the atmosphere again; None without a final inlet.
    inlet_rise_s : float or None
        How long the inlet takes from a tenth to nine tenths of its rise.
    admissions : tuple of Admission
    collapse_k_per_s : float
        How fast the temperature falls over the first minute after the drying ends.
    is_silent : bool
        True where the pressure falls as slowly as in a closed chamber that cools: no valve opened.
    """

    exhaust_stop_s: float
    has_vacuum: bool
    reaches_atmosphere: bool
    drying_stop_s: float | None = None
    inlet_stop_s: float | None = None
    inlet_rise_s: float | None = None
    admissions: tuple[Admission, ...] = ()
    collapse_k_per_s: float = 0.0
    is_silent: bool = False


def descent_of(signals: Signals, plateau: Plateau) -> Descent:
    """Follow a run from the end of its plateau."""
    rest = signals.atmosphere_kpa
    pressure = signals.pressure_kpa
    vented = rest + max(VENTED_KPA, 3.0 * signals.noise_kpa)
    below = np.flatnonzero(pressure[plateau.stop :] <= vented)
    if not below.size:
        vented = rest + VENT_KPA
        below = np.flatnonzero(pressure[plateau.stop :] <= vented)
    if not below.size:
        end_s = float(signals.time_s[-1])
        return Descent(end_s, has_vacuum=False, reaches_atmosphere=False)
    first = plateau.stop + int(below[0])
    exhaust_stop_s = signals.crossing_s(pressure, first, vented)
    if exhaust_stop_s - plateau.stop_s > SILENT_S:
        return Descent(exhaust_stop_s, has_vacuum=False, reaches_atmosphere=True, is_silent=True)
    lowest = first + int(np.argmin(pressure[first:]))
    if pressure[lowest] > rest - max(VACUUM_KPA, 4.0 * signals.noise_kpa):
        return _without_vacuum(signals, first, exhaust_stop_s)
    return _with_vacuum(signals, first, exhaust_stop_s)


def _without_vacuum(signals: Signals, first: int, exhaust_stop_s: float) -> Descent:
    """Follow a drying at the atmosphere: it ends where the chamber is opened, if it is."""
    opened = _opened(signals, first, exhaust_stop_s)
    stop_s = None if opened is None else float(signals.time_s[opened])
    fall = 0.0 if opened is None else _collapse(signals, opened)
    return Descent(
        exhaust_stop_s,
        has_vacuum=False,
        reaches_atmosphere=True,
        drying_stop_s=stop_s,
        collapse_k_per_s=fall,
    )


def _opened(signals: Signals, first: int, exhaust_stop_s: float) -> int | None:
    """Give the sample at which the temperature begins to collapse; None where it never does."""
    temperature, time_s = signals.temperature_c, signals.time_s
    ends = np.minimum(np.searchsorted(time_s, time_s + COLLAPSE_S), time_s.size - 1)
    # The exhaust itself cools the chamber: only what comes after it has settled counts.
    settled = max(first, int(np.searchsorted(time_s, exhaust_stop_s + COLLAPSE_S)))
    falls = np.flatnonzero((temperature - temperature[ends])[settled:] >= COLLAPSE_K)
    if not falls.size:
        return None
    seen = settled + int(falls[0])
    ahead = temperature[seen : int(ends[seen]) + 1]
    warm = np.flatnonzero(ahead >= ahead[0] - max(3.0 * signals.noise_k, OPENED_K))
    return seen + int(warm[-1])


def _with_vacuum(signals: Signals, first: int, exhaust_stop_s: float) -> Descent:
    """Follow a drying under vacuum to its final air inlet."""
    pressure, time_s, rest = signals.pressure_kpa, signals.time_s, signals.atmosphere_kpa
    lowest = float(np.min(pressure[first:]))
    arrived = rest - max(ARRIVED_PART * (rest - lowest), 2.0, 4.0 * signals.noise_kpa)
    under = first + np.flatnonzero(pressure[first:] < arrived)
    last_under = int(under[-1])
    turns = turns_of(pressure[first:], max(ADMISSION_KPA, 8.0 * signals.noise_kpa))
    lows = [
        first + turn.index for turn in turns if turn.is_low and first + turn.index <= last_under
    ]
    highs = [first + turn.index for turn in turns if not turn.is_low]
    admissions = _admissions(signals, lows, [high for high in highs if high <= last_under])
    lingers = first + 1 < time_s.size and pressure[first + 1] >= rest - VENTED_KPA
    if lows and lows[0] > first and lingers:
        # Where the chamber lingers at the atmosphere, the drying begins as the vacuum is drawn.
        exhaust_stop_s = max(exhaust_stop_s, foot_s(signals, first, lows[0]))
    back = min(last_under + 1, time_s.size - 1)
    # A record that stops while air comes in for good has all but arrived.
    near = pressure[back] >= lowest + NEARLY_PART * (rest - lowest)
    arrives = bool(lows) and lows[-1] < back and bool(near)
    descent = Descent(
        exhaust_stop_s,
        has_vacuum=True,
        reaches_atmosphere=last_under < time_s.size - 1,
        admissions=admissions,
    )
    return _with_inlet(signals, descent, lows[-1], back, arrived) if arrives else descent


def _with_inlet(
    signals: Signals, descent: Descent, low: int, back: int, arrived_kpa: float
) -> Descent:
    """Add the final air inlet: from the foot of its rise until the atmosphere is reached."""
    start_s = foot_s(signals, low, back)
    start = int(np.searchsorted(signals.time_s, start_s, side="right")) - 1
    return replace(
        descent,
        reaches_atmosphere=True,
        drying_stop_s=start_s,
        inlet_stop_s=signals.crossing_s(signals.pressure_kpa, back, arrived_kpa),
        inlet_rise_s=_rise_s(signals, start, back),
        collapse_k_per_s=_collapse(signals, start),
    )


def _admissions(signals: Signals, lows: list[int], highs: list[int]) -> tuple[Admission, ...]:
    """Pair every low with the high before the next: air let in, the vacuum drawn again."""
    admissions = []
    for low, following in pairwise(lows):
        between = [high for high in highs if low < high < following]
        if between:
            admissions.append(
                Admission(
                    start_s=foot_s(signals, low, between[0]),
                    stop_s=float(signals.time_s[between[0]]),
                    low_kpa=float(signals.pressure_kpa[low]),
                    high_kpa=float(signals.pressure_kpa[between[0]]),
                )
            )
    return tuple(admissions)


def _rise_s(signals: Signals, start: int, stop: int) -> float:
    """Give how long the rise takes from a tenth to nine tenths, crossings interpolated."""
    pressure = signals.pressure_kpa
    low, high = float(pressure[start]), float(pressure[stop])
    times = []
    for part in (0.1, 0.9):
        level = low + part * (high - low)
        index = start + int(np.flatnonzero(pressure[start : stop + 1] >= level)[0])
        times.append(signals.crossing_s(pressure, index, level))
    return times[1] - times[0]


def _collapse(signals: Signals, start: int) -> float:
    """Give the temperature's mean fall over the first minute after a sample."""
    time_s = signals.time_s
    stop = int(np.searchsorted(time_s, time_s[start] + COLLAPSE_S, side="right")) - 1
    if stop <= start:
        return 0.0
    ahead = signals.temperature_c[start : stop + 1]
    return (float(ahead[0]) - float(np.min(ahead))) / float(time_s[stop] - time_s[start])
