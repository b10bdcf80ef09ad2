"""Writes of visits; a visit is an entry, so a wrong one is corrected by a new one."""

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils import timezone

from turnwell.errors import ChangedMeanwhileError, InputError
from turnwell.web.accounts.models import User
from turnwell.web.offices.models import Office
from turnwell.web.shared.access import require_shop
from turnwell.web.shared.entries import taking_back
from turnwell.web.shared.rows import refuse_bad_fields
from turnwell.web.visits.models import Visit

__all__ = ["VisitDetails", "add_visit", "correct_visit", "take_back_visit"]

NOT_OF_THE_SHOP = "only people of the shop write down visits"

EARLIEST = date(1950, 1, 1)


@dataclass(frozen=True, slots=True)
class VisitDetails:
    """What is kept of a call at an office.

    Parameters
    ----------
    visited_on : date
        Day in the office's own time zone; not in the future.
    why : str
        Reason, in a few words.
    was_training : bool
        True where its people were taught.
    note : str
        More words; no patient data.
    """

    visited_on: date
    why: str
    was_training: bool = False
    note: str = ""


@transaction.atomic
def add_visit(
    *, by: User, office: Office, details: VisitDetails, at: datetime | None = None
) -> Visit:
    """Write down a visit.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If the reason is empty, or the day lies in the future or before 1950.
    """
    return _write(by, office, details, at or timezone.now(), corrects=None, reason="")


@transaction.atomic
def correct_visit(
    *, by: User, visit: Visit, details: VisitDetails, reason: str, at: datetime | None = None
) -> Visit:
    """Write a visit anew in place of a wrong entry; the old one stays on record.

    Raises
    ------
    NotAllowedError, InputError
        As for `add_visit`, and if the correction has no reason.
    ChangedMeanwhileError
        If the entry was corrected already.
    """
    _refuse_corrected(visit, reason)
    return _write(by, visit.office, details, at or timezone.now(), corrects=visit, reason=reason)


@transaction.atomic
def take_back_visit(*, by: User, visit: Visit, reason: str, at: datetime | None = None) -> Visit:
    """Take back a visit that did not happen; it stays on record, crossed out.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If there is no reason.
    ChangedMeanwhileError
        If the entry was corrected already.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    _refuse_corrected(visit, reason)
    return _save(taking_back(visit, by=by, reason=reason, at=at))


def _write(
    by: User,
    office: Office,
    details: VisitDetails,
    at: datetime,
    *,
    corrects: Visit | None,
    reason: str,
) -> Visit:
    require_shop(by, NOT_OF_THE_SHOP)
    if not details.why.strip():
        raise InputError("say in a few words why the visit was made")
    today = at.astimezone(ZoneInfo(office.time_zone)).date()
    if details.visited_on > today:
        raise InputError(
            f"{details.visited_on:%Y-%m-%d} is in the future; a visit is written down once it was "
            "made"
        )
    if details.visited_on < EARLIEST:
        raise InputError(f"{details.visited_on:%Y-%m-%d} is too long ago for a visit; check it")
    return _save(
        Visit(
            office=office,
            visited_on=details.visited_on,
            why=details.why.strip(),
            was_training=details.was_training,
            note=details.note.strip(),
            entered_by=by,
            entered_at=at,
            corrects=corrects,
            correction_reason=reason.strip(),
        )
    )


def _save(visit: Visit) -> Visit:
    refuse_bad_fields(visit)
    visit.save()
    return visit


def _refuse_corrected(visit: Visit, reason: str) -> None:
    if not reason.strip():
        raise InputError("say in a few words what was wrong with the entry")
    if visit.is_taken_back or Visit.objects.filter(corrects=visit).exists():
        raise ChangedMeanwhileError(
            f"the visit of {visit.visited_on:%Y-%m-%d} was corrected already; open the entry that "
            "stands now"
        )
