"""Writes of feed-water values."""

from collections.abc import Mapping
from datetime import date, datetime
from math import isfinite

from django.db import transaction
from django.utils import timezone

from turnwell.errors import ChangedMeanwhileError, InputError
from turnwell.web.accounts.models import User
from turnwell.web.shared.access import require_shop
from turnwell.web.shared.entries import taking_back
from turnwell.web.shared.rows import refuse_bad_fields
from turnwell.web.shared.times import today_in_zone
from turnwell.web.sterilizers.actions.sterilizers import NOT_OF_THE_SHOP
from turnwell.web.sterilizers.analysis.feed_water import USUAL_BOUND_PERCENT, water_limits
from turnwell.web.sterilizers.models import FeedWater, Sterilizer

__all__ = ["add_feed_water", "take_back_feed_water"]


@transaction.atomic
def add_feed_water(
    *,
    by: User,
    sterilizer: Sterilizer,
    sampled_on: date,
    values: Mapping[str, float],
    how: str = "",
    bound_percent: float = USUAL_BOUND_PERCENT,
    at: datetime | None = None,
) -> FeedWater:
    """Write down values of the feed water.

    Parameters
    ----------
    values : mapping of str to float
        By the catalogue's keys and in its units.
    how : str
        How they were measured.
    bound_percent : float
        What they are believed to within, of each value, above 0 to 100; pH goes by its own.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If there is no value, one is not known or no number, or the day lies in the future.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    at = at or timezone.now()
    if not values:
        raise InputError("give one value of the water at least")
    unknown = sorted(set(values) - set(water_limits()))
    if unknown:
        raise InputError(f"{unknown[0]} is no value of feed water that is held against a limit")
    for key, value in values.items():
        if not isfinite(value) or value < 0.0:
            raise InputError(f"{key} is {value:g}, must be a number from 0")
    if not 0.0 < bound_percent <= 100.0:
        raise InputError(f"± {bound_percent:g} % cannot be; give above 0 to 100 %")
    if sampled_on > today_in_zone(sterilizer.office.time_zone, at):
        raise InputError(f"{sampled_on:%Y-%m-%d} is in the future; give the day of the sample")
    entry = FeedWater(
        sterilizer=sterilizer,
        sampled_on=sampled_on,
        values=dict(values),
        how=how.strip(),
        bound_percent=bound_percent,
        entered_by=by,
        entered_at=at,
    )
    refuse_bad_fields(entry)
    entry.save()
    return entry


@transaction.atomic
def take_back_feed_water(
    *, by: User, entry: FeedWater, reason: str, at: datetime | None = None
) -> FeedWater:
    """Take back values that were wrong; they stay on record, crossed out.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If there is no reason.
    ChangedMeanwhileError
        If they were taken back already.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    if not reason.strip():
        raise InputError("say in a few words what was wrong with the values")
    if entry.is_taken_back or FeedWater.objects.filter(corrects=entry).exists():
        raise ChangedMeanwhileError("these values were taken back already; load the page again")
    gone = taking_back(entry, by=by, reason=reason, at=at)
    refuse_bad_fields(gone)
    gone.save()
    return gone
