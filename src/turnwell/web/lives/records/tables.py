"""The shop's rows as plain arrays: one table a kind of row, one array a column."""

from collections.abc import Iterable
from dataclasses import dataclass, field, fields
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.web.jobs.models import Job, OptionKind, Stage

__all__ = [
    "KINDS",
    "REASONS",
    "STAGES",
    "UNKNOWN",
    "Handpieces",
    "Jobs",
    "Offices",
    "Table",
    "Visits",
    "Whole",
    "Words",
]

# Stands for a moment, a day or a count that is not known, or a row that is not there.
UNKNOWN = -(2**62)

# Codes of columns are places in these.
REASONS: tuple[str, ...] = tuple(Job.Reason.values)
STAGES: tuple[str, ...] = tuple(Stage.values)
KINDS: tuple[str, ...] = tuple(OptionKind.values)

Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """Arrays of one length; the first column is the primary key, by which the rows are ordered."""

    pk: Whole

    @property
    def count(self) -> int:
        """How many rows."""
        return int(self.pk.size)

    def chosen(self, rows: ArrayLike) -> Self:
        """Give some of the rows, by a mask or by their places."""
        kept = np.asarray(rows)
        return type(self)(*(getattr(self, column.name)[kept] for column in fields(self)))

    def with_rows(self, other: Self) -> Self:
        """Give these rows and others, ordered by their keys."""
        order = np.argsort(np.concatenate([self.pk, other.pk]), kind="stable")
        return type(self)(
            *(
                np.concatenate([getattr(self, column.name), getattr(other, column.name)])[order]
                for column in fields(self)
            )
        )

    def places_of(self, keys: Whole) -> NDArray[np.intp]:
        """Give the places of keys that are all there."""
        return np.searchsorted(self.pk, keys)


@dataclass(frozen=True, slots=True, eq=False)
class Offices(Table):
    """Offices.

    Parameters
    ----------
    zone : array of int
        Place of its time zone in `Words.zones`.
    is_active : array of bool
        False once it is off the round.
    """

    zone: NDArray[np.int16]
    is_active: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Visits(Table):
    """Visits that stand.

    Parameters
    ----------
    office : array of int
        Primary key.
    on_day : array of int
        Days from 1970-01-01, by the office's clock.
    was_training : array of bool
    """

    office: Whole
    on_day: Whole
    was_training: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Handpieces(Table):
    """Handpieces; days are counted from 1970-01-01, `UNKNOWN` where there is none.

    Parameters
    ----------
    kind : array of int
        Place of its class in `Words.classes`.
    office : array of int
        Primary key of the present one.
    since_day, counted_day, retired_day : array of int
        Went into service, cycles counted, retired.
    cycles : array of int
        Care cycles at `counted_day`.
    is_loan : array of bool
    code : array of bytes, 7 characters
    """

    kind: NDArray[np.int16]
    office: Whole
    since_day: Whole
    cycles: Whole
    counted_day: Whole
    retired_day: Whole
    is_loan: NDArray[np.bool_]
    code: NDArray[np.bytes_]


@dataclass(frozen=True, slots=True, eq=False)
class Jobs(Table):
    """Jobs, one a stay at the bench; moments in seconds from 1970-01-01 UTC.

    Parameters
    ----------
    handpiece, office : array of int
        Primary keys; the office is that of the stay.
    reason, stage : array of int
        Places in `REASONS` and `STAGES`.
    taken_in_s, ended_s : array of int
        `UNKNOWN` where it has not ended.
    cycles : array of int
        Care cycles counted at taking in, or `UNKNOWN`.
    cause : array of int
        Place of the settled cause in `Words.causes`, -1 where none is settled.
    option : array of int
        Place of the agreed option's kind in `KINDS`, -1 where none was agreed to.
    total : array of float
        Price of that option with tax, not a number where none was agreed to.
    currency : array of int
        Place in `Words.currencies`, -1 without a price.
    warranty_months : array of int
    """

    handpiece: Whole
    office: Whole
    reason: NDArray[np.int8]
    stage: NDArray[np.int8]
    taken_in_s: Whole
    ended_s: Whole
    cycles: Whole
    cause: NDArray[np.int16]
    option: NDArray[np.int8]
    total: NDArray[np.float64]
    currency: NDArray[np.int16]
    warranty_months: NDArray[np.int16]


@dataclass(slots=True)
class Words:
    """Words that stand in columns as numbers; each list only grows."""

    classes: list[str] = field(default_factory=list)
    zones: list[str] = field(default_factory=list)
    causes: list[str] = field(default_factory=list)
    currencies: list[str] = field(default_factory=list)

    def copy(self) -> "Words":
        """Give lists of one's own, to be added to."""
        return Words(*(list(getattr(self, column.name)) for column in fields(self)))


def codes_of(words: Iterable[str], known: list[str]) -> NDArray[np.int16]:
    """Give the place of each word in a list, which takes up what it does not hold yet."""
    places = {word: place for place, word in enumerate(known)}
    codes = []
    for word in words:
        place = places.get(word)
        if place is None:
            place = places[word] = len(known)
            known.append(word)
        codes.append(place)
    return np.array(codes, dtype=np.int16)
