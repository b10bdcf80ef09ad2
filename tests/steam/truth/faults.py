"""Runs with one fault each, clear or near its limit, and what may be said beside it.

Severities are those of the trade's fault signatures: a clear fault lies beyond its limit by more
than the sensors' tolerance, a borderline one within it.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator

from tests.steam.truth.cycles import simulate
from tests.steam.truth.known import Truth
from tests.steam.truth.plans import GRAVITY, VACUUM_DRIED, Kind, Plan, Wrong, draw
from tests.steam.truth.sensors import Logged, Logger, draw_logger, draw_printer, logged

__all__ = ["FAULTS", "Case", "clean_case", "faulty_case"]


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """A record with its truth.

    Parameters
    ----------
    keys : frozenset of str
        Faults that must be found.
    beside : frozenset of str
        Faults that the same run may be said to have as well; any other is a false alarm.
    """

    truth: Truth
    logger: Logger
    record: Logged
    keys: frozenset[str]
    beside: frozenset[str]
    clear: bool = True


@dataclass(frozen=True, slots=True)
class _Fault:
    """How a plan goes wrong, in which kinds, and what follows from it."""

    spoil: Callable[[Plan, Generator, bool], Plan]
    kinds: tuple[Kind, ...]
    beside: tuple[str, ...] = ()


DYNAMIC = tuple(kind for kind in VACUUM_DRIED if kind is not Kind.WEAK_PUMP_134)
PULSED = tuple(kind for kind in DYNAMIC if kind is not Kind.SINGLE_VACUUM_134)
ALL = tuple(Kind)


def _between(rng: Generator, clear: bool, far: tuple[float, float], near: tuple[float, float]):
    return float(rng.uniform(*(far if clear else near)))


def _wrong(plan: Plan, **levers) -> Plan:
    return replace(plan, wrong=replace(plan.wrong, **levers))


def _air_by_temperature(plan: Plan, rng: Generator, clear: bool) -> Plan:
    """Few shallow pulses; the control waits for the temperature, so the pressure stands high."""
    plan = _shallow(plan, rng)
    return _wrong(plan, air_kpa=_between(rng, clear, (32.0, 60.0), (14.0, 22.0)))


def _air_by_pressure(plan: Plan, rng: Generator, clear: bool) -> Plan:
    plan = _shallow(plan, rng)
    air = _between(rng, clear, (32.0, 50.0), (14.0, 22.0))
    return _wrong(plan, air_kpa=air, by_pressure=True)


def _shallow(plan: Plan, rng: Generator) -> Plan:
    if len(plan.lows_kpa) < 2:
        return plan
    lows = tuple(rng.uniform(45.0, 65.0, 2).tolist())
    return replace(plan, lows_kpa=lows, highs_kpa=(float(rng.uniform(115.0, 150.0)),))


def _offset(plan: Plan, rng: Generator, clear: bool) -> Plan:
    size = _between(rng, clear, (3.0, 5.0), (1.0, 2.0))
    return _wrong(plan, offset_k=float(rng.choice([-1.0, 1.0])) * size)


def _superheat(plan: Plan, rng: Generator, clear: bool) -> Plan:
    return _wrong(plan, superheat_k=_between(rng, clear, (3.0, 5.0), (1.6, 2.2)))


def _below(plan: Plan, rng: Generator, clear: bool) -> Plan:
    """A dip in the middle; neither side of it alone is long enough."""
    dip = _between(rng, clear, (1.2, 4.0), (0.1, 0.4))
    return _wrong(plan, dip_k=dip, dip_s=float(rng.uniform(0.12, 0.25)) * plan.hold_s)


def _above(plan: Plan, rng: Generator, clear: bool) -> Plan:
    crest = _between(rng, clear, (1.2, 3.0), (0.1, 0.4))
    return _wrong(plan, crest_k=crest, crest_s=float(rng.uniform(0.12, 0.3)) * plan.hold_s)


def _short_hold(plan: Plan, rng: Generator, clear: bool) -> Plan:
    share = _between(rng, clear, (0.4, 0.85), (0.97, 0.995))
    return replace(plan, held_s=share * plan.hold_s)


def _door(plan: Plan, rng: Generator, clear: bool) -> Plan:
    share = _between(rng, clear, (0.2, 0.7), (0.97, 0.99))
    return _wrong(replace(plan, dried_s=share * plan.dry_s, rest_after_s=90.0), door=True)


def _weak_vacuum(plan: Plan, rng: Generator, clear: bool) -> Plan:
    """The pump is good enough for the pulses, as drawn, and stops at 40 to 70 kPa in drying."""
    floor = _between(rng, clear, (40.0, 65.0), (19.0, 21.5))
    lows = tuple(floor + low for low in rng.uniform(1.5, 6.0, 4).tolist())
    highs = tuple(rng.uniform(170.0, 195.0, 3).tolist())
    high = min(floor + 12.0, plan.atmosphere_kpa - 8.0)
    stops = tuple((share, high) for share, _ in plan.admissions[:2])
    return replace(
        plan, pump_kpa=floor, lows_kpa=lows, highs_kpa=highs, admissions=stops, left_kpa=1.0
    )


def _short_drying(plan: Plan, rng: Generator, clear: bool) -> Plan:
    share = _between(rng, clear, (0.3, 0.8), (0.96, 0.99))
    return replace(plan, dried_s=max(share * plan.dry_s, 140.0))


def _leak(plan: Plan, rng: Generator, clear: bool) -> Plan:
    """A slow pull-down to a high floor, and air in the chamber at the plateau."""
    slow = _between(rng, clear, (2.2, 4.0), (1.2, 1.5))
    floor = rng.uniform(12.0, 18.0)
    lows = tuple(floor + low for low in rng.uniform(2.0, 8.0, len(plan.lows_kpa)).tolist())
    stops = tuple((share, floor + 20.0) for share, _ in plan.admissions[:2])
    plan = replace(plan, pump_s=slow * 35.0, pump_kpa=floor, lows_kpa=lows, admissions=stops)
    plan = replace(plan, dry_s=900.0, dried_s=930.0)
    return _wrong(plan, air_kpa=float(rng.uniform(10.0, 16.0)))


def _overload(plan: Plan, rng: Generator, clear: bool) -> Plan:
    """A heating of many minutes, and a shoulder where the load's water boils."""
    plan = replace(plan, heating_kpa_s=float(rng.uniform(0.4, 0.7)), pump_s=25.0, admissions=())
    plan = replace(plan, dry_s=900.0, dried_s=930.0)
    length = _between(rng, clear, (180.0, 360.0), (20.0, 40.0))
    return _wrong(plan, shoulder_kpa=float(rng.uniform(25.0, 45.0)), shoulder_s=length)


def _cut(plan: Plan, rng: Generator, clear: bool) -> Plan:
    return _wrong(plan, cut=_between(rng, clear, (0.2, 0.8), (0.97, 0.99)))


def _as_drawn(plan: Plan, rng: Generator, clear: bool) -> Plan:
    return plan


FAULTS: dict[str, _Fault] = {
    "air_not_removed": _Fault(_air_by_temperature, (*DYNAMIC, *GRAVITY), ("air_leak_suspected",)),
    "air_not_removed, by pressure": _Fault(
        _air_by_pressure,
        (*DYNAMIC, *GRAVITY),
        ("below_band", "hold_short", "air_leak_suspected"),
    ),
    "below_band": _Fault(_below, ALL, ("hold_short",)),
    "above_band": _Fault(_above, ALL, ("hold_short",)),
    "hold_short": _Fault(_short_hold, ALL),
    "superheat": _Fault(_superheat, ALL),
    # One vacuum without a steam pulse leaves too little saturated steam to tell an offset by.
    "sensor_offset": _Fault(_offset, PULSED, ("below_band", "above_band", "hold_short")),
    "drying_aborted": _Fault(_door, VACUUM_DRIED, ("drying_shortened",)),
    "vacuum_not_reached": _Fault(
        _weak_vacuum,
        (Kind.DYNAMIC_134, Kind.DYNAMIC_121, Kind.DYNAMIC_132, Kind.DYNAMIC_135),
        ("air_not_removed", "air_leak_suspected"),
    ),
    "drying_shortened": _Fault(_short_drying, VACUUM_DRIED),
    "air_leak_suspected": _Fault(
        _leak,
        (Kind.DYNAMIC_134, Kind.DYNAMIC_121, Kind.DYNAMIC_132, Kind.DYNAMIC_135),
        ("air_not_removed", "vacuum_not_reached"),
    ),
    "overload_suspected": _Fault(_overload, DYNAMIC, ("air_leak_suspected",)),
    "power_cut": _Fault(_cut, ALL, ("hold_short",)),
    "record_gap": _Fault(_as_drawn, ALL, ("hold_short", "below_band")),
}


def clean_case(
    kind: Kind,
    seed: int,
    *,
    interval_s: float | None = None,
    step_c: float = 0.1,
    printer: bool = False,
) -> Case:
    """Draw a run in which nothing is wrong."""
    rng = np.random.default_rng([seed, 1])
    truth = simulate(draw(kind, rng))
    if printer:
        logger = draw_printer(rng)
    else:
        logger = replace(draw_logger(rng, interval_s=interval_s), step_c=step_c)
    return Case(truth, logger, logged(truth, logger, rng), frozenset(), frozenset())


def faulty_case(name: str, seed: int, *, clear: bool = True, interval_s=None) -> Case:
    """Draw a run with a fault of `FAULTS`."""
    fault = FAULTS[name]
    rng = np.random.default_rng([seed, 2])
    kind = fault.kinds[int(rng.integers(len(fault.kinds)))]
    plan = fault.spoil(replace(draw(kind, rng), wrong=Wrong()), rng, clear)
    truth = simulate(plan)
    logger = draw_logger(rng, interval_s=interval_s)
    record = logged(truth, logger, rng)
    if name == "record_gap":
        record = _with_gap(record, rng, clear)
    keys = frozenset({name.split(",", maxsplit=1)[0]})
    return Case(truth, logger, record, keys, frozenset(fault.beside), clear)


def _with_gap(record: Logged, rng: Generator, clear: bool) -> Logged:
    """Leave out rows for half a minute to two minutes, and for five rows at least."""
    pace = float(np.median(np.diff(record.time_s)))
    missing = max(5, round(float(rng.uniform(30.0, 120.0)) / pace)) if clear else 1
    first = int(rng.integers(10, record.time_s.size - missing - 10))
    kept = np.ones(record.time_s.size, dtype=bool)
    kept[first : first + missing] = False
    return Logged(record.time_s[kept], record.temperature_c[kept], record.pressure_kpa[kept])
