"""Writes of findings: seen, looked for and not seen, or not looked for after all."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from turnwell.errors import InputError
from turnwell.web.accounts.models import User
from turnwell.web.evidence.actions import store_file
from turnwell.web.evidence.models import StoredFile
from turnwell.web.evidence.storage import Readable
from turnwell.web.jobs.actions.notes import taken_back
from turnwell.web.jobs.actions.writing import (
    job_being_written,
    kept_text,
    moment,
    require_shop,
)
from turnwell.web.jobs.facts import check_finding
from turnwell.web.jobs.models import Finding, FindingPhoto, Job

__all__ = ["GivenAnswer", "SentPhoto", "write_finding", "write_findings"]

MOST_PHOTOS = 12
ANEW = "answered anew"


@dataclass(frozen=True, slots=True)
class SentPhoto:
    """A photo as it was sent, not yet kept."""

    content: Readable
    name: str


@dataclass(frozen=True, slots=True)
class GivenAnswer:
    """What a person answered to one finding.

    Parameters
    ----------
    key : str
        A finding of the catalogue.
    answer : Finding.Answer or None
        None for "not looked": an answer given before is taken back.
    known : Finding.Known
        How it is known.
    note : str
        Up to 300 characters.
    photos : sequence of SentPhoto
        Photos sent along; those of an earlier answer stay with the finding.
    """

    key: str
    answer: Finding.Answer | None
    known: Finding.Known = Finding.Known.LOOKED
    note: str = ""
    photos: Sequence[SentPhoto] = ()


def write_finding(
    *,
    by: User,
    job: Job,
    key: str,
    answer: Finding.Answer,
    known: Finding.Known = Finding.Known.LOOKED,
    note: str = "",
    photos: Sequence[StoredFile] = (),
    at: datetime | None = None,
    version: int | None = None,
) -> Finding:
    """Answer one finding; a later answer corrects the earlier.

    Parameters
    ----------
    key, answer, known, note
        As of `GivenAnswer`.
    photos : sequence of StoredFile
        Photos kept beforehand, up to 12.

    Raises
    ------
    InputError
        If the key or answer is unknown, or a file is no photo.
    """
    require_shop(by)
    given = GivenAnswer(key, answer, known, note)
    with job_being_written(job, version=version) as locked:
        when = moment(at, not_before=locked.taken_in_at)
        earlier = locked.findings.standing().filter(key=key).last()
        return _written(locked, by, given, earlier, photos=photos, when=when)


def write_findings(
    *,
    by: User,
    job: Job,
    answers: Sequence[GivenAnswer],
    at: datetime | None = None,
    version: int | None = None,
) -> int:
    """Answer many findings at once; gives how many were changed.

    What is answered as before is left as it is.

    Raises
    ------
    InputError
        If one cannot be kept; then none is.
    """
    require_shop(by)
    changed = 0
    with job_being_written(job, version=version) as locked:
        when = moment(at, not_before=locked.taken_in_at)
        standing = {finding.key: finding for finding in locked.findings.standing()}
        for given in answers:
            earlier = standing.get(given.key)
            if given.answer is None:
                if earlier is not None:
                    taken_back(earlier, by, "not looked for after all", when)
                    changed += 1
            elif not _says_the_same(earlier, given):
                photos = [_kept(by, sent, when) for sent in given.photos]
                _written(locked, by, given, earlier, photos=photos, when=when)
                changed += 1
    return changed


def _written(
    job: Job,
    by: User,
    given: GivenAnswer,
    earlier: Finding | None,
    *,
    photos: Sequence[StoredFile],
    when: datetime,
) -> Finding:
    """Write one answer with its photos, those of the earlier answer first."""
    check_finding(given.key)
    if given.answer not in Finding.Answer.values or given.known not in Finding.Known.values:
        raise InputError(f"{given.key}: {given.answer!r}, {given.known!r} is no answer")
    earlier_photos = list(earlier.photos.values_list("file_id", flat=True)) if earlier else []
    if len(earlier_photos) + len(photos) > MOST_PHOTOS:
        raise InputError(f"{given.key}: up to {MOST_PHOTOS} photos a finding")
    if any(file.kind != StoredFile.Kind.PHOTO for file in photos):
        raise InputError(f"{given.key}: a file among the photos is none")
    finding = Finding.objects.create(
        job=job,
        key=given.key,
        answer=given.answer,
        known=given.known,
        note=kept_text(given.note, "the note", most=300),
        entered_by=by,
        entered_at=when,
        corrects=earlier,
        correction_reason=ANEW if earlier else "",
    )
    FindingPhoto.objects.bulk_create(
        FindingPhoto(finding=finding, file_id=pk)
        for pk in [*earlier_photos, *(file.pk for file in photos)]
    )
    return finding


def _says_the_same(earlier: Finding | None, given: GivenAnswer) -> bool:
    return (
        earlier is not None
        and not given.photos
        and (earlier.answer, earlier.known, earlier.note)
        == (given.answer, given.known, given.note.strip())
    )


def _kept(by: User, sent: SentPhoto, when: datetime) -> StoredFile:
    return store_file(
        by=by,
        kind=StoredFile.Kind.PHOTO,
        content=sent.content,
        original_name=sent.name,
        at=when,
    )
