"""The answer to one table of lives or returns: readings, curve, groups, and what was assumed."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.life.estimate import Estimate
from turnwell.life.lives import Clock
from turnwell.life.version import LIFE_VERSION
from turnwell.measure import Interval, Reading, Verdict
from turnwell.words import Message, text_of

__all__ = [
    "SCHEMA",
    "AgePoint",
    "Bound",
    "CauseShare",
    "Curve",
    "GroupDifference",
    "GroupSummary",
    "Kind",
    "Statistic",
    "Summary",
]

SCHEMA = "turnwell.lives/1"


class Kind(StrEnum):
    """What a table holds."""

    LIVES = "lives"
    RETURNS = "returns"


@dataclass(frozen=True, slots=True)
class Statistic:
    """A test: its statistic, and the chance of one as extreme where there is nothing to find.

    Parameters
    ----------
    key : str
        What it is, as readings are keyed.
    value : float or None
        The statistic; None where there is nothing to compare.
    p : float or None
    why : Message
        What it says.
    details : tuple of (str, float or None)
        Figures beside it, by name.
    """

    key: str
    value: float | None
    p: float | None
    why: Message
    details: tuple[tuple[str, float | None], ...] = ()

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give it as a reading with ``p`` beside the value; a statistic has no interval."""
        shown = Reading(
            key=self.key,
            name=Message(f"reading.{self.key}"),
            value=self.value,
            low=None,
            high=None,
            level=0.95,
            interval=Interval.CONFIDENCE,
            unit="",
            limit=None,
            verdict=Verdict.CANNOT_TELL if self.value is None else Verdict.NO_LIMIT,
            why=self.why,
        )
        return shown.as_dict(language) | {"p": self.p}

    def as_object(self) -> dict[str, float | None]:
        """Give its figures alone."""
        return {"p": self.p, **dict(self.details)}

    def __str__(self) -> str:
        """Write it as one line."""
        name, why = text_of(f"reading.{self.key}"), text_of(self.why)
        if self.value is None:
            return f"{name}: cannot tell. {why}"
        return f"{name}: {self.value:.2f}. {why}"


@dataclass(frozen=True, slots=True)
class Bound:
    """What can be said where nothing failed: an end of an interval, one-sided.

    Parameters
    ----------
    key : str
        What is bounded.
    value : float
        The end, in `unit`.
    unit : str
    level : float
        One-sided.
    assumed_shape : float or None
        The Weibull shape it hangs on.
    says : Message
    """

    key: str
    value: float
    unit: str
    level: float
    assumed_shape: float | None
    says: Message

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give it as JSON values."""
        return {
            "key": self.key,
            "value": self.value,
            "unit": self.unit,
            "level": self.level,
            "assumed_shape": self.assumed_shape,
            "says": text_of(self.says, language),
        }


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """The survival curve or the mean returns, thinned to what a picture shows.

    Parameters
    ----------
    start, end : float
        Ages from which and up to which anything was under observation.
    time, value, low, high, at_risk : array, shape (m,)
        Of each age at which the curve steps: its value from there on, pointwise limits, and how
        many were under observation.
    steps : int
        How many steps there are in all.
    """

    start: float
    end: float
    time: NDArray[np.float64]
    value: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    at_risk: NDArray[np.float64]
    steps: int

    def as_dict(self) -> dict[str, Any]:
        """Give it as JSON values; an open limit is null."""
        return {
            "start": self.start,
            "end": self.end,
            "steps": self.steps,
            "time": _json(self.time),
            "value": _json(self.value),
            "low": _json(self.low),
            "high": _json(self.high),
            "at_risk": _json(self.at_risk),
        }


@dataclass(frozen=True, slots=True)
class AgePoint:
    """What curve and law say at one age.

    Parameters
    ----------
    age : float
    at_risk : int
        How many were under observation just before it.
    observed : Estimate or None
        By the curve; None beyond the ages observed.
    fitted : Estimate or None
        By the Weibull life, of lives, from new; None where there is none.
    """

    age: float
    at_risk: int
    observed: Estimate | None
    fitted: Estimate | None

    def as_dict(self) -> dict[str, Any]:
        """Give it as JSON values."""
        return {
            "age": self.age,
            "at_risk": self.at_risk,
            "observed": None if self.observed is None else self.observed.as_dict(),
            "fitted": None if self.fitted is None else self.fitted.as_dict(),
        }


@dataclass(frozen=True, slots=True)
class CauseShare:
    """The share that has failed of one cause by the end of observation, all causes at work."""

    cause: str
    failures: int
    share: Estimate

    def as_dict(self) -> dict[str, Any]:
        """Give it as JSON values."""
        return {"cause": self.cause, "failures": self.failures, **self.share.as_dict()}


@dataclass(frozen=True, slots=True)
class GroupDifference:
    """Mean returns of one group less those of another, over the stretch watched in both.

    Parameters
    ----------
    first, second : str
        Names of the groups.
    start, end : float
        The stretch, in the clock of the summary.
    difference : Estimate
        At its end.
    p : float
        Of as great a difference over the whole stretch where there is none.
    """

    first: str
    second: str
    start: float
    end: float
    difference: Estimate
    p: float

    def as_dict(self) -> dict[str, Any]:
        """Give it as JSON values."""
        where = {"first": self.first, "second": self.second, "start": self.start, "end": self.end}
        return {**where, **self.difference.as_dict(), "p": self.p}


@dataclass(frozen=True, slots=True)
class GroupSummary:
    """Readings of one group.

    Parameters
    ----------
    name : str
    n, failures : int
    readings : tuple of Reading
    statistics : tuple of Statistic
    bound : Bound or None
        Where nothing in it failed.
    """

    name: str
    n: int
    failures: int
    readings: tuple[Reading, ...]
    statistics: tuple[Statistic, ...] = ()
    bound: Bound | None = None

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give it as JSON values."""
        return {
            "name": self.name,
            "n": self.n,
            "failures": self.failures,
            "readings": _figures(self.readings, self.statistics, language),
            "bound": None if self.bound is None else self.bound.as_dict(language),
        }


@dataclass(frozen=True, slots=True, eq=False)
class Summary:
    """The answer to one table.

    Parameters
    ----------
    kind : Kind
    file : str
        Name of the table.
    n : int
        Lives, or units that come back.
    failures : int
        Failures, or returns.
    watched : float
        All stretches under observation added up, in `clock`.
    clock : Clock
    readings : tuple of Reading
    statistics : tuple of Statistic
        The trend of returns; the log-rank test of groups.
    curve : Curve
        Survival, or mean returns.
    points : tuple of AgePoint
        At the ages asked for, or at round ones.
    causes : tuple of CauseShare
        Where causes were given.
    groups : tuple of GroupSummary or None
        None where there are no groups.
    differences : tuple of GroupDifference
        Of the mean returns of groups.
    bound : Bound or None
        Where nothing failed.
    notes : tuple of Message
        What was taken for granted, left out or put together.
    version : str
        Of the methods.
    """

    kind: Kind
    file: str
    n: int
    failures: int
    watched: float
    clock: Clock
    readings: tuple[Reading, ...]
    statistics: tuple[Statistic, ...]
    curve: Curve
    points: tuple[AgePoint, ...] = ()
    causes: tuple[CauseShare, ...] = ()
    groups: tuple[GroupSummary, ...] | None = None
    differences: tuple[GroupDifference, ...] = ()
    bound: Bound | None = None
    notes: tuple[Message, ...] = ()
    version: str = LIFE_VERSION

    @property
    def answered(self) -> bool:
        """True where any reading has a value."""
        return any(reading.value is not None for reading in self.readings)

    def reading(self, key: str) -> Reading | None:
        """Give the reading of a key, None where there is none."""
        return next((reading for reading in self.readings if reading.key == key), None)

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the document of schema ``turnwell.lives/1``."""
        document = {
            "schema": SCHEMA,
            "version": self.version,
            "kind": self.kind.value,
            "file": self.file,
            "n": self.n,
            "failures": self.failures,
            "watched": self.watched,
            "clock": self.clock.value,
            "readings": _figures(self.readings, self.statistics, language),
            "curve": self.curve.as_dict(),
            "points": [point.as_dict() for point in self.points],
            "causes": [cause.as_dict() for cause in self.causes],
            "bound": None if self.bound is None else self.bound.as_dict(language),
            "notes": [text_of(note, language) for note in self.notes],
        }
        document |= {found.key: found.as_object() for found in self.statistics}
        if self.groups is not None:
            document["groups"] = [group.as_dict(language) for group in self.groups]
            document["differences"] = [found.as_dict() for found in self.differences]
        return document

    def as_columns(self) -> dict[str, list[Any]]:
        """Give the readings as columns of equal length, as any library of tables takes them."""
        names = ("key", "value", "low", "high", "unit", "verdict")
        rows = _figures(self.readings, self.statistics, "en")
        return {name: [row[name] for row in rows] for name in names}

    def __str__(self) -> str:
        """Write what the table holds and the readings, one a line."""
        lines = [text_of(self.headline), *map(str, self.readings), *map(str, self.statistics)]
        if self.bound is not None:
            lines.append(text_of(self.bound.says))
        return "\n".join([*lines, *map(text_of, self.notes)])

    @property
    def headline(self) -> Message:
        """What the table holds, as one sentence."""
        return Message(
            f"life_summary.holds_{self.kind.value}",
            {
                "file": self.file,
                "n": self.n,
                "failures": self.failures,
                "watched": self.watched,
                "clock": self.clock.value,
            },
        )


def _figures(
    readings: Sequence[Reading], statistics: Sequence[Statistic], language: str
) -> list[dict[str, Any]]:
    found = [reading.as_dict(language) for reading in readings]
    return found + [statistic.as_dict(language) for statistic in statistics]


def _json(values: NDArray[np.float64]) -> list[float | None]:
    finite = np.isfinite(values).tolist()
    return [v if is_finite else None for v, is_finite in zip(values.tolist(), finite, strict=True)]
