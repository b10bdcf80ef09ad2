"""Drying broken off, vacuum not reached, drying cut short. Never: dry."""

import numpy as np

from turnwell.steam.fault import Fault, FaultKey
from turnwell.steam.faults.signs import Signs
from turnwell.steam.quality import rows_of
from turnwell.steam.readings.drying import least_drying_s
from turnwell.steam.stage import Ending, Stage, StageKind, Sure
from turnwell.units import s_to_min
from turnwell.words import Message, Param

__all__ = ["drying_faults"]

# Where the plan says no depth: weak pumps reach 20 to 40 kPa (common practice), broken ones stop at
# 40 to 70.
DEFAULT_LOWEST_KPA = 38.0
# A vacuum that was drawn for less than this had no chance to reach its depth.
CHANCE_S = 150.0
# At steps this wide and wider the door's step and a quick air inlet look alike in pressure; the
# door lets the temperature collapse.
FINE_S = 5.0
# A boundary this near to missing lines may lie in them.
EDGE_S = 10.0
VACUUM_SHARE, ARRIVED_SHARE = 0.6, 0.95
COLLAPSE_S, COLLAPSE_K = 60.0, 15.0
SUDDEN_S = 10.5
# A record that goes on for so long after the exhaust would show a vacuum that was drawn.
RESTED_S = 30.0


def drying_faults(signs: Signs, *, is_overloaded: bool) -> tuple[Fault, ...]:
    """Give what is wrong with the drying.

    Parameters
    ----------
    signs : Signs
    is_overloaded : bool
        Boiling water holds the pressure up; the pump is not to blame then.
    """
    stage = signs.drying
    if stage is None:
        never = _never(signs)
        return () if never is None else (never,)
    aborted = _aborted(signs, stage)
    if aborted is not None:
        late = stage.duration_s >= CHANCE_S and not is_overloaded
        found = [aborted, _vacuum(signs, stage) if late else None]
    else:
        found = [None if is_overloaded else _vacuum(signs, stage), _shortened(signs, stage)]
    return tuple(fault for fault in found if fault is not None)


def _aborted(signs: Signs, stage: Stage) -> Fault | None:
    """Find the door: ambient pressure within seconds, no ramp, before the planned time."""
    if not _ended_by_door(signs, stage):
        return None
    dry_s = signs.cycle.dry_s
    if dry_s is not None and stage.duration_s >= least_drying_s(dry_s, signs.record.interval_s):
        return None
    params: dict[str, Param] = {"drying_min": s_to_min(stage.duration_s)}
    key = "steam_fault.drying_aborted_unplanned"
    if dry_s is not None:
        key, params["dry_min"] = "steam_fault.drying_aborted", s_to_min(dry_s)
    return Fault(
        FaultKey.DRYING_ABORTED,
        Message(key, params),
        Sure.CLEAR if dry_s is not None else Sure.LIKELY,
        stage.start_s,
        stage.stop_s,
    )


def _ended_by_door(signs: Signs, stage: Stage) -> bool:
    """Say whether the door ended it; at coarse steps by the temperature that collapses."""
    if signs.course.ending is Ending.DOOR:
        return True
    record = signs.record
    after = rows_of(record, stage.stop_s, stage.stop_s + COLLAPSE_S)
    times, pressure = record.time_s[after], signs.pressure_kpa[after]
    temperature = signs.temperature_c[after]
    if times.size < 3 or record.interval_s < FINE_S or signs.course.ending is Ending.POWER_CUT:
        return False
    with np.errstate(invalid="ignore"):
        low = np.flatnonzero(pressure < VACUUM_SHARE * record.atmosphere_kpa)
        high = np.flatnonzero(pressure > ARRIVED_SHARE * record.atmosphere_kpa)
    if low.size == 0 or high.size == 0 or high[0] < low[-1]:
        return False
    # A rise of two seconds may have one row in its midst.
    rise_s = float(times[high[0]] - times[low[-1]])
    is_sudden = rise_s <= max(1.1 * record.interval_s, SUDDEN_S)
    return bool(is_sudden and temperature[0] - np.nanmin(temperature) >= COLLAPSE_K)


def _never(signs: Signs) -> Fault | None:
    """Find a run that goes on after its exhaust without the vacuum that its pump could draw."""
    exhaust, dry_s = signs.course.stage(StageKind.EXHAUST), signs.cycle.dry_s
    end_s = float(signs.record.time_s[-1])
    if exhaust is None or dry_s is None or signs.course.ending is not Ending.UNKNOWN:
        return None
    if not signs.course.pulses or end_s - exhaust.stop_s < RESTED_S:
        return None
    params: dict[str, Param] = {"dry_min": s_to_min(dry_s)}
    return Fault(
        FaultKey.DRYING_SHORTENED,
        Message("steam_fault.drying_never", params),
        Sure.LIKELY,
        exhaust.stop_s,
        end_s,
    )


def _unseen_s(signs: Signs, stage: Stage) -> float:
    """Give how much longer the drying may have been: missing lines at its beginning or end."""
    edge_s = 2.0 * signs.record.interval_s + EDGE_S
    return sum(
        stop_s - start_s
        for start_s, stop_s in signs.record.gaps_s
        for end_s in (stage.start_s, stage.stop_s)
        if start_s - edge_s <= end_s <= stop_s + edge_s
    )


def _shortened(signs: Signs, stage: Stage) -> Fault | None:
    """Find a normal end that came too early. Without a planned time nobody can tell."""
    dry_s = signs.cycle.dry_s
    if dry_s is None or signs.course.ending not in {Ending.AIR_INLET, Ending.UNKNOWN}:
        return None
    longest_s = stage.duration_s + _unseen_s(signs, stage)
    if longest_s >= least_drying_s(dry_s, signs.record.interval_s):
        return None
    params: dict[str, Param] = {
        "drying_min": s_to_min(stage.duration_s),
        "dry_min": s_to_min(dry_s),
        "percent": 100.0 * stage.duration_s / dry_s,
    }
    is_shown = signs.course.ending is Ending.AIR_INLET
    word = "drying_shortened" if is_shown else "drying_shortened_end_unseen"
    return Fault(
        FaultKey.DRYING_SHORTENED,
        Message(f"steam_fault.{word}", params),
        Sure.CLEAR if is_shown else Sure.LIKELY,
        stage.start_s,
        stage.stop_s,
    )


def _vacuum(signs: Signs, stage: Stage) -> Fault | None:
    """Find a pump that did not get deep; a gravity cycle without a pump draws no vacuum."""
    pressure = signs.pressure_kpa[rows_of(signs.record, stage.start_s, stage.stop_s)]
    if not np.any(np.isfinite(pressure)) or not signs.has_pump or stage.duration_s < CHANCE_S:
        return None
    limit = signs.cycle.drying_pressure
    planned = None if limit is None else limit.high
    most_kpa = DEFAULT_LOWEST_KPA if planned is None else planned + signs.sensors.pressure_kpa
    lowest_kpa = float(np.nanmin(pressure))
    if lowest_kpa <= most_kpa:
        return None
    params: dict[str, Param] = {
        "lowest_kpa": lowest_kpa,
        "limit_kpa": DEFAULT_LOWEST_KPA if planned is None else planned,
    }
    key = "vacuum_not_reached_unplanned" if planned is None else "vacuum_not_reached"
    return Fault(
        FaultKey.VACUUM_NOT_REACHED,
        Message(f"steam_fault.{key}", params),
        Sure.LIKELY if planned is None and lowest_kpa < DEFAULT_LOWEST_KPA + 2.0 else Sure.CLEAR,
        stage.start_s,
        stage.stop_s,
    )
