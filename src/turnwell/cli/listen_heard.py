"""What is heard in one file: the listening, and its level where a calibrator is given."""

from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from turnwell.sound import (
    Expectation,
    Listening,
    Recording,
    SegmentKind,
    analyse,
    read_recording,
)

if TYPE_CHECKING:
    from turnwell.sound.level.sound_level import SoundLevel

__all__ = ["Calibrated", "Heard", "calibrator_recording", "heard_in"]


@dataclass(frozen=True, slots=True)
class Calibrated:
    """The recording of a sound calibrator, and what it is for.

    Parameters
    ----------
    path : Path
        Made with the same microphone, settings and gain.
    level_db : float
        Sound pressure level that the calibrator makes.
    hours : float
        A day at the level that is heard, for the dose.
    """

    path: Path
    level_db: float
    hours: float


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """A listening, with the sound level where it could be told."""

    listening: Listening
    level: "SoundLevel | None" = None

    def as_dict(self) -> dict[str, Any]:
        """Give the document of ``turnwell listen --json``."""
        document = self.listening.as_dict()
        if self.level is not None:
            document["level"] = self.level.as_dict()
        return document


def heard_in(
    path: Path | str, expectation: Expectation, calibrated: Calibrated | None = None
) -> Heard:
    """Listen to a file.

    Raises
    ------
    InputError
        If it, or the recording of the calibrator, cannot be read.
    """
    recording = read_recording(path)
    listening = analyse(recording, expectation)
    return Heard(listening) if calibrated is None else _with_level(recording, listening, calibrated)


def _with_level(recording: Recording, listening: Listening, calibrated: Calibrated) -> Heard:
    """Add the level of the longest steady stretch; of the whole recording where there is none."""
    from turnwell.sound.level.sound_level import SoundLevel, level_of, level_readings, no_level

    steady = [part for part in listening.segments if part.kind is SegmentKind.STEADY]
    longest = max(steady, key=lambda part: part.stop_s - part.start_s, default=None)
    level = level_of(
        recording,
        calibrator_recording(calibrated.path),
        calibrator_db=calibrated.level_db,
        start_s=0.0 if longest is None else longest.start_s,
        stop_s=recording.duration_s if longest is None else longest.stop_s,
        hours_a_day=calibrated.hours,
        gate=listening.gate,
    )
    told = level if isinstance(level, SoundLevel) else None
    readings = level_readings(level) if isinstance(level, SoundLevel) else no_level(level)
    keys = {reading.key for reading in readings}
    others = tuple(reading for reading in listening.readings if reading.key not in keys)
    return Heard(replace(listening, readings=(*others, *readings)), told)


@lru_cache(maxsize=1)
def calibrator_recording(path: Path) -> Recording:
    """Read the recording of a calibrator, once for all the files it is for."""
    return read_recording(path)
