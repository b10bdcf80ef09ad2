"""Everything that is heard in one file, its level where a calibrator's recording is given too."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from turnwell.sound import (
    Expectation,
    Listening,
    Recording,
    analyse,
    read_recording,
    with_level,
)

__all__ = ["Calibrated", "calibrator_recording", "heard_in"]


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


def heard_in(
    path: Path | str, expectation: Expectation, calibrated: Calibrated | None = None
) -> Listening:
    """Listen to a file, its level too.

    Parameters
    ----------
    path : path
    expectation : Expectation
        What is known of the handpiece.
    calibrated : Calibrated or None
        Without it the level cannot be told.

    Raises
    ------
    InputError
        If it, or the recording of the calibrator, cannot be read.
    """
    recording = read_recording(path)
    listening = analyse(recording, expectation)
    if calibrated is None:
        return with_level(listening, recording, None)
    return with_level(
        listening,
        recording,
        calibrator_recording(calibrated.path),
        calibrator_db=calibrated.level_db,
        hours_a_day=calibrated.hours,
    )


@lru_cache(maxsize=1)
def calibrator_recording(path: Path) -> Recording:
    """Read the recording of a calibrator, once for all the files it is for."""
    return read_recording(path)
