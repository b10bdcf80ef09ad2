"""The ladder: causes ranked, each with its evidence, and what to look at next."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import exp
from typing import Any

from turnwell.errors import InputError
from turnwell.words import Message, text_of

__all__ = ["CAUSE_VERSION", "Answer", "Evidence", "Ladder", "LookNext", "Outcome", "Rung"]

CAUSE_VERSION = "1"
SCHEMA = "turnwell.cause/1"


class Answer(StrEnum):
    """What a ranking says as a whole."""

    LEADING = "leading"
    BETWEEN = "between"
    CANNOT_TELL = "cannot tell"
    NOTHING_FITS = "nothing listed fits"


@dataclass(frozen=True, slots=True)
class Evidence:
    """One answer that speaks for or against a cause.

    Parameters
    ----------
    key : str
        Of the complaint or finding.
    answer : {"complaint", "seen", "not seen"}
        How it was answered.
    weight : float
        Natural logarithm of how much likelier the answer is under this cause than where nothing
        is known of it, after the group's weight; above 0 speaks for the cause.
    message : Message
        The answer in words.
    """

    key: str
    answer: str
    weight: float
    message: Message

    @property
    def factor(self) -> float:
        """How many times likelier the answer is under this cause."""
        return exp(self.weight)

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give it as JSON values."""
        return {
            "key": self.key,
            "answer": self.answer,
            "factor": self.factor,
            "says": text_of(self.message, language),
        }

    def as_record(self) -> dict[str, Any]:
        """Give it as JSON values that `from_record` reads back."""
        return {
            "key": self.key,
            "answer": self.answer,
            "weight": self.weight,
            "message": self.message.as_record(),
        }

    @classmethod
    def from_record(cls, record: Mapping[str, Any]) -> "Evidence":
        """Read back what `as_record` gave."""
        return cls(
            key=record["key"],
            answer=record["answer"],
            weight=record["weight"],
            message=Message.from_record(record["message"]),
        )


@dataclass(frozen=True, slots=True)
class Rung:
    """One cause on the ladder.

    Parameters
    ----------
    key, name : str
        Of the cause.
    probability : float
        That it is the main cause, given that the table holds.
    low, high : float
        5 % and 95 % points over what the table's numbers may be, widened to hold `probability`.
    is_office_care : bool
        Whether the cause says anything about the office's care; where not, never word it as blame.
    caution : str
        What can hurt somebody; may be empty.
    evidence_for, evidence_against : tuple of Evidence
        The strongest first.
    """

    key: str
    name: str
    probability: float
    low: float
    high: float
    is_office_care: bool
    caution: str
    evidence_for: tuple[Evidence, ...]
    evidence_against: tuple[Evidence, ...]

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give it as JSON values."""
        return {
            "key": self.key,
            "name": self.name,
            "probability": self.probability,
            "low": self.low,
            "high": self.high,
            "for": [item.as_dict(language) for item in self.evidence_for],
            "against": [item.as_dict(language) for item in self.evidence_against],
            "office_care": self.is_office_care,
            "caution": self.caution,
        }

    def as_record(self) -> dict[str, Any]:
        """Give it as JSON values that `from_record` reads back."""
        return self.as_dict() | {
            "for": [item.as_record() for item in self.evidence_for],
            "against": [item.as_record() for item in self.evidence_against],
        }

    @classmethod
    def from_record(cls, record: Mapping[str, Any]) -> "Rung":
        """Read back what `as_record` gave."""
        return cls(
            key=record["key"],
            name=record["name"],
            probability=record["probability"],
            low=record["low"],
            high=record["high"],
            is_office_care=record["office_care"],
            caution=record["caution"],
            evidence_for=tuple(Evidence.from_record(item) for item in record["for"]),
            evidence_against=tuple(Evidence.from_record(item) for item in record["against"]),
        )


@dataclass(frozen=True, slots=True)
class Outcome:
    """The cause that would come first after an answer, with its probability."""

    cause: str
    name: str
    probability: float

    def as_dict(self) -> dict[str, Any]:
        """Give it as JSON values."""
        return {"key": self.cause, "name": self.name, "probability": self.probability}

    @classmethod
    def from_record(cls, record: Mapping[str, Any] | None) -> "Outcome | None":
        """Read back what `as_dict` gave; None stays None."""
        if record is None:
            return None
        return cls(record["key"], record["name"], record["probability"])


@dataclass(frozen=True, slots=True)
class LookNext:
    """One step that is worth its minutes.

    Parameters
    ----------
    keys : tuple of str
        Findings it answers.
    message : Message
        What to do.
    gain_bit : float
        Expected fall of the ranking's entropy.
    minutes : float
        Hands-on time, opening or connecting included.
    if_seen, if_not_seen : Outcome or None
        What would come first after either answer; None for a step that answers several findings.
    """

    keys: tuple[str, ...]
    message: Message
    gain_bit: float
    minutes: float
    if_seen: Outcome | None
    if_not_seen: Outcome | None

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give it as JSON values."""
        return {
            "keys": list(self.keys),
            "says": text_of(self.message, language),
            "gain_bit": self.gain_bit,
            "minutes": self.minutes,
            "if_seen": None if self.if_seen is None else self.if_seen.as_dict(),
            "if_not_seen": None if self.if_not_seen is None else self.if_not_seen.as_dict(),
        }

    def as_record(self) -> dict[str, Any]:
        """Give it as JSON values that `from_record` reads back."""
        return self.as_dict() | {"message": self.message.as_record()}

    @classmethod
    def from_record(cls, record: Mapping[str, Any]) -> "LookNext":
        """Read back what `as_record` gave."""
        return cls(
            keys=tuple(record["keys"]),
            message=Message.from_record(record["message"]),
            gain_bit=record["gain_bit"],
            minutes=record["minutes"],
            if_seen=Outcome.from_record(record["if_seen"]),
            if_not_seen=Outcome.from_record(record["if_not_seen"]),
        )


@dataclass(frozen=True, slots=True)
class Ladder:
    """The causes of one failure, ranked by the evidence.

    Parameters
    ----------
    class_key : str
        Of the handpiece.
    answer : Answer
        What the ranking says as a whole.
    wording : Message
        The same as a sentence; it always says that the numbers are not counted.
    rungs : tuple of Rung
        Every cause possible in the class, the likeliest first; probabilities sum to 1.
    says : tuple of Message
        What a reader must know beside it: take out of use, what the answer hangs on.
    look_next : tuple of LookNext
        At most three steps at the bench or by asking, in the order to do them.
    look_at_visit : tuple of LookNext
        At most three, to be grouped for the next visit.
    entropy_bit : float
        Spread of the ranking.
    version : str
        Of the core that made it.
    """

    class_key: str
    answer: Answer
    wording: Message
    rungs: tuple[Rung, ...]
    says: tuple[Message, ...]
    look_next: tuple[LookNext, ...]
    look_at_visit: tuple[LookNext, ...]
    entropy_bit: float
    version: str = CAUSE_VERSION

    @property
    def first(self) -> Rung:
        """The likeliest cause."""
        return self.rungs[0]

    @property
    def is_answered(self) -> bool:
        """True where one cause leads, or two are left."""
        return self.answer in {Answer.LEADING, Answer.BETWEEN}

    def rung(self, cause: str) -> Rung:
        """Give the rung of a cause.

        Raises
        ------
        InputError
            If the cause is not on the ladder.
        """
        for rung in self.rungs:
            if rung.key == cause:
                return rung
        raise InputError(f"{cause!r} is not on this ladder")

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the ladder as JSON values, messages as sentences."""
        return {
            "schema": SCHEMA,
            "version": self.version,
            "class": self.class_key,
            "answer": self.answer.value,
            "wording": text_of(self.wording, language),
            "says": _texts(self.says, language),
            "causes": [rung.as_dict(language) for rung in self.rungs],
            "look_next": [look.as_dict(language) for look in self.look_next],
            "look_at_visit": [look.as_dict(language) for look in self.look_at_visit],
            "entropy_bit": self.entropy_bit,
        }

    def as_record(self) -> dict[str, Any]:
        """Give the ladder as JSON values that `from_record` reads back without loss."""
        return {
            "version": self.version,
            "class": self.class_key,
            "answer": self.answer.value,
            "wording": self.wording.as_record(),
            "says": [message.as_record() for message in self.says],
            "causes": [rung.as_record() for rung in self.rungs],
            "look_next": [look.as_record() for look in self.look_next],
            "look_at_visit": [look.as_record() for look in self.look_at_visit],
            "entropy_bit": self.entropy_bit,
        }

    @classmethod
    def from_record(cls, record: Mapping[str, Any]) -> "Ladder":
        """Read back what `as_record` gave."""
        return cls(
            class_key=record["class"],
            answer=Answer(record["answer"]),
            wording=Message.from_record(record["wording"]),
            rungs=tuple(Rung.from_record(item) for item in record["causes"]),
            says=tuple(Message.from_record(item) for item in record["says"]),
            look_next=tuple(LookNext.from_record(item) for item in record["look_next"]),
            look_at_visit=tuple(LookNext.from_record(item) for item in record["look_at_visit"]),
            entropy_bit=record["entropy_bit"],
            version=record["version"],
        )

    def __str__(self) -> str:
        """Write the wording and the first five rungs, a line each."""
        lines = [text_of(self.wording)]
        lines += [
            f"{rung.probability:5.2f}  ({rung.low:.2f} to {rung.high:.2f})  {rung.name}"
            for rung in self.rungs[:5]
        ]
        return "\n".join(lines)


def _texts(messages: Sequence[Message], language: str) -> list[str]:
    return [text_of(message, language) for message in messages]
