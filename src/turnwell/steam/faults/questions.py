"""What the record cannot show: asked, chosen by what was found."""

from turnwell.steam.fault import Fault, FaultKey, Question
from turnwell.steam.stage import Course
from turnwell.words import Message

__all__ = ["questions_of"]

ALWAYS = ("indicators", "lumen_water", "wet_at_start", "stacking")
# A vacuum was drawn, and the record does not show how the chamber came out of it.
OPEN_ENDS = frozenset(
    {"steam_stage.ends_in_vacuum", "steam_stage.step_or_ramp", "steam_stage.crept"}
)
BY_FAULT = {
    FaultKey.AIR_NOT_REMOVED: ("leak_test", "vents_clear", "altitude"),
    FaultKey.AIR_LEAK_SUSPECTED: ("leak_test", "door_seal", "altitude"),
    FaultKey.OVERLOAD_SUSPECTED: ("load_size",),
    FaultKey.DRYING_ABORTED: ("door_opened",),
    FaultKey.DRYING_SHORTENED: ("drying_setting",),
    FaultKey.VACUUM_NOT_REACHED: ("pump_service", "door_seal"),
    FaultKey.SENSOR_OFFSET: ("calibration", "altitude"),
    FaultKey.SUPERHEAT: ("superheat_load",),
    FaultKey.BELOW_BAND: ("run_again",),
    FaultKey.ABOVE_BAND: ("calibration",),
    FaultKey.HOLD_SHORT: ("programme",),
    FaultKey.POWER_CUT: ("run_again",),
    FaultKey.RECORD_GAP: ("full_record",),
}


def questions_of(faults: tuple[Fault, ...], course: Course | None = None) -> tuple[Question, ...]:
    """Give the questions to ask: those that the faults raise first, then those always open.

    How the run ended is asked where a drying vacuum was drawn and its end is not shown.

    >>> [question.key for question in questions_of(())]
    ['indicators', 'lumen_water', 'wet_at_start', 'stacking']
    """
    raised = [key for fault in faults for key in BY_FAULT[fault.key]]
    is_open = course is not None and course.ending_why.key in OPEN_ENDS
    open_end = ["how_it_ended"] if is_open else []
    keys = dict.fromkeys([*raised, *open_end, *ALWAYS])
    return tuple(Question(key, Message(f"steam_fault.ask.{key}")) for key in keys)
