"""What listening to a recording gave: readings, segments, the speed over time, and its faults."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.measure import Reading
from turnwell.sound.coast.coast_down import CoastDown
from turnwell.sound.condition.judging import Condition
from turnwell.sound.gate.findings import GateFinding
from turnwell.sound.level.sound_level import SoundLevel
from turnwell.sound.orders.finding import Orders
from turnwell.sound.recording import Recording
from turnwell.sound.segment import Segment
from turnwell.sound.version import SOUND_VERSION

__all__ = ["SCHEMA", "Facts", "Listening", "Track"]

SCHEMA = "turnwell.listen/2"
ANSWERS = frozenset({"free_running_speed", "speed_heard", "bearing_evidence"})


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """Speed over time; instants at which nothing turns, or nothing can be told, are left out.

    Parameters
    ----------
    time_s, speed_rpm, sd_rpm : arrays, shape (n,)
        Finite, times rising; `sd_rpm` is the standard deviation of each point, clock left out.
    """

    time_s: NDArray[np.float64]
    speed_rpm: NDArray[np.float64]
    sd_rpm: NDArray[np.float64]

    def as_dict(self) -> dict[str, list[float]]:
        """Give the track as JSON values."""
        return {
            "time_s": [round(value, 4) for value in self.time_s.tolist()],
            "speed_rpm": [round(value, 2) for value in self.speed_rpm.tolist()],
            "sd_rpm": [round(value, 3) for value in self.sd_rpm.tolist()],
        }


@dataclass(frozen=True, slots=True)
class Facts:
    """The recording without its samples."""

    rate_hz: float
    duration_s: float
    channels: int
    codec: str
    sha256: str

    @classmethod
    def of(cls, recording: Recording) -> "Facts":
        """Give the facts of a recording."""
        return cls(
            recording.rate_hz,
            recording.duration_s,
            recording.channels,
            recording.codec,
            recording.sha256,
        )

    def as_dict(self) -> dict[str, Any]:
        """Give the facts as JSON values."""
        return {
            "rate_hz": self.rate_hz,
            "duration_s": self.duration_s,
            "channels": self.channels,
            "codec": self.codec,
            "sha256": self.sha256,
        }


@dataclass(frozen=True, slots=True, eq=False)
class Listening:
    """The answer to one recording.

    Parameters
    ----------
    recording : Facts
    segments : tuple of Segment
        In the order of time.
    readings : tuple of Reading
        The speed first.
    track : Track
        Of the bur where the ratio is known, else of the shaft that is heard.
    gate : tuple of GateFinding
        What is wrong with the recording.
    coast_downs : tuple of CoastDown
        In the order of time, of the shaft that is heard.
    orders : Orders or None
        Order spectra and the bearing's lines in them; None where no speed is known.
    condition : Condition
        Growth of the rotation line and roughness.
    level : SoundLevel or None
        How loud it is; only with the recording of a calibrator.
    factor : float
        Speed to show over the speed heard.
    version : str
        Of the method that made it.
    """

    recording: Facts
    segments: tuple[Segment, ...]
    readings: tuple[Reading, ...]
    track: Track
    gate: tuple[GateFinding, ...]
    coast_downs: tuple[CoastDown, ...] = ()
    orders: Orders | None = None
    condition: Condition = field(default_factory=Condition)
    level: SoundLevel | None = None
    factor: float = 1.0
    version: str = SOUND_VERSION

    @property
    def answered(self) -> bool:
        """True where a speed could be given, or a part of the bearing named."""
        return any(r.key in ANSWERS and r.value is not None for r in self.readings)

    def reading(self, key: str) -> Reading | None:
        """Give the reading of a key, None where there is none."""
        return next((reading for reading in self.readings if reading.key == key), None)

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the document of schema ``turnwell.listen/2``."""
        orders = self.orders
        return {
            "schema": SCHEMA,
            "version": self.version,
            "recording": self.recording.as_dict(),
            "segments": [segment.as_dict() for segment in self.segments],
            "readings": [reading.as_dict(language) for reading in self.readings],
            "gate": [finding.as_dict(language) for finding in self.gate],
            "track": self.track.as_dict(),
            "coast_down": [one.as_dict(self.factor, language) for one in self.coast_downs],
            "orders": None if orders is None else orders.as_dict(self.factor, language),
            "condition": {
                "bearing": None if orders is None else orders.evidence_as_dict(language),
                **self.condition.as_dict(language),
            },
            "level": None if self.level is None else self.level.as_dict(),
        }

    def __str__(self) -> str:
        """Write the readings, one a line."""
        return "\n".join(str(reading) for reading in self.readings)
