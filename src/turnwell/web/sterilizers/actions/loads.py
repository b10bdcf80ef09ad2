"""Writes of what lay in the sterilizer."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from turnwell.catalogue import load as catalogue
from turnwell.errors import InputError
from turnwell.web.accounts.models import User
from turnwell.web.shared.access import require_shop
from turnwell.web.shared.rows import refuse_bad_fields
from turnwell.web.sterilizers.actions.records import refuse_overtaken, reviewed
from turnwell.web.sterilizers.actions.sterilizers import NOT_OF_THE_SHOP
from turnwell.web.sterilizers.models import CycleRecord, Load

__all__ = ["LoadDetails", "write_load"]

MOST_OF_A_KIND = 200
MOST_WATER_G = 2000.0


@dataclass(frozen=True, slots=True)
class LoadDetails:
    """What lay in the sterilizer.

    Parameters
    ----------
    counts : mapping of str to int
        Handpieces by class.
    pouches, trays : int or None
        None where nobody knows.
    water_before_g : float or None
        Water left in and on the things when the door was shut, grams.
    note : str
        No patient data.
    """

    counts: Mapping[str, int] = field(default_factory=dict)
    pouches: int | None = None
    trays: int | None = None
    water_before_g: float | None = None
    note: str = ""


def write_load(
    *, by: User, record: CycleRecord, details: LoadDetails, at: datetime | None = None
) -> Load:
    """Write down what the load of a run was, and work out its water.

    An earlier entry is corrected by this one and stays on record.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If nothing is said, a class is not in the catalogue, or a number is out of range.
    ChangedMeanwhileError
        If the record was taken back.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    _check(details)
    with transaction.atomic():
        refuse_overtaken(record)
        before = record.loads.standing().first()
        entry = Load(
            record=record,
            counts={key: count for key, count in details.counts.items() if count},
            pouches=details.pouches,
            trays=details.trays,
            water_before_g=details.water_before_g,
            note=details.note.strip(),
            entered_by=by,
            entered_at=at or timezone.now(),
            corrects=before,
            correction_reason="written anew" if before else "",
        )
        refuse_bad_fields(entry)
        entry.save()
    reviewed(record)
    return entry


def _check(details: LoadDetails) -> None:
    numbers = [*details.counts.values(), details.pouches, details.trays]
    if not any(numbers):
        raise InputError("say what lay in the sterilizer: handpieces, pouches or trays")
    unknown = sorted(set(details.counts) - set(catalogue().classes))
    if unknown:
        raise InputError(f"there is no handpiece class {unknown[0]}; choose one of the list")
    for number in numbers:
        if number is not None and not 0 <= number <= MOST_OF_A_KIND:
            raise InputError(f"{number} of a kind cannot be; give 0 to {MOST_OF_A_KIND}")
    water_g = details.water_before_g
    if water_g is not None and not 0.0 <= water_g <= MOST_WATER_G:
        raise InputError(f"{water_g:g} g of water cannot be; give 0 to {MOST_WATER_G:,.0f} g")
