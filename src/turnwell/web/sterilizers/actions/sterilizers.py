"""Writes of sterilizers and of the cycles they are set to."""

from dataclasses import dataclass, fields

from django.db import transaction

from turnwell.errors import InputError
from turnwell.web.accounts.models import User
from turnwell.web.offices.models import Office
from turnwell.web.shared.access import require_shop
from turnwell.web.shared.rows import refuse_bad_fields, refuse_if_changed
from turnwell.web.sterilizers.models import Plan, Sterilizer

__all__ = [
    "NOT_OF_THE_SHOP",
    "PLAN_FIELDS",
    "STERILIZER_FIELDS",
    "PlanDetails",
    "SterilizerDetails",
    "add_plan",
    "add_sterilizer",
    "edit_plan",
    "edit_sterilizer",
    "remove_plan",
]

NOT_OF_THE_SHOP = "only people of the shop write about sterilizers; ask the shop to do it"


@dataclass(frozen=True, slots=True)
class SterilizerDetails:
    """What is kept of a sterilizer.

    Parameters
    ----------
    name : str
        Once an office, upper and lower case taken as one.
    model_typed : str
        The maker's model, as it stands on the plate.
    capacity_l : float or None
        Chamber, litres, above 0 to 2,000.
    air_removal : Sterilizer.AirRemoval or ""
    temperature_bound_k, pressure_bound_kpa : float
        What its sensors are believed to within, above 0 to 20.
    """

    name: str
    model_typed: str = ""
    capacity_l: float | None = None
    air_removal: str = ""
    temperature_bound_k: float = 0.5
    pressure_bound_kpa: float = 2.0
    is_active: bool = True
    note: str = ""


@dataclass(frozen=True, slots=True)
class PlanDetails:
    """A cycle the sterilizer is set to; None where it is not known.

    Parameters
    ----------
    name : str
        As the sterilizer calls it; once a sterilizer.
    catalogue_key : str
        Row of the catalogue it was taken from; empty for own values.
    set_c : float or None
        100 to 140 °C.
    band_k : float or None
        0.1 to 20 K above it.
    hold_s, dry_s : float or None
        1 s to 2 h and to 4 h.
    drying_pressure_kpa : float or None
        What the drying should come below, absolute, above 0 to 110.
    pulses : int or None
        Air-removal pulses.
    source, basis : str
        Where the values are from, as `turnwell.measure.Limit` takes it.
    is_usual : bool
        True for the one that records are held against unless said otherwise.
    """

    name: str
    catalogue_key: str = ""
    set_c: float | None = None
    band_k: float | None = None
    hold_s: float | None = None
    dry_s: float | None = None
    drying_pressure_kpa: float | None = None
    pulses: int | None = None
    source: str = ""
    basis: str = "own"
    is_usual: bool = False


STERILIZER_FIELDS = tuple(field.name for field in fields(SterilizerDetails))
PLAN_FIELDS = tuple(field.name for field in fields(PlanDetails))
# Name, lowest, highest and unit of what a plan may hold; the database has the same bounds.
PLAN_BOUNDS = (
    ("set_c", "sterilization temperature", 100.0, 140.0, "°C"),
    ("band_k", "band", 0.1, 20.0, "K"),
    ("hold_s", "holding time", 1.0, 7200.0, "s"),
    ("dry_s", "drying time", 1.0, 14_400.0, "s"),
    ("drying_pressure_kpa", "drying pressure", 0.1, 110.0, "kPa"),
    ("pulses", "number of pulses", 0, 20, ""),
)


@transaction.atomic
def add_sterilizer(*, by: User, office: Office, details: SterilizerDetails) -> Sterilizer:
    """Put a sterilizer of an office into the book.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If the name is empty or taken in this office, or a value is out of range.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    return _save_sterilizer(Sterilizer(office=office), details)


@transaction.atomic
def edit_sterilizer(
    *, by: User, sterilizer: Sterilizer, details: SterilizerDetails, seen: str | None = None
) -> Sterilizer:
    """Change what is kept of a sterilizer; its records are held against the new bounds when read.

    Raises
    ------
    NotAllowedError, InputError
        As for `add_sterilizer`.
    ChangedMeanwhileError
        If it was changed after the page was made.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    row = Sterilizer.objects.select_for_update(of=("self",)).get(pk=sterilizer.pk)
    refuse_if_changed(row, STERILIZER_FIELDS, seen)
    return _save_sterilizer(row, details)


@transaction.atomic
def add_plan(*, by: User, sterilizer: Sterilizer, details: PlanDetails) -> Plan:
    """Write down a cycle that the sterilizer is set to.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If the name is empty or taken, nothing else is said, or a value is out of range.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    return _save_plan(Plan(sterilizer=sterilizer), details)


@transaction.atomic
def edit_plan(*, by: User, plan: Plan, details: PlanDetails, seen: str | None = None) -> Plan:
    """Change a cycle; records read before keep the plan they were held against, and say it.

    Raises
    ------
    NotAllowedError, InputError
        As for `add_plan`.
    ChangedMeanwhileError
        If it was changed after the page was made.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    row = Plan.objects.select_for_update(of=("self",)).get(pk=plan.pk)
    refuse_if_changed(row, PLAN_FIELDS, seen)
    return _save_plan(row, details)


@transaction.atomic
def remove_plan(*, by: User, plan: Plan) -> None:
    """Remove a cycle; what was read against it stays as it is.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    plan.delete()


def _save_sterilizer(row: Sterilizer, details: SterilizerDetails) -> Sterilizer:
    others = Sterilizer.objects.filter(office=row.office_id).exclude(pk=row.pk)
    name = _free_name(details.name, list(others.values_list("name", flat=True)), "a sterilizer")
    for field in STERILIZER_FIELDS:
        setattr(row, field, getattr(details, field))
    row.name = name
    for what, value, high, unit in (
        ("capacity", row.capacity_l, 2000.0, "litres"),
        ("bound of the temperature sensor", row.temperature_bound_k, 20.0, "K"),
        ("bound of the pressure sensor", row.pressure_bound_kpa, 20.0, "kPa"),
    ):
        if value is not None and not 0.0 < value <= high:
            raise InputError(
                f"the {what} is {value:g} {unit}; it must be above 0, at most {high:,g}"
            )
    refuse_bad_fields(row)
    row.save()
    return row


def _save_plan(row: Plan, details: PlanDetails) -> Plan:
    others = Plan.objects.filter(sterilizer=row.sterilizer_id).exclude(pk=row.pk)
    name = _free_name(details.name, list(others.values_list("name", flat=True)), "a cycle")
    for field, what, low, high, unit in PLAN_BOUNDS:
        value = getattr(details, field)
        if value is not None and not low <= value <= high:
            raise InputError(
                f"the {what} is {value:g} {unit}; it must lie between {low:g} and {high:,g}"
            )
    if all(getattr(details, field) is None for field, *_ in PLAN_BOUNDS):
        raise InputError(
            "nothing is said of this cycle; give its drying time at least, or take it from the "
            "catalogue"
        )
    for field in PLAN_FIELDS:
        setattr(row, field, getattr(details, field))
    row.name = name
    if row.is_usual:
        others.filter(is_usual=True).update(is_usual=False)
    refuse_bad_fields(row)
    row.save()
    return row


def _free_name(typed: str, others: list[str], what: str) -> str:
    """Give a name with single spaces that none of the others has, or refuse."""
    name = " ".join(typed.split())
    if not name:
        raise InputError(f"{what} needs a name")
    if any(other.casefold() == name.casefold() for other in others):
        raise InputError(f"there is already {what} called {name}; choose another name")
    return name
