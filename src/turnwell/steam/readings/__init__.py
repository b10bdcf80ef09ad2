"""Every reading of a run: the plateau, the steam, the air removal, the drying."""

from dataclasses import replace

from turnwell.measure import Reading
from turnwell.steam.cycle import Cycle, Sensors
from turnwell.steam.readings.air_removal import air_removal_readings
from turnwell.steam.readings.drying import drying_readings
from turnwell.steam.readings.holding import holding_readings
from turnwell.steam.readings.lethal import LethalityScale, lethal_readings
from turnwell.steam.record import Record
from turnwell.steam.stage import Course
from turnwell.words import Message

__all__ = ["LethalityScale", "readings_of"]


def readings_of(
    record: Record,
    cycle: Cycle,
    course: Course,
    sensors: Sensors,
    *,
    other: LethalityScale | None = None,
) -> tuple[Reading, ...]:
    """Give every reading, each held against what the plan says.

    Parameters
    ----------
    record : Record
    cycle : Cycle
        What it leaves out is "no limit" or "cannot tell", never guessed.
    course : Course
    sensors : Sensors
        Their bounds make the intervals; across a limit is "not proven".
    other : LethalityScale or None
        Another reference temperature and z, given beside F0.
    """
    found = (
        *lethal_readings(record, cycle, course, sensors, other=other),
        *holding_readings(record, cycle, course, sensors),
        *air_removal_readings(record, cycle, course, sensors),
        *drying_readings(record, cycle, course, sensors),
    )
    return tuple(map(_with_remedy, found))


def _with_remedy(reading: Reading) -> Reading:
    """Name what settles a reading across its limit: a run that is over cannot be repeated."""
    if reading.why.key != "measure.not_proven":
        return reading
    return replace(reading, why=Message("steam.not_proven"))
