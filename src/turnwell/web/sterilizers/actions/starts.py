"""Writes of when a run began, where its record shows no day."""

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from turnwell.errors import InputError
from turnwell.web.accounts.models import User
from turnwell.web.shared.access import require_shop
from turnwell.web.shared.times import zone_of
from turnwell.web.sterilizers.actions.records import refuse_overtaken
from turnwell.web.sterilizers.actions.sterilizers import NOT_OF_THE_SHOP
from turnwell.web.sterilizers.models import CycleRecord, StartEntry

__all__ = ["write_start"]

EARLIEST_YEAR = 1990


@transaction.atomic
def write_start(
    *, by: User, record: CycleRecord, wall: datetime, at: datetime | None = None
) -> StartEntry:
    """Write down when a run began; from then on it stands on the time line.

    An earlier entry is corrected by this one and stays on record.

    Parameters
    ----------
    wall : datetime
        Day and time by the office's clock, without zone.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If the record shows its own day and time, or the moment cannot be.
    ChangedMeanwhileError
        If the record was taken back.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    at = at or timezone.now()
    refuse_overtaken(record)
    kept = CycleRecord.objects.select_for_update(of=("self",)).get(pk=record.pk)
    if kept.clock_shown:
        raise InputError("the record shows its own day and time; where they are off, set the clock")
    began_at = wall.replace(tzinfo=zone_of(record.sterilizer.office.time_zone))
    if began_at > at:
        raise InputError(f"{wall:%Y-%m-%d %H:%M} is in the future; give the day and time it began")
    if wall.year < EARLIEST_YEAR:
        raise InputError(f"{wall:%Y-%m-%d} is too long ago; check the year")
    before = kept.starts.standing().first()
    entry = StartEntry.objects.create(
        record=kept,
        began_at=began_at,
        entered_by=by,
        entered_at=at,
        corrects=before,
        correction_reason="written anew" if before else "",
    )
    kept.started_at = began_at
    kept.save(update_fields=["started_at"])
    return entry
