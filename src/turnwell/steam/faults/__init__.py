"""Faults by their signatures, and the questions a record cannot answer."""

from turnwell.steam.cycle import Cycle, Sensors
from turnwell.steam.fault import Fault, FaultKey
from turnwell.steam.faults.band import band_faults
from turnwell.steam.faults.drying import drying_faults
from turnwell.steam.faults.of_record import record_faults
from turnwell.steam.faults.pump import leak_fault, overload_fault
from turnwell.steam.faults.questions import questions_of
from turnwell.steam.faults.saturation import pressure_offset, saturation_fault
from turnwell.steam.faults.signs import signs_of
from turnwell.steam.record import Record
from turnwell.steam.stage import Course

__all__ = ["faults_of", "questions_of"]

GRAVEST_FIRST = (
    FaultKey.POWER_CUT,
    FaultKey.AIR_NOT_REMOVED,
    FaultKey.BELOW_BAND,
    FaultKey.HOLD_SHORT,
    FaultKey.SUPERHEAT,
    FaultKey.ABOVE_BAND,
    FaultKey.AIR_LEAK_SUSPECTED,
    FaultKey.DRYING_ABORTED,
    FaultKey.VACUUM_NOT_REACHED,
    FaultKey.DRYING_SHORTENED,
    FaultKey.OVERLOAD_SUSPECTED,
    FaultKey.SENSOR_OFFSET,
    FaultKey.RECORD_GAP,
)


def faults_of(record: Record, cycle: Cycle, course: Course, sensors: Sensors) -> tuple[Fault, ...]:
    """Give the faults a record shows, the gravest first.

    Parameters
    ----------
    record : Record
    cycle : Cycle
        Band, holding and drying time are judged only where it says them; air, superheat, leaks and
        vacuum are judged without it.
    course : Course
    sensors : Sensors
        What their bounds can explain is no fault.
    """
    signs = signs_of(record, cycle, course, sensors)
    offset, steam = pressure_offset(signs), None
    # Boiling water leaves no air in the steam; a leak does, so it goes before.
    leak = None if offset is not None else leak_fault(signs)
    overload = None if leak is not None else overload_fault(signs)
    if offset is None and leak is None:
        steam = saturation_fault(signs)
    is_warm_or_cold = steam is not None and steam.key is FaultKey.SENSOR_OFFSET
    found = [
        *record_faults(signs),
        *band_faults(signs, offset_k=signs.difference_k if is_warm_or_cold else 0.0),
        *drying_faults(signs, is_overloaded=overload is not None),
    ]
    found += [fault for fault in (overload, leak, offset, steam) if fault is not None]
    return tuple(sorted(found, key=lambda fault: GRAVEST_FIRST.index(fault.key)))
