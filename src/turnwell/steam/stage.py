"""What a run consisted of: stages, air-removal pulses, admissions of air, and how it ended."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from turnwell.words import Message, text_of

__all__ = ["VACUUM_KPA", "Admission", "Course", "Ending", "Pulse", "Stage", "StageKind", "Sure"]

# So far under the atmosphere at least a pump has drawn the chamber: weather and a gauge's bound
# together make less.
VACUUM_KPA = 8.0


class StageKind(StrEnum):
    """The stages of a steam sterilizer's run."""

    AIR_REMOVAL = "air removal"
    HEATING = "heating"
    PLATEAU = "plateau"
    EXHAUST = "exhaust"
    DRYING = "drying"
    AIR_INLET = "air inlet"
    NOT_RECOGNISED = "not recognised"


class Sure(StrEnum):
    """How sure a finding is; a word, because the shape of a curve has no honest percentage."""

    CLEAR = "clear"
    LIKELY = "likely"
    DOUBTFUL = "doubtful"


class Ending(StrEnum):
    """How the run ended, as far as the record shows."""

    AIR_INLET = "controlled air inlet"
    DOOR = "door opened"
    POWER_CUT = "power cut"
    UNKNOWN = "not shown"


@dataclass(frozen=True, slots=True)
class Stage:
    """One stretch of a run.

    Parameters
    ----------
    kind : StageKind
    start_s, stop_s : float
        Seconds since the record's first row, start_s < stop_s.
    sure : Sure
    why : Message
        What it was told by, and whether the record's own stage text says the same.
    """

    kind: StageKind
    start_s: float
    stop_s: float
    sure: Sure
    why: Message

    @property
    def duration_s(self) -> float:
        """From start to stop."""
        return self.stop_s - self.start_s

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the stage as JSON values."""
        return {
            "kind": self.kind.value,
            "start_s": self.start_s,
            "stop_s": self.stop_s,
            "sure": self.sure.value,
            "why": text_of(self.why, language),
        }


@dataclass(frozen=True, slots=True)
class Pulse:
    """One air-removal pulse: down to a low, up to a high.

    Parameters
    ----------
    low_s, high_s : float
        When the lowest and the following highest pressure stood.
    low_kpa, high_kpa : float
        Absolute. A pulse of pressure alone has its low near the atmosphere.
    """

    low_s: float
    low_kpa: float
    high_s: float
    high_kpa: float

    def as_dict(self) -> dict[str, Any]:
        """Give the pulse as JSON values."""
        return {
            "low_s": self.low_s,
            "low_kpa": self.low_kpa,
            "high_s": self.high_s,
            "high_kpa": self.high_kpa,
        }


@dataclass(frozen=True, slots=True)
class Admission:
    """One admission of air during drying, after which the vacuum was drawn again."""

    start_s: float
    stop_s: float
    low_kpa: float
    high_kpa: float

    def as_dict(self) -> dict[str, Any]:
        """Give the admission as JSON values."""
        return {
            "start_s": self.start_s,
            "stop_s": self.stop_s,
            "low_kpa": self.low_kpa,
            "high_kpa": self.high_kpa,
        }


@dataclass(frozen=True, slots=True)
class Course:
    """The whole run in order.

    Parameters
    ----------
    stages : tuple of Stage
        Without overlap, in order, covering the record.
    pulses : tuple of Pulse
        Of the air removal.
    admissions : tuple of Admission
        Of the drying.
    ending : Ending
    ending_why : Message
        What the ending was told by.
    """

    stages: tuple[Stage, ...]
    pulses: tuple[Pulse, ...]
    admissions: tuple[Admission, ...]
    ending: Ending
    ending_why: Message

    def stage(self, kind: StageKind) -> Stage | None:
        """Give the first stage of a kind, None where there is none."""
        return next((stage for stage in self.stages if stage.kind is kind), None)

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give pulses, admissions and ending as JSON values; stages stand by themselves."""
        return {
            "pulses": [pulse.as_dict() for pulse in self.pulses],
            "admissions": [admission.as_dict() for admission in self.admissions],
            "ending": self.ending.value,
            "ending_why": text_of(self.ending_why, language),
        }
