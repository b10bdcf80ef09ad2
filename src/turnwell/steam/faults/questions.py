"""What the record cannot show: asked, chosen by what was found."""

from turnwell.steam.fault import Fault, FaultKey, Question
from turnwell.words import Message

__all__ = ["questions_of"]

ALWAYS = ("indicators", "lumen_water", "wet_at_start", "stacking")
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


def questions_of(faults: tuple[Fault, ...]) -> tuple[Question, ...]:
    """Give the questions to ask: those that the faults raise first, then those always open.

    >>> [question.key for question in questions_of(())]
    ['indicators', 'lumen_water', 'wet_at_start', 'stacking']
    """
    raised = [key for fault in faults for key in BY_FAULT[fault.key]]
    keys = dict.fromkeys([*raised, *ALWAYS])
    return tuple(Question(key, Message(f"steam_fault.ask.{key}")) for key in keys)
