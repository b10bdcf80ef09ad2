"""What was written about a job, in the order in which it was: every entry, corrected ones too."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import singledispatch

from django.db.models import Model

from turnwell.catalogue import load
from turnwell.web.accounts.models import User
from turnwell.web.jobs.models import (
    ConfirmedCause,
    EstimateAnswer,
    EstimateOption,
    Finding,
    IssuedPaper,
    JobNote,
    Measurement,
    OwnView,
    PartUsed,
    Recording,
    RunIn,
    ShownLadder,
    StageChange,
    TachometerReading,
    Test,
)
from turnwell.web.shared.entries import Entry
from turnwell.words import Message, text_of

__all__ = ["CORRECTABLE", "HistoryLine", "cause_name", "finding_name", "history_of", "says"]

# The kinds of entry that are corrected or taken back on a page, by the word in its address.
CORRECTABLE: dict[str, type[Entry]] = {
    "test": Test,
    "measurement": Measurement,
    "recording": Recording,
    "tachometer": TachometerReading,
    "finding": Finding,
    "cause": ConfirmedCause,
    "option": EstimateOption,
    "part": PartUsed,
    "run-in": RunIn,
    "note": JobNote,
}
# Those of them that are written anew; a finding and a cause are answered again on their own pages.
REWRITTEN = frozenset({"test", "measurement", "tachometer", "option", "part", "run-in", "note"})
KIND_OF = {kind: word for word, kind in CORRECTABLE.items()}


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """One thing that was written.

    Parameters
    ----------
    at, by
        When and by whom.
    what : str
        In words.
    correction : str
        Why it corrects or takes back an earlier entry; empty where it does not.
    is_overtaken : bool
        True where a later entry corrects this one.
    is_taken_back : bool
        True for an entry that only takes another back.
    kind, pk
        For the addresses of correcting it; the kind is empty where that cannot be.
    """

    at: datetime
    by: User
    what: str
    correction: str = ""
    is_overtaken: bool = False
    is_taken_back: bool = False
    kind: str = ""
    pk: int = 0

    @property
    def is_rewritten_here(self) -> bool:
        """True where a page of its own writes the entry anew."""
        return self.kind in REWRITTEN

    @property
    def can_be_corrected(self) -> bool:
        """True where the entry holds and is of a kind that a page corrects."""
        return bool(self.kind) and not self.is_overtaken and not self.is_taken_back


def history_of(rows: Iterable[Model]) -> Sequence[HistoryLine]:
    """Give the lines of all rows written about a job, the latest first."""
    rows = list(rows)
    overtaken = {
        (type(row), row.corrects_id)  # type: ignore[attr-defined]  # abstract base
        for row in rows
        if isinstance(row, Entry)
    }
    lines = [_line(row, is_overtaken=(type(row), row.pk) in overtaken) for row in rows]
    return sorted(lines, key=lambda line: line.at, reverse=True)


def _line(row: Model, *, is_overtaken: bool) -> HistoryLine:
    if isinstance(row, Entry):
        return HistoryLine(
            row.entered_at,
            row.entered_by,
            says(row),
            row.correction_reason,
            is_overtaken=is_overtaken,
            is_taken_back=row.is_taken_back,
            kind=KIND_OF.get(type(row), ""),
            pk=row.pk,
        )
    if isinstance(row, IssuedPaper):
        return HistoryLine(row.issued_at, row.issued_by, says(row))
    if isinstance(row, StageChange | ShownLadder):
        return HistoryLine(row.at, row.by, says(row))
    raise TypeError(f"{type(row).__name__} has no place in a history")


def cause_name(key: str) -> str:
    """Give the name of a cause; its key where the catalogue no longer has it."""
    cause = load().causes.get(key)
    return cause.name if cause else key


def finding_name(key: str) -> str:
    """Give the name of a finding; its key where the catalogue no longer has it."""
    finding = load().findings.get(key)
    return finding.name if finding else key


@singledispatch
def says(row: Model) -> str:
    """Give what an entry says, in one line."""
    raise TypeError(f"{type(row).__name__} says nothing")


@says.register
def _(row: StageChange) -> str:
    return row.get_to_stage_display() + (f": {row.reason}" if row.reason else "")


@says.register
def _(row: Test) -> str:
    if row.left_out_because:
        return f"Test {row.get_when_display().lower()} left out: {row.left_out_because}"
    return f"Test {row.get_when_display().lower()}, set-up: {row.get_mounted_display().lower()}"


@says.register
def _(row: Recording) -> str:
    return f"Recording {row.file}"


@says.register
def _(row: Measurement) -> str:
    name = text_of(Message(f"reading.{row.reading_key}"))
    values = ", ".join(f"{value:,.6g}" for value in row.values)
    gauge = row.instrument or row.instrument_note
    return f"{name}: {values} {row.unit}" + (f", {gauge}" if gauge else "")


@says.register
def _(row: TachometerReading) -> str:
    return f"Tachometer beside a recording: {row}" + (f", {row.note}" if row.note else "")


@says.register
def _(row: Finding) -> str:
    said = f"{finding_name(row.key)}: {row.get_answer_display().lower()}"
    return said + (f", {row.note}" if row.note else "")


@says.register
def _(row: OwnView) -> str:
    return f"Own view: {cause_name(row.cause_key) if row.cause_key else 'none yet'}" + (
        f", {row.words}" if row.words else ""
    )


@says.register
def _(row: ShownLadder) -> str:  # noqa: ARG001  (the type is what it says)
    return "Ladder of causes shown"


@says.register
def _(row: ConfirmedCause) -> str:
    return f"Main cause: {cause_name(row.cause_key)}" + (f", {row.words}" if row.words else "")


@says.register
def _(row: EstimateOption) -> str:
    return f"Option: {row.get_kind_display()}, {row.total} {row.currency}"


@says.register
def _(row: EstimateAnswer) -> str:
    what = f": {row.option.get_kind_display()}" if row.option else ""
    return f"{row.get_answer_display()} by {row.answered_by}{what}"


@says.register
def _(row: PartUsed) -> str:
    return f"Part: {row.quantity.normalize():f} × {row.name}"


@says.register
def _(row: RunIn) -> str:
    return f"Run in {row.minutes:g} min"


@says.register
def _(row: JobNote) -> str:
    return row.text


@says.register
def _(row: IssuedPaper) -> str:
    return f"{row.get_kind_display()} issued"
