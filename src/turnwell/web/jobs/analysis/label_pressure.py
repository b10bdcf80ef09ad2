"""Whether a test was made at the label pressure, where alone the label speed holds."""

from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import Test
from turnwell.web.jobs.set_ups import PRESSURE_TOLERANCE
from turnwell.words import Message

__all__ = ["is_air_driven", "is_at_label", "label_pressure_kpa", "pressure_objection"]

SPEED = "free_running_speed"
# Classes whose own air decides their speed; an attachment turns as fast as the motor before it.
AIR_DRIVEN = frozenset(
    {"air_turbine_4_hole", "air_turbine_surgical", "air_turbine_2_3_hole", "low_speed_air_motor"}
)


def is_air_driven(class_key: str) -> bool:
    """Tell whether drive air sets the speed of a class."""
    return class_key in AIR_DRIVEN


def label_pressure_kpa(handpiece: Handpiece) -> float | None:
    """Give the label pressure of an air-driven handpiece; None where none is on file or needed."""
    if handpiece.model is None or not is_air_driven(handpiece.class_key):
        return None
    return handpiece.model.label_pressure_kpa


def is_at_label(tested_kpa: float, label_kpa: float) -> bool:
    """Tell whether a drive pressure counts as the label's."""
    return abs(tested_kpa - label_kpa) <= PRESSURE_TOLERANCE * label_kpa


def pressure_objection(test: Test, reading_key: str) -> Message | None:
    """Say why a label speed does not apply to a test; None where it does.

    Air moves a turbine the faster the more of it there is, so the label speed holds at the label
    pressure only. Within the tolerance of set-ups the two pressures count as the same.
    """
    handpiece = test.job.handpiece
    if reading_key != SPEED or not is_air_driven(handpiece.class_key):
        return None
    label = label_pressure_kpa(handpiece)
    if label is None:
        return Message("jobs.label_pressure_unknown")
    tested = test.drive_pressure_kpa
    if tested is None:
        return Message("jobs.pressure_not_written")
    if is_at_label(tested, label):
        return None
    return Message("jobs.away_from_label_pressure", {"tested": tested, "label": label})
