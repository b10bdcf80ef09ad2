"""Writes of handpieces."""

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db import IntegrityError, transaction
from django.utils import timezone

from turnwell.catalogue import load
from turnwell.errors import InputError, StageError
from turnwell.web.accounts.models import User
from turnwell.web.handpieces.models import Handpiece, HandpieceModel
from turnwell.web.offices.models import Chair, Office
from turnwell.web.shared.access import require_shop
from turnwell.web.shared.codes import new_code
from turnwell.web.shared.rows import refuse_bad_fields, refuse_if_changed

__all__ = [
    "HANDPIECE_FIELDS",
    "HandpieceDetails",
    "SerialTakenError",
    "add_handpiece",
    "edit_handpiece",
    "put_back_in_use",
    "retire_handpiece",
]

NOT_OF_THE_SHOP = "only people of the shop change handpieces; ask the shop to do it"

HANDPIECE_FIELDS = (
    "class_key",
    "model",
    "serial",
    "office",
    "chair",
    "in_service_since",
    "known_cycles",
    "known_cycles_on",
    "is_loan",
    "note",
)
EARLIEST = date(1950, 1, 1)
MOST_CYCLES = 200_000
CODE_TRIES = 5


class SerialTakenError(InputError):
    """A handpiece of this class and serial is in the book already.

    Parameters
    ----------
    existing : Handpiece
        The one that has it.
    """

    def __init__(self, existing: Handpiece) -> None:
        self.existing = existing
        super().__init__(
            f"serial {existing.serial} of this class is in the book already: {existing.code}, "
            f"{existing.office}. Open that one, or check the serial"
        )


@dataclass(frozen=True, slots=True)
class HandpieceDetails:
    """What is kept of a handpiece.

    Parameters
    ----------
    class_key : str
        Key of a class of the catalogue.
    office : Office
        Whose it is; for a loan, where it is.
    model : HandpieceModel or None
        One of the shop's own models, of the same class.
    serial : str
        As engraved; empty where it cannot be read. Once a class, spaces and case set aside.
    chair : Chair or None
        One of the office's.
    in_service_since, known_cycles_on : date or None
        Not in the future, the count not before it went into service.
    known_cycles : int or None
        Care cycles counted up to `known_cycles_on`.
    """

    class_key: str
    office: Office
    model: HandpieceModel | None = None
    serial: str = ""
    chair: Chair | None = None
    in_service_since: date | None = None
    known_cycles: int | None = None
    known_cycles_on: date | None = None
    is_loan: bool = False
    note: str = ""


@transaction.atomic
def add_handpiece(
    *,
    by: User,
    details: HandpieceDetails,
    at: datetime | None = None,
    code: str | None = None,
) -> Handpiece:
    """Put a handpiece in the book and give it its code.

    Parameters
    ----------
    code : str or None
        Code of a label that is printed already; a new one when None.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    SerialTakenError
        If the serial is taken in this class.
    InputError
        If another value is wrong.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    return _save(Handpiece(code=code or _free_code()), details, at or timezone.now())


@transaction.atomic
def edit_handpiece(
    *,
    by: User,
    handpiece: Handpiece,
    details: HandpieceDetails,
    seen: str | None = None,
    at: datetime | None = None,
) -> Handpiece:
    """Change what is kept of a handpiece.

    Parameters
    ----------
    seen : str or None
        What the page showed (`snapshot_of` its `HANDPIECE_FIELDS`).

    Raises
    ------
    NotAllowedError, SerialTakenError, InputError
        As for `add_handpiece`.
    ChangedMeanwhileError
        If it was changed after the page was made.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    row = Handpiece.objects.select_for_update().get(pk=handpiece.pk)
    refuse_if_changed(row, HANDPIECE_FIELDS, seen)
    return _save(row, details, at or timezone.now())


@transaction.atomic
def retire_handpiece(
    *, by: User, handpiece: Handpiece, on: date, at: datetime | None = None
) -> Handpiece:
    """Take a handpiece out of use for good; its history stays.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    StageError
        If it lies on the bench.
    InputError
        If the day is in the future or before it went into service.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    row = Handpiece.objects.select_for_update(of=("self",)).get(pk=handpiece.pk)
    open_job = row.jobs.filter(ended_at__isnull=True).first()
    if open_job is not None:
        raise StageError(f"job {open_job} is open; hand the handpiece back before retiring it")
    _check_day(on, "the day it was retired", row.office, at or timezone.now())
    if row.in_service_since is not None and on < row.in_service_since:
        raise InputError("it cannot be retired before it went into service; check both days")
    row.retired_on = on
    row.save(update_fields=["retired_on"])
    return row


@transaction.atomic
def put_back_in_use(*, by: User, handpiece: Handpiece) -> Handpiece:
    """Put a retired handpiece back in use.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    row = Handpiece.objects.select_for_update().get(pk=handpiece.pk)
    row.retired_on = None
    row.save(update_fields=["retired_on"])
    return row


def _free_code() -> str:
    for _ in range(CODE_TRIES):
        code = new_code("H")
        if not Handpiece.objects.filter(code=code).exists():
            return code
    raise InputError("no free code was found for the handpiece; save once more")


def _save(row: Handpiece, details: HandpieceDetails, at: datetime) -> Handpiece:
    _check_kind(details)
    _check_serial(details.serial)
    _check_days(details, row, at)
    for field in HANDPIECE_FIELDS:
        setattr(row, field, getattr(details, field))
    row.serial = details.serial.strip()
    taken = _same_serial(row)
    if taken is not None:
        raise SerialTakenError(taken)
    refuse_bad_fields(row)
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:
        taken = _same_serial(row)
        if taken is None:
            raise
        raise SerialTakenError(taken) from error
    return row


def _check_kind(details: HandpieceDetails) -> None:
    if details.class_key not in load().classes:
        raise InputError(f"handpiece class {details.class_key!r} is not in the catalogue")
    if details.model is not None and details.model.class_key != details.class_key:
        raise InputError(
            f"model {details.model} is of another class; choose its class or another model"
        )
    if details.chair is not None and details.chair.office_id != details.office.pk:
        raise InputError(f"chair {details.chair} is not one of {details.office}; choose again")


def _check_serial(serial: str) -> None:
    longest = Handpiece._meta.get_field("serial_folded").max_length or 0
    if len(serial.strip()) > longest or len(Handpiece.folded(serial)) > longest:
        raise InputError(f"the serial has more than {longest} characters; check it")


def _check_days(details: HandpieceDetails, row: Handpiece, at: datetime) -> None:
    since, cycles, on = details.in_service_since, details.known_cycles, details.known_cycles_on
    if since is not None:
        _check_day(since, "the day it went into service", details.office, at)
        if row.retired_on is not None and since > row.retired_on:
            raise InputError("it cannot go into service after it was retired; check both days")
    if (cycles is None) != (on is None):
        raise InputError("a cycle count needs the count and the day it was made; give both or none")
    if cycles is None or on is None:
        return
    if not 0 <= cycles <= MOST_CYCLES:
        raise InputError(f"{cycles:,} cycles is not a count of one handpiece; check it")
    _check_day(on, "the day of the count", details.office, at)
    if since is not None and on < since:
        raise InputError("the cycles were counted before it went into service; check both days")


def _check_day(day: date, what: str, office: Office, at: datetime) -> None:
    if day > at.astimezone(ZoneInfo(office.time_zone)).date():
        raise InputError(f"{what}, {day:%Y-%m-%d}, is in the future; check it")
    if day < EARLIEST:
        raise InputError(f"{what}, {day:%Y-%m-%d}, is too long ago; check it")


def _same_serial(row: Handpiece) -> Handpiece | None:
    folded = Handpiece.folded(row.serial)
    if not folded:
        return None
    same = Handpiece.objects.filter(class_key=row.class_key, serial_folded=folded)
    return same.exclude(pk=row.pk).select_related("office").first()
