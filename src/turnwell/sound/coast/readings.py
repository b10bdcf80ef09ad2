"""Makes the readings of the coast-down: times, decelerations, and torque where it may be given.

The interval of each holds what the track leaves open, the doubt about the release where it counts,
the spread over several coast-downs, and the recorder's clock: once in a time, twice in a
deceleration.
"""

from collections.abc import Sequence
from math import pi, sqrt
from statistics import fmean

from turnwell.measure import (
    Budget,
    Limit,
    Part,
    Reading,
    cannot_tell,
    common_error,
    reading,
    repeatability,
)
from turnwell.sound.coast.baseline import baseline_limit
from turnwell.sound.coast.coast_down import SHARES, CoastDown
from turnwell.sound.coast.passing import Estimate
from turnwell.sound.expectation import Expectation
from turnwell.sound.speed.readings import shown_factor
from turnwell.units import hz_to_rpm
from turnwell.words import Message

__all__ = ["coast_down_readings", "no_coast_down"]

_MN_M = 1e3


def coast_down_readings(
    coast_downs: tuple[CoastDown, ...], expectation: Expectation
) -> tuple[Reading, ...]:
    """Give the readings of coast-downs; none when there is no coast-down.

    Parameters
    ----------
    coast_downs : tuple of CoastDown
        Of one handpiece; several give the repeatability.
    expectation : Expectation
        Earlier times set the limit of the time from 90 to 10 %; the inertia, where it is given, the
        torque.
    """
    if not coast_downs:
        return ()
    clock = expectation.clock_ppm * 1e-6
    baseline = baseline_limit(expectation.baseline_coast_down_s or ())
    between = _budget([one.between for one in coast_downs], clock)
    half = _budget([one.half for one in coast_downs], clock)
    no_limit = Message("coast.no_limit")
    readings = [
        _told("coast_down_time", between, "s", None if baseline else no_limit, limit=baseline),
        _told("coast_down_half_time", half, "s", no_limit),
    ]
    heard_hz = fmean(one.free_hz for one in coast_downs)
    rpm = hz_to_rpm(1.0) * shown_factor(expectation, heard_hz)
    for place, share in enumerate(SHARES):
        budget = _budget([one.decelerations[place] for one in coast_downs], 2.0 * clock, rpm)
        key = f"coast_down_deceleration_{100 * share:.0f}"
        readings.append(_told(key, budget, "rpm/s", Message("coast.deceleration")))
    if expectation.inertia_kg_m2 is not None:
        unit = _MN_M * 2.0 * pi * expectation.inertia_kg_m2
        full = _budget([one.decelerations[0] for one in coast_downs], 2.0 * clock, unit)
        if full is not None:
            readings.append(_told("drag_torque", full, "mN·m", Message("coast.torque")))
    return tuple(readings)


def no_coast_down() -> tuple[Reading, ...]:
    """Give the readings where a release is heard but the coast-down after it cannot be followed."""
    why = Message("coast.not_followed")
    return tuple(cannot_tell(key, "s", why) for key in ("coast_down_time", "coast_down_half_time"))


def _budget(estimates: Sequence[Estimate | None], clock: float, unit: float = 1.0) -> Budget | None:
    """Join the coast-downs that have a figure; None where none has it."""
    told = [one for one in estimates if one is not None]
    if not told:
        return None
    value = unit * fmean(one.value for one in told)
    own = unit * sqrt(sum(one.sd**2 for one in told)) / len(told)
    parts = [Part("estimate", own), common_error(abs(value) * clock, key="clock")]
    if len(told) > 1:
        parts.append(repeatability([unit * one.value for one in told]))
    return Budget(value, tuple(parts))


def _told(
    key: str,
    budget: Budget | None,
    unit: str,
    why: Message | None,
    *,
    limit: Limit | None = None,
) -> Reading:
    if budget is None:
        return cannot_tell(key, unit, Message(f"coast.lost.{key}"), limit=limit)
    low, high = budget.interval()
    return reading(key, budget.value, max(low, 0.0), high, unit, limit=limit, why=why)
