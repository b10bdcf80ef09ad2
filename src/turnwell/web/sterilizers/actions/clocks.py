"""Writes of a sterilizer's clock, and of the moments that hang on it."""

from dataclasses import dataclass
from datetime import date, datetime
from math import isfinite

from django.db import transaction
from django.utils import timezone

from turnwell.errors import InputError
from turnwell.web.accounts.models import User
from turnwell.web.shared.access import require_shop
from turnwell.web.sterilizers.actions.sterilizers import NOT_OF_THE_SHOP
from turnwell.web.sterilizers.clock import moment_of, settings_of
from turnwell.web.sterilizers.models import ClockSetting, Sterilizer

__all__ = ["ClockSet", "set_clock"]

MOST_AHEAD_MIN = 1_000_000.0
ROWS_AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class ClockSet:
    """A setting that was written, and how many records moved on the time line with it."""

    setting: ClockSetting
    moved: int


@transaction.atomic
def set_clock(
    *,
    by: User,
    sterilizer: Sterilizer,
    minutes_ahead: float,
    from_day: date,
    at: datetime | None = None,
) -> ClockSet:
    """Write down how far the sterilizer's clock is ahead; its records move on the time line.

    Parameters
    ----------
    minutes_ahead : float
        Positive where it shows a later time than the wall clock of the office.
    from_day : date
        The first day of the sterilizer's clock that this holds for. A setting of the same day is
        corrected by this one.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If the minutes are no number a clock can be off by.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    if not (isfinite(minutes_ahead) and abs(minutes_ahead) <= MOST_AHEAD_MIN):
        raise InputError(
            f"{minutes_ahead:g} minutes cannot be; give the difference, at most "
            f"{MOST_AHEAD_MIN:,.0f} minutes"
        )
    before = sterilizer.clocks.standing().filter(from_day=from_day).first()
    setting = ClockSetting.objects.create(
        sterilizer=sterilizer,
        minutes_ahead=minutes_ahead,
        from_day=from_day,
        entered_by=by,
        entered_at=at or timezone.now(),
        corrects=before,
        correction_reason="set again" if before else "",
    )
    return ClockSet(setting, moved=_move_records(sterilizer))


def _move_records(sterilizer: Sterilizer) -> int:
    """Work out again when each run began; give how many moved."""
    settings, zone = settings_of(sterilizer), sterilizer.office.time_zone
    rows = list(sterilizer.records.exclude(clock_shown="").light())
    moved = []
    for row in rows:
        began = moment_of(row.clock_shown, zone, settings)
        if began != row.started_at:
            row.started_at = began
            moved.append(row)
    sterilizer.records.bulk_update(moved, ["started_at"], batch_size=ROWS_AT_ONCE)
    return len(moved)
