"""The stretches of a recording: what the handpiece does, from when to when."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

__all__ = ["Segment", "SegmentKind"]


class SegmentKind(StrEnum):
    """What the handpiece does in a stretch of the recording."""

    RUN_UP = "run-up"
    STEADY = "steady"
    COAST_DOWN = "coast-down"
    SILENT = "silent"


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch of the recording, from `start_s` to `stop_s`."""

    kind: SegmentKind
    start_s: float
    stop_s: float

    def as_dict(self) -> dict[str, Any]:
        """Give the segment as JSON values."""
        return {"kind": self.kind.value, "start_s": self.start_s, "stop_s": self.stop_s}
