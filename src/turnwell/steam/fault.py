"""A fault recognised in a record, with the evidence for it; and what only a person can answer."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from turnwell.steam.stage import Sure
from turnwell.words import Message, text_of

__all__ = ["Fault", "FaultKey", "Question"]


class FaultKey(StrEnum):
    """The faults a record can show; their names are the messages ``steam_fault.name.<key>``."""

    AIR_NOT_REMOVED = "air_not_removed"
    BELOW_BAND = "below_band"
    ABOVE_BAND = "above_band"
    HOLD_SHORT = "hold_short"
    SUPERHEAT = "superheat"
    SENSOR_OFFSET = "sensor_offset"
    DRYING_ABORTED = "drying_aborted"
    VACUUM_NOT_REACHED = "vacuum_not_reached"
    DRYING_SHORTENED = "drying_shortened"
    AIR_LEAK_SUSPECTED = "air_leak_suspected"
    OVERLOAD_SUSPECTED = "overload_suspected"
    POWER_CUT = "power_cut"
    RECORD_GAP = "record_gap"


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault by its signature.

    Parameters
    ----------
    key : FaultKey
    evidence : Message
        The figures it was told by.
    sure : Sure
    start_s, stop_s : float or None
        Where in the record it shows.
    """

    key: FaultKey
    evidence: Message
    sure: Sure
    start_s: float | None = None
    stop_s: float | None = None

    @property
    def name(self) -> Message:
        """Its name."""
        return Message(f"steam_fault.name.{self.key.value}")

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the fault as JSON values."""
        return {
            "key": self.key.value,
            "name": text_of(self.name, language),
            "evidence": text_of(self.evidence, language),
            "sure": self.sure.value,
            "start_s": self.start_s,
            "stop_s": self.stop_s,
        }


@dataclass(frozen=True, slots=True)
class Question:
    """What the record cannot show and a person can answer.

    Parameters
    ----------
    key : str
    text : Message
        The question as it is asked.
    """

    key: str
    text: Message

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the question as JSON values."""
        return {"key": self.key, "text": text_of(self.text, language)}
