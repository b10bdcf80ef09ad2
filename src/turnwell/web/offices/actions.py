"""Writes of offices and their chairs."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import isfinite
from zoneinfo import available_timezones

from django.db import IntegrityError, transaction

from turnwell.errors import InputError
from turnwell.web.accounts.models import User
from turnwell.web.offices.models import Chair, Office
from turnwell.web.shared.access import require_shop
from turnwell.web.shared.rows import refuse_bad_fields, refuse_if_changed

__all__ = [
    "OFFICE_FIELDS",
    "OfficeDetails",
    "add_chair",
    "add_office",
    "edit_office",
    "remove_chair",
    "rename_chair",
]

NOT_OF_THE_SHOP = "only people of the shop change offices; ask the shop to do it"

OFFICE_FIELDS = (
    "name",
    "address",
    "contact",
    "phone",
    "email",
    "time_zone",
    "altitude_m",
    "is_active",
    "note",
)
LOWEST_M, HIGHEST_M = -430.0, 6000.0


@dataclass(frozen=True, slots=True)
class OfficeDetails:
    """What is kept of an office.

    Parameters
    ----------
    name : str
        Once in the shop, upper and lower case taken as one.
    time_zone : str
        Name of the tz database: ``"Europe/Vienna"``.
    altitude_m : float or None
        Metres above sea level, -430 to 6000; what a turbine and a sterilizer gauge see hangs on it.
    """

    name: str
    time_zone: str = "UTC"
    address: str = ""
    contact: str = ""
    phone: str = ""
    email: str = ""
    altitude_m: float | None = None
    is_active: bool = True
    note: str = ""


@transaction.atomic
def add_office(*, by: User, details: OfficeDetails) -> Office:
    """Put an office on the round.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If the name is empty or taken, or the time zone or altitude is none.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    return _save_office(Office(), details)


@transaction.atomic
def edit_office(
    *, by: User, office: Office, details: OfficeDetails, seen: str | None = None
) -> Office:
    """Change what is kept of an office.

    Parameters
    ----------
    seen : str or None
        What the page showed (`snapshot_of` the office's `OFFICE_FIELDS`).

    Raises
    ------
    NotAllowedError, InputError
        As for `add_office`.
    ChangedMeanwhileError
        If the office was changed after the page was made.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    row = Office.objects.select_for_update().get(pk=office.pk)
    refuse_if_changed(row, OFFICE_FIELDS, seen)
    return _save_office(row, details)


@transaction.atomic
def add_chair(*, by: User, office: Office, name: str) -> Chair:
    """Add a treatment position to an office.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If the name is empty, too long or taken in this office.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    chair = Chair(office=office, name=_chair_name(office, name))
    chair.save()
    return chair


@transaction.atomic
def rename_chair(*, by: User, chair: Chair, name: str) -> Chair:
    """Give a chair another name; its handpieces stay with it.

    Raises
    ------
    NotAllowedError, InputError
        As for `add_chair`.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    chair.name = _chair_name(chair.office, name, but=chair)
    chair.save(update_fields=["name"])
    return chair


@transaction.atomic
def remove_chair(*, by: User, chair: Chair) -> None:
    """Remove a chair; handpieces that stood there stay with the office, without a chair.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    chair.delete()


def _save_office(row: Office, details: OfficeDetails) -> Office:
    name = " ".join(details.name.split())
    if not name:
        raise InputError("an office needs a name")
    taken = _same_name(name, Office.objects.exclude(pk=row.pk).values_list("name", flat=True))
    if taken:
        raise InputError(f"there is already an office called {taken}; give this one another name")
    _check_place(details)
    for field in OFFICE_FIELDS:
        setattr(row, field, getattr(details, field))
    row.name = name
    refuse_bad_fields(row)
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:
        raise InputError(
            f"an office called {name} was added a moment ago; open that one"
        ) from error
    return row


def _check_place(details: OfficeDetails) -> None:
    if details.time_zone not in available_timezones():
        raise InputError(
            f"time zone {details.time_zone!r} is not known; choose one such as Europe/Vienna"
        )
    altitude = details.altitude_m
    if altitude is not None and not (isfinite(altitude) and LOWEST_M <= altitude <= HIGHEST_M):
        raise InputError(
            f"altitude {altitude:g} m is not on earth; give metres from {LOWEST_M:.0f} to "
            f"{HIGHEST_M:,.0f}, or leave it empty"
        )


def _chair_name(office: Office, typed: str, but: Chair | None = None) -> str:
    name = " ".join(typed.split())
    if not name:
        raise InputError("a chair needs a name, such as 3 or Left")
    refuse_bad_fields(Chair(office=office, name=name))
    others = Chair.objects.select_for_update().filter(office=office)
    if but is not None:
        others = others.exclude(pk=but.pk)
    taken = _same_name(name, others.values_list("name", flat=True))
    if taken:
        raise InputError(f"{office} already has a chair {taken}")
    return name


def _same_name(name: str, others: Iterable[str]) -> str | None:
    """Give the name among others that a reader would take for this one."""
    folded = name.casefold()
    return next((other for other in others if " ".join(other.split()).casefold() == folded), None)
