"""A power cut and missing lines."""

from math import isfinite

import numpy as np

from turnwell.steam.fault import Fault, FaultKey
from turnwell.steam.faults.signs import Signs
from turnwell.steam.stage import VACUUM_KPA, Ending, StageKind, Sure
from turnwell.words import Message, Param

__all__ = ["record_faults"]

# A printer that writes where stages change has so many long steps at least, over so much of a run.
STAGE_STEPS, STAGE_SHARE = 3, 0.5
# Long is this many times the pace: a clock of whole seconds may make 2 s of 1. So few steps, with
# so much of the time in long ones, show no pace.
LONG_SHARE, FEW_STEPS, FEW_SHARE = 2.2, 30, 0.3


def record_faults(signs: Signs) -> tuple[Fault, ...]:
    """Give the faults of the record itself."""
    found = (_power_cut(signs), _gap(signs))
    return tuple(fault for fault in found if fault is not None)


def _power_cut(signs: Signs) -> Fault | None:
    """Find an end where no run ends: hot and under pressure, or in a vacuum."""
    if signs.course.ending is not Ending.POWER_CUT:
        return None
    end_s = float(signs.record.time_s[-1])
    last_kpa = float(signs.pressure_kpa[-1])
    params: dict[str, Param] = {
        "end_s": end_s,
        "temperature_c": float(signs.temperature_c[-1]),
        "pressure_kpa": last_kpa,
    }
    key = "power_cut" if isfinite(last_kpa) else "power_cut_without_pressure"
    return Fault(
        FaultKey.POWER_CUT, Message(f"steam_fault.{key}", params), _cut_sure(signs), end_s, end_s
    )


def _cut_sure(signs: Signs) -> Sure:
    """Say how sure a cut is: clear under pressure, on the plateau or after it.

    In a vacuum, or before a plateau, the logger alone may have been switched off.
    """
    has_plateau = signs.course.stage(StageKind.PLATEAU) is not None
    atmosphere_kpa = signs.record.atmosphere_kpa
    in_vacuum = bool(signs.pressure_kpa[-1] < atmosphere_kpa - VACUUM_KPA)
    return Sure.CLEAR if has_plateau and not in_vacuum else Sure.LIKELY


def _gap(signs: Signs) -> Fault | None:
    """Find missing lines; the evidence says how much of it lies in the plateau."""
    gaps = signs.record.gaps_s
    if not gaps or _is_written_by_stages(signs):
        return None
    start_s, stop_s = max(gaps, key=lambda gap: gap[1] - gap[0])
    plateau = signs.course.stage(StageKind.PLATEAU)
    in_hold_s = 0.0
    if plateau is not None:
        in_hold_s = sum(
            max(0.0, min(stop, plateau.stop_s) - max(start, plateau.start_s))
            for start, stop in gaps
        )
    params: dict[str, Param] = {
        "count": len(gaps),
        "longest_s": stop_s - start_s,
        "hold_s": in_hold_s,
        "step_s": signs.record.interval_s,
    }
    return Fault(
        FaultKey.RECORD_GAP, Message("steam_fault.record_gap", params), Sure.CLEAR, start_s, stop_s
    )


def _is_written_by_stages(signs: Signs) -> bool:
    """Whether rows stand where stages change, not at a usual step: then no line is missing.

    The lethality over such steps stays left out; its reason says so.
    """
    steps_s = np.diff(signs.record.time_s)
    # The lower quarter: where the hold alone is written by the minute, that is its pace.
    long_s = steps_s[steps_s > LONG_SHARE * np.quantile(steps_s, 0.25)]
    share = float(np.sum(long_s)) / float(np.sum(steps_s))
    is_by_stages = long_s.size >= STAGE_STEPS and share > STAGE_SHARE
    return is_by_stages or (steps_s.size < FEW_STEPS and share > FEW_SHARE)
