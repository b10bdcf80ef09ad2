"""The form of all findings of a class: each seen, looked for and not seen, or not looked for.

It is read and drawn by hand rather than field by field: it has some two hundred fields, and a page
on a bench must not take long.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from turnwell.catalogue import Finding as FindingFact
from turnwell.catalogue import load
from turnwell.web.jobs.actions.findings import GivenAnswer, SentPhoto
from turnwell.web.jobs.forms.base import JobForm
from turnwell.web.jobs.models import Finding, Job, Stage

__all__ = ["FindingRow", "FindingSection", "FindingsForm", "findings_of"]

NOT_LOOKED = "not_looked"
LONGEST_NOTE = 300
BEFORE_OPENING = (Stage.TAKEN_IN, Stage.TESTED_AS_RECEIVED)
SECTIONS = {
    "as received": ("Before opening", "As it came, on gauge and stand, in the hand."),
    "torn down": ("Opened", "With the loupe, before cleaning."),
    "office": ("At the office", "At the chair, or by telephone where it says “ask”."),
}


@dataclass(slots=True)
class FindingRow:
    """One finding with its answer as typed or as it stands."""

    fact: FindingFact
    answer: str = NOT_LOOKED
    known: str = Finding.Known.LOOKED
    note: str = ""
    photos: int = 0
    error: str = ""
    is_spoilt: bool = False


@dataclass(slots=True)
class FindingSection:
    """The findings of one stage: the short list, and the rest."""

    key: str
    name: str
    hint: str
    short: list[FindingRow] = field(default_factory=list)
    more: list[FindingRow] = field(default_factory=list)

    @property
    def answered_more(self) -> int:
        """How many of the rest are answered: then they are not folded away."""
        return sum(row.answer != NOT_LOOKED for row in self.more)


def findings_of(job: Job) -> list[FindingFact]:
    """Give the findings a person can look for in a job's handpiece."""
    handpiece = job.handpiece
    model = handpiece.model
    kind = load().handpiece_class(handpiece.class_key)
    has = {
        "spray": kind.can_have_spray and (model is None or model.has_spray),
        "light": kind.can_have_light and (model is None or model.has_light),
        "gears": kind.geared,
        "lubrication": model is None or model.lubricated != "never",
        None: True,
    }
    return [
        fact
        for fact in load().findings_for(handpiece.class_key)
        if has[fact.needs] and not fact.from_records
    ]


class FindingsForm(JobForm):
    """All findings of the class at once."""

    def __init__(self, *args: Any, job: Job, **options: Any) -> None:
        super().__init__(*args, job=job, **options)
        standing = {row.key: row for row in job.findings.standing().prefetch_related("photos")}
        self.rows = [self._row(fact, standing.get(fact.key)) for fact in findings_of(job)]

    def _row(self, fact: FindingFact, stands: Finding | None) -> FindingRow:
        row = FindingRow(fact, known=Finding.Known.TOLD if fact.asked else Finding.Known.LOOKED)
        if stands is not None:
            row.answer, row.known, row.note = stands.answer, stands.known, stands.note
            row.photos = len(stands.photos.all())
        if self.is_bound:
            row.answer = self.data.get(f"answer_{fact.key}", row.answer)
            row.known = self.data.get(f"known_{fact.key}", row.known)
            row.note = self.data.get(f"note_{fact.key}", row.note)
        row.is_spoilt = fact.destroyed_by_opening and self.job.stage not in BEFORE_OPENING
        return row

    @property
    def sections(self) -> Sequence[FindingSection]:
        """The findings by stage, the job's own stage first, the short list first in each."""
        order = ["as received", "torn down", "office"]
        if self.job.stage not in BEFORE_OPENING:
            order = ["torn down", "as received", "office"]
        sections: Mapping[str, FindingSection] = {
            key: FindingSection(key, *SECTIONS[key]) for key in order
        }
        for row in self.rows:
            section = sections[row.fact.stage]
            (section.short if row.fact.in_short_list else section.more).append(row)
        return [section for section in sections.values() if section.short or section.more]

    def clean(self) -> dict[str, Any]:
        """Check what was typed by hand."""
        cleaned = super().clean() or self.cleaned_data
        answers = (*Finding.Answer.values, NOT_LOOKED)
        for row in self.rows:
            if row.answer not in answers or row.known not in Finding.Known.values:
                row.error = "Answer: seen, looked and not seen, or not looked."
            elif len(row.note) > LONGEST_NOTE:
                row.error = f"The note has {len(row.note)} characters; up to {LONGEST_NOTE}."
            elif "\x00" in row.note:
                row.error = "The note holds a character that cannot be stored; type it again."
            elif row.answer == NOT_LOOKED and (row.note.strip() or self._photos(row)):
                row.error = "A note or photo needs an answer: seen, or looked and not seen."
        wrong = [row.fact.name for row in self.rows if row.error]
        if wrong:
            raise forms.ValidationError("Look at: " + ", ".join(wrong) + ".")
        return cleaned

    def arguments(self) -> dict[str, Any]:
        """Give the answers to all findings of the form."""
        return {
            "answers": [
                GivenAnswer(
                    row.fact.key,
                    None if row.answer == NOT_LOOKED else Finding.Answer(row.answer),
                    Finding.Known(row.known),
                    row.note,
                    tuple(SentPhoto(file, file.name or "") for file in self._photos(row)),
                )
                for row in self.rows
            ]
        }

    def _photos(self, row: FindingRow) -> list["UploadedFile[bytes]"]:
        return list(self.files.getlist(f"photo_{row.fact.key}")) if self.files else []
