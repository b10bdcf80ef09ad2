"""Adds to the answer how loud the handpiece runs, with the recording of a sound calibrator."""

from dataclasses import replace

from turnwell.sound.level.sound_level import SoundLevel, level_of, level_readings, no_level
from turnwell.sound.listening import Listening
from turnwell.sound.recording import Recording
from turnwell.sound.segment import Segment, SegmentKind
from turnwell.words import Message

__all__ = ["with_level"]


def with_level(
    listening: Listening,
    recording: Recording,
    calibrator: Recording | None,
    *,
    calibrator_db: float = 94.0,
    hours_a_day: float = 8.0,
) -> Listening:
    """Give the answer with the sound level of the longest steady part and the noise dose.

    Parameters
    ----------
    listening : Listening
        What `analyse` gave.
    recording : Recording
        The recording it was made of.
    calibrator : Recording or None
        Of a calibrator on the same microphone, with the same settings and gain; without it the
        level cannot be told.
    calibrator_db : float
        Level of the calibrator, dB re 20 µPa: 94 or 114.
    hours_a_day : float
        Hours a person spends beside it.

    Raises
    ------
    InputError
        If a number is out of range.
    """
    steady = [part for part in listening.segments if part.kind is SegmentKind.STEADY]
    if calibrator is None:
        # That a dose needs the level goes without saying.
        return replace(listening, readings=listening.readings + no_level()[:1])
    found: SoundLevel | Message = Message("level.not_running")
    if steady:
        longest = max(steady, key=_duration_s)
        found = level_of(
            recording,
            calibrator,
            calibrator_db=calibrator_db,
            start_s=longest.start_s,
            stop_s=longest.stop_s,
            hours_a_day=hours_a_day,
            gate=listening.gate,
        )
    if isinstance(found, SoundLevel):
        readings = listening.readings + level_readings(found)
        return replace(listening, level=found, readings=readings)
    return replace(listening, readings=listening.readings + no_level(found))


def _duration_s(segment: Segment) -> float:
    return segment.stop_s - segment.start_s
