"""Writes that any entry may need: a note, and taking an entry back."""

from datetime import datetime
from typing import TypeVar

from turnwell.web.accounts.models import User
from turnwell.web.jobs.actions.writing import (
    Correction,
    correction_fields,
    job_being_written,
    job_of,
    kept_text,
    moment,
    refuse_corrected,
    require_shop,
)
from turnwell.web.jobs.models import Job, JobNote
from turnwell.web.shared.entries import Entry, taking_back

__all__ = ["take_back", "taken_back", "write_note"]

AnyEntry = TypeVar("AnyEntry", bound=Entry)


def write_note(
    *,
    by: User,
    job: Job,
    text: str,
    at: datetime | None = None,
    version: int | None = None,
    correction: Correction | None = None,
) -> JobNote:
    """Write a note on a job; no patient data.

    Raises
    ------
    InputError
        If the note is empty or over 4,000 characters.
    """
    require_shop(by)
    text = kept_text(text, "the note", most=4000, required=True)
    with job_being_written(job, version=version) as locked:
        return JobNote.objects.create(
            job=locked,
            text=text,
            entered_by=by,
            entered_at=moment(at, not_before=locked.taken_in_at),
            **correction_fields(correction, JobNote, locked),
        )


def take_back(
    *,
    by: User,
    entry: AnyEntry,
    reason: str,
    at: datetime | None = None,
    version: int | None = None,
) -> AnyEntry:
    """Take an entry back: a new entry names it, with the reason, and neither holds from then on.

    Raises
    ------
    InputError
        If no reason is given.
    ChangedMeanwhileError
        If the entry was corrected or taken back already.
    """
    require_shop(by)
    reason = kept_text(reason, "the reason for taking it back", most=300, required=True)
    with job_being_written(job_of(entry), version=version):
        return taken_back(entry, by, reason, moment(at, not_before=entry.entered_at))


def taken_back(entry: AnyEntry, by: User, reason: str, when: datetime) -> AnyEntry:
    """Write the entry that takes another back, inside the write of its job.

    Raises
    ------
    ChangedMeanwhileError
        If the entry no longer holds.
    """
    refuse_corrected(entry)
    row = taking_back(entry, by=by, reason=reason, at=when)
    row.save(force_insert=True)
    return row
