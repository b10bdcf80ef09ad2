"""What every write to a job has in common: who may, the lock, the version, the checks of values."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import isfinite
from typing import Any

from django.db import transaction
from django.utils import timezone

from turnwell.errors import ChangedMeanwhileError, InputError, StageError
from turnwell.web.accounts.models import User
from turnwell.web.jobs.models import Job, Stage
from turnwell.web.shared import access
from turnwell.web.shared.entries import Entry

__all__ = [
    "Correction",
    "check_stage",
    "correction_fields",
    "job_being_written",
    "job_of",
    "kept_text",
    "moment",
    "number",
    "refuse_corrected",
    "require_shop",
]

CLOCK_SLACK = timedelta(minutes=1)
COPIED_BACK = (
    "version",
    "stage",
    "stage_since",
    "ended_at",
    "waiting_for",
    "waiting_owner",
    "waiting_since",
)


@dataclass(frozen=True, slots=True)
class Correction:
    """Names the entry that a new one stands in for, and why.

    Parameters
    ----------
    of : Entry
        The wrong entry; it is kept and no longer holds.
    reason : str
        In the writer's words, 1 to 300 characters.
    """

    of: Entry
    reason: str


@contextmanager
def job_being_written(job: Job, *, version: int | None) -> Iterator[Job]:
    """Lock a job for one write, count its version up, and bring the caller's copy up to date.

    Parameters
    ----------
    job : Job
        As the caller has it; its version and stage are brought up to date on success.
    version : int or None
        The version the person was looking at; None where nobody looked at a page.

    Raises
    ------
    ChangedMeanwhileError
        If the job has another version by now.
    """
    with transaction.atomic():
        locked = (
            Job.objects.select_for_update(of=("self",))
            .select_related("handpiece__model", "office")
            .get(pk=job.pk)
        )
        if version is not None and locked.version != version:
            raise ChangedMeanwhileError(
                f"job {locked.code} was changed meanwhile (version {locked.version}, you had"
                f" {version}); look at it again, then write"
            )
        yield locked
        locked.version += 1
        locked.save()
    for name in COPIED_BACK:
        setattr(job, name, getattr(locked, name))


def require_shop(by: User) -> None:
    """Refuse anybody who is not of the shop.

    Raises
    ------
    NotAllowedError
        If the person is of an office, or no longer active.
    """
    access.require_shop(by, f"{by} may look at jobs of the own office, not write to them")


def check_stage(job: Job, allowed: Sequence[Stage], what: str) -> None:
    """Refuse a write that does not belong to the stage the job is at.

    Raises
    ------
    StageError
        Naming the stage it is at and the ones it could be written at.
    """
    if job.stage not in allowed:
        raise StageError(
            f"{what} cannot be written while the job is at {Stage(job.stage).label.lower()!r};"
            f" possible at: {', '.join(stage.label.lower() for stage in allowed)}"
        )


def moment(at: datetime | None, *, not_before: datetime | None = None) -> datetime:
    """Give the moment of a write: the one named, or now.

    Raises
    ------
    InputError
        If the moment has no time zone, lies in the future, or lies before `not_before`.
    """
    now = timezone.now()
    if at is None:
        return now
    if timezone.is_naive(at):
        raise InputError(f"the time {at:%Y-%m-%d %H:%M} has no time zone")
    if at > now + CLOCK_SLACK:
        raise InputError(f"the time {at:%Y-%m-%d %H:%M} lies in the future; give one that is past")
    if not_before is not None and at < not_before:
        raise InputError(
            f"the time {at:%Y-%m-%d %H:%M} lies before {not_before:%Y-%m-%d %H:%M}, when the job"
            " came to where it is; give a later one"
        )
    return at


def kept_text(text: str, what: str, *, most: int, required: bool = False) -> str:
    """Give a text without the blanks around it.

    Raises
    ------
    InputError
        If it holds a character that cannot be kept, is too long, or is missing though required.
    """
    kept = text.strip()
    if any(character < " " and character not in "\n\r\t" for character in kept):
        raise InputError(f"{what} holds a control character; type it again without")
    if len(kept) > most:
        raise InputError(f"{what} has {len(kept)} characters, must be at most {most}; shorten it")
    if required and not kept:
        raise InputError(f"{what} is empty; write it in a few words")
    return kept


def number(value: float, what: str, *, low: float, high: float, unit: str = "") -> float:
    """Give a number within its range.

    Raises
    ------
    InputError
        If it is not finite or lies outside.
    """
    if not isfinite(value) or not low <= value <= high:
        raise InputError(
            f"{what} is {value:g}{' ' * bool(unit)}{unit}, must lie between {low:g} and {high:g}"
        )
    return float(value)


def correction_fields(correction: Correction | None, kind: type[Entry], job: Job) -> dict[str, Any]:
    """Give the fields by which a new entry names the one it stands in for.

    Raises
    ------
    InputError
        If the old entry is of another kind or job, or has no reason given.
    ChangedMeanwhileError
        If the old entry has been corrected already.
    """
    if correction is None:
        return {}
    old = correction.of
    if type(old) is not kind or job_of(old).pk != job.pk:
        raise InputError(f"{old} is not an entry that this one can correct")
    refuse_corrected(old)
    reason = kept_text(correction.reason, "the reason of the correction", most=300, required=True)
    return {"corrects": old, "correction_reason": reason}


def refuse_corrected(entry: Entry) -> None:
    """Refuse to touch an entry that no longer holds.

    Raises
    ------
    ChangedMeanwhileError
        If it was corrected or taken back.
    """
    if entry.is_taken_back or hasattr(entry, "corrected_by"):
        raise ChangedMeanwhileError(f"{entry} has been corrected already; look at it again")


def job_of(entry: Entry) -> Job:
    """Give the job an entry belongs to, straight or by its test."""
    if hasattr(entry, "job"):
        return entry.job  # type: ignore[no-any-return]  # every entry of this app has one
    return entry.test.job  # type: ignore[attr-defined, no-any-return]  # else it hangs on a test
