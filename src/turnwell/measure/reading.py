"""The reading: a value with its interval, its limit, a verdict and the reason for it."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite
from typing import Any

from turnwell.errors import InputError
from turnwell.measure.limit import Basis, Limit
from turnwell.measure.verdict import Verdict, verdict_on
from turnwell.words import Message, text_of

__all__ = ["Interval", "Reading", "cannot_tell", "reading"]


class Interval(StrEnum):
    """What kind of interval `low` to `high` is."""

    CONFIDENCE = "confidence"
    CREDIBLE = "credible"
    PREDICTIVE = "predictive"


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured or computed number that a person will act on.

    Made by `reading` and `cannot_tell`, which apply the decision rule; the constructor only holds.

    Parameters
    ----------
    key : str
        What was measured, as an identifier: ``"free_running_speed"``.
    name, why : Message
        Its name, and one sentence that gives the reason for the verdict.
    value, low, high : float or None
        Best estimate and ends of the interval in `unit`; all None when it cannot be told.
    level : float
        Coverage of the interval, between 0 and 1.
    interval : Interval
        Kind of the interval.
    unit : str
        Unit symbol; empty for a pure number.
    limit : Limit or None
        What it is held against.
    verdict : Verdict
        By `verdict_on`, or "not proven" or "cannot tell" for a stated reason.
    """

    key: str
    name: Message
    value: float | None
    low: float | None
    high: float | None
    level: float
    interval: Interval
    unit: str
    limit: Limit | None
    verdict: Verdict
    why: Message

    @property
    def half_width(self) -> float | None:
        """Half of the interval's width, in `unit`."""
        return None if self.low is None or self.high is None else (self.high - self.low) / 2.0

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the reading as JSON values, name and reason as sentences."""
        return {
            "key": self.key,
            "name": text_of(self.name, language),
            "value": self.value,
            "low": self.low,
            "high": self.high,
            "level": self.level,
            "interval": self.interval.value,
            "unit": self.unit,
            "limit": None if self.limit is None else self.limit.as_dict(),
            "verdict": self.verdict.value,
            "why": text_of(self.why, language),
        }

    def as_record(self) -> dict[str, Any]:
        """Give the reading as JSON values that `from_record` reads back without loss."""
        return self.as_dict() | {"name": self.name.as_record(), "why": self.why.as_record()}

    @classmethod
    def from_record(cls, record: Mapping[str, Any]) -> "Reading":
        """Read back what `as_record` gave."""
        limit = record["limit"]
        return cls(
            key=record["key"],
            name=Message.from_record(record["name"]),
            value=record["value"],
            low=record["low"],
            high=record["high"],
            level=record["level"],
            interval=Interval(record["interval"]),
            unit=record["unit"],
            limit=None
            if limit is None
            else Limit(limit["low"], limit["high"], limit["source"], Basis(limit["basis"])),
            verdict=Verdict(record["verdict"]),
            why=Message.from_record(record["why"]),
        )

    def __str__(self) -> str:
        """Write the reading as one line: name, value with interval, verdict, reason."""
        name, why = text_of(self.name), text_of(self.why)
        if self.value is None or self.low is None or self.high is None:
            return f"{name}: {self.verdict.value}. {why}"
        value = f"{self.value:,.6g} {self.unit}".rstrip()
        figures = f"{value} ({self.low:,.6g} to {self.high:,.6g})"
        return f"{name}: {figures}, {self.verdict.value}. {why}"


def reading(
    key: str,
    value: float,
    low: float,
    high: float,
    unit: str,
    *,
    limit: Limit | None = None,
    interval: Interval = Interval.CONFIDENCE,
    level: float = 0.95,
    name: Message | None = None,
    why: Message | None = None,
    unproven: Message | None = None,
) -> Reading:
    """Hold a value against a limit and give the reading with its verdict.

    Parameters
    ----------
    key : str
        What was measured; its name is the message ``reading.<key>`` unless `name` is given.
    value, low, high : float
        Estimate and interval in `unit`, finite, low <= value <= high.
    unit : str
        Unit symbol, the limit's too.
    limit : Limit or None
        One- or two-sided.
    interval, level
        Kind and coverage of the interval.
    name : Message or None
        Another name than that of its key.
    why : Message or None
        Reason to print instead of the rule's own sentence.
    unproven : Message or None
        A reason why this limit does not apply to this test; makes the verdict "not proven" whatever
        the interval says (a label speed tested away from the label pressure).

    Raises
    ------
    InputError
        If a number is not finite or the interval does not hold the value.

    Examples
    --------
    >>> from turnwell.measure import Basis, Limit
    >>> label = Limit(low=360_000.0, high=440_000.0, source="label", basis=Basis.OWN)
    >>> print(reading("free_running_speed", 401_200.0, 400_900.0, 401_500.0, "rpm", limit=label))
    Free-running speed: 401,200 rpm (400,900 to 401,500), within. The whole interval ...
    """
    for what, number in (("value", value), ("low", low), ("high", high), ("level", level)):
        if not isfinite(number):
            raise InputError(f"{what} of {key} is {number}, must be a finite number")
    if not low <= value <= high:
        raise InputError(f"{key}: {value} does not lie in its interval {low} to {high}")
    verdict = verdict_on(low, high, limit)
    if unproven is not None and limit is not None:
        verdict, why = Verdict.NOT_PROVEN, unproven
    return Reading(
        key=key,
        name=name or Message(f"reading.{key}"),
        value=float(value),
        low=float(low),
        high=float(high),
        level=level,
        interval=interval,
        unit=unit,
        limit=limit,
        verdict=verdict,
        why=why or Message(f"measure.{verdict.key}"),
    )


def cannot_tell(
    key: str,
    unit: str,
    why: Message,
    *,
    limit: Limit | None = None,
    interval: Interval = Interval.CONFIDENCE,
    level: float = 0.95,
    name: Message | None = None,
) -> Reading:
    """Give the reading of a question that the evidence cannot answer.

    Parameters
    ----------
    key, unit, limit, interval, level, name
        As for `reading`.
    why : Message
        The reason, and what would make it answerable.

    Examples
    --------
    >>> cannot_tell("free_running_speed", "rpm", Message("measure.not_measured")).value is None
    True
    """
    return Reading(
        key=key,
        name=name or Message(f"reading.{key}"),
        value=None,
        low=None,
        high=None,
        level=level,
        interval=interval,
        unit=unit,
        limit=limit,
        verdict=Verdict.CANNOT_TELL,
        why=why,
    )
