"""Everything that is written about the shop: its settings, its instruments and their checks."""

from dataclasses import asdict, dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db import IntegrityError, transaction
from django.utils import timezone

from turnwell.errors import InputError, NotAllowedError
from turnwell.web.accounts.models import User
from turnwell.web.shared.access import require_shop
from turnwell.web.shared.entries import taking_back
from turnwell.web.shared.rows import refuse_bad_fields, refuse_if_changed
from turnwell.web.shared.times import today_in_zone, zone_of
from turnwell.web.shop.models import Instrument, InstrumentCheck, Shop
from turnwell.web.shop.queries import the_shop

__all__ = [
    "INSTRUMENT_FIELDS",
    "SHOP_FIELDS",
    "InstrumentDetails",
    "ShopDetails",
    "add_instrument",
    "change_instrument",
    "check_instrument",
    "save_shop",
    "take_back_check",
]

NOT_OF_THE_SHOP = "Only people of the shop may change its instruments."


@dataclass(frozen=True, slots=True)
class ShopDetails:
    """What the shop's page edits; as the fields of `Shop`."""

    name: str
    address: str
    phone: str
    email: str
    time_zone: str
    pressure_unit: str
    temperature_unit: str
    length_unit: str
    paper_size: str
    currency: str
    tax_name: str
    tax_percent: Decimal
    tax_rounding: str


@dataclass(frozen=True, slots=True)
class InstrumentDetails:
    """What an instrument's page edits; as the fields of `Instrument`."""

    name: str
    kind: str
    serial: str = ""
    unit: str = ""
    resolution: float | None = None
    stated_error: float | None = None
    is_retired: bool = False


SHOP_FIELDS = tuple(ShopDetails.__dataclass_fields__)
INSTRUMENT_FIELDS = tuple(InstrumentDetails.__dataclass_fields__)


def save_shop(*, by: User, details: ShopDetails, seen: str | None = None) -> Shop:
    """Save the shop's settings.

    Parameters
    ----------
    seen : str or None
        What `snapshot_of` gave when the page was made.

    Raises
    ------
    NotAllowedError
        If `by` is not the owner.
    InputError
        If a field is wrong.
    ChangedMeanwhileError
        If somebody saved since the page was made.
    """
    if not by.is_owner:
        raise NotAllowedError("Only the owner may change the shop's settings.")
    zone_of(details.time_zone)
    with transaction.atomic():
        shop = the_shop()
        refuse_if_changed(shop, SHOP_FIELDS, seen)
        for field, value in asdict(details).items():
            setattr(shop, field, value)
        refuse_bad_fields(shop)
        shop.save()
    return shop


def add_instrument(*, by: User, details: InstrumentDetails) -> Instrument:
    """Put an instrument on the bench.

    Raises
    ------
    NotAllowedError
        If `by` is not of the shop.
    InputError
        If a field is wrong or the name is taken.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    return _saved(Instrument(), details)


def change_instrument(
    *, by: User, instrument: Instrument, details: InstrumentDetails, seen: str | None = None
) -> Instrument:
    """Change an instrument; readings already taken are kept as they were computed.

    Raises
    ------
    NotAllowedError, InputError, ChangedMeanwhileError
        As for `add_instrument` and `save_shop`.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    with transaction.atomic():
        row = Instrument.objects.select_for_update().get(pk=instrument.pk)
        refuse_if_changed(row, INSTRUMENT_FIELDS, seen)
        return _saved(row, details)


def check_instrument(
    *,
    by: User,
    instrument: Instrument,
    checked_on: date,
    due_on: date | None = None,
    note: str = "",
    at: datetime | None = None,
) -> InstrumentCheck:
    """Write down that an instrument was checked, and when it is due again.

    Raises
    ------
    NotAllowedError
        If `by` is not of the shop.
    InputError
        If it was checked in the future, or is due before it was checked.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    now = at or timezone.now()
    if checked_on > today_in_zone(the_shop().time_zone, now):
        raise InputError(f"{checked_on:%d %B %Y} is in the future; give the day it was checked.")
    if due_on is not None and due_on <= checked_on:
        raise InputError("The next check must fall due after this one; give a later day.")
    check = InstrumentCheck(
        instrument=instrument,
        checked_on=checked_on,
        due_on=due_on,
        note=note,
        entered_by=by,
        entered_at=now,
    )
    refuse_bad_fields(check)
    check.save()
    return check


def take_back_check(
    *, by: User, check: InstrumentCheck, reason: str, at: datetime | None = None
) -> InstrumentCheck:
    """Take a wrong check back by an entry that names it; the old one stays on file.

    Raises
    ------
    NotAllowedError
        If `by` is not of the shop.
    InputError
        If there is no reason, or it was taken back already.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    if not reason.strip():
        raise InputError("Say why the check is taken back.")
    entry = taking_back(check, by=by, reason=reason, at=at)
    refuse_bad_fields(entry)
    try:
        with transaction.atomic():
            if check.is_taken_back or InstrumentCheck.objects.filter(corrects=check).exists():
                raise InputError("This check was taken back already.")
            entry.save()
    except IntegrityError as error:
        raise InputError("This check was taken back already.") from error
    return entry


def _saved(row: Instrument, details: InstrumentDetails) -> Instrument:
    for field, value in asdict(details).items():
        setattr(row, field, value)
    refuse_bad_fields(row)
    taken = f"An instrument named “{row.name}” is on the bench already; choose another name."
    try:
        with transaction.atomic():
            if Instrument.objects.filter(name__iexact=row.name).exclude(pk=row.pk).exists():
                raise InputError(taken)
            row.save()
    except IntegrityError as error:
        raise InputError(taken) from error
    return row
