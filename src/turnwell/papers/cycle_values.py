"""What goes onto a cycle review, as typed values."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol

from turnwell.errors import InputError
from turnwell.measure import Reading
from turnwell.papers.values import ShopHead
from turnwell.pictures import CycleTraceChart, WeekPart

__all__ = [
    "Advice",
    "Chart",
    "CycleReview",
    "FaultFound",
    "Months",
    "Picture",
    "ReviewedRun",
]


class Chart(Protocol):
    """What has a chart specification for a width and a ground."""

    def specification(self, width: float, *, ground: str) -> dict[str, Any]:
        """Give the specification."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A chart with its text equivalent and the line under it."""

    chart: Chart
    words: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing the office could change, and what speaks for it.

    Parameters
    ----------
    do : str
    saw : tuple of str
        Plain sentences with counts and days.
    readings : tuple of Reading
        Values that lie outside their limit.
    """

    do: str
    saw: tuple[str, ...] = ()
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True)
class FaultFound:
    """One fault of a run.

    Parameters
    ----------
    key : str
        As in the document: ``"drying_shortened"``; what to do about it goes by this.
    name, evidence : str
    sure : str
        How sure it is, as a word.
    """

    key: str
    name: str
    evidence: str
    sure: str = ""


@dataclass(frozen=True, slots=True)
class ReviewedRun:
    """One run as its record shows it.

    Parameters
    ----------
    began : datetime or None
        On the office's wall clock; None for a record without a clock.
    held_against : str
        The plan in words; empty where none is known.
    says : tuple of str
        Plain sentences, the one to act on first; one at least.
    readings : tuple of Reading
        In the order of the table, in the units that are shown.
    trace : CycleTraceChart or None
    faults : tuple of FaultFound
        The gravest first.
    questions : tuple of str
    levers : tuple of str
        What would leave less water with its figures, the first to do first.
    file_name, sha256 : str
        Of the record as it was received; may be empty.
    """

    began: datetime | None
    held_against: str
    says: tuple[str, ...]
    readings: tuple[Reading, ...] = ()
    trace: CycleTraceChart | None = None
    faults: tuple[FaultFound, ...] = ()
    questions: tuple[str, ...] = ()
    levers: tuple[str, ...] = ()
    file_name: str = ""
    sha256: str = ""

    def __post_init__(self) -> None:
        if not any(self.says):
            raise InputError("a reviewed run needs one sentence that says what it comes to")


@dataclass(frozen=True, slots=True)
class Months:
    """What the records of a sterilizer say together.

    Parameters
    ----------
    says : tuple of str
        What the records show: plain sentences, the one to act on first.
    advice : tuple of Advice
        What to change, the most useful first.
    changed : tuple of str
        Whether the last change worked.
    history : Picture or None
        The readings over the months, with returns, visits and trainings.
    week : tuple of WeekPart
        In order of the day; those in which anything ran.
    """

    says: tuple[str, ...]
    advice: tuple[Advice, ...] = ()
    changed: tuple[str, ...] = ()
    history: Picture | None = None
    week: tuple[WeekPart, ...] = ()


@dataclass(frozen=True, slots=True)
class CycleReview:
    """A run, or the months of a sterilizer, or both.

    Parameters
    ----------
    shop : ShopHead
    office, sterilizer : str
    kind : str
        Its model and size, in words; may be empty.
    link : str
        What the QR code carries.
    issued_at : datetime
        With its zone.
    issued_by : str
    run : ReviewedRun or None
    months : Months or None

    Raises
    ------
    InputError
        If there is neither a run nor months.
    """

    shop: ShopHead
    office: str
    sterilizer: str
    link: str
    issued_at: datetime
    issued_by: str
    kind: str = ""
    run: ReviewedRun | None = None
    months: Months | None = None

    def __post_init__(self) -> None:
        if self.run is None and self.months is None:
            raise InputError("a cycle review needs a run or the months of a sterilizer")
