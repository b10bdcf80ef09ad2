"""From a sterilizer's own clock to the moment it stands for."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from turnwell.web.shared.times import zone_of
from turnwell.web.sterilizers.models import ClockSetting, Sterilizer

__all__ = ["first_day_shown", "moment_of", "settings_of"]


def first_day_shown(sterilizer: Sterilizer) -> date | None:
    """Give the day of the first record by the sterilizer's own clock; None without one."""
    shown = sterilizer.records.standing().exclude(clock_shown="").order_by("clock_shown")
    first = shown.values_list("clock_shown", flat=True).first()
    return None if first is None else datetime.fromisoformat(first).date()


def settings_of(sterilizer: Sterilizer) -> list[ClockSetting]:
    """Give the clock settings that hold, the latest first."""
    return list(sterilizer.clocks.standing().order_by("-from_day", "-pk"))


def moment_of(clock_shown: str, zone: str, settings: Iterable[ClockSetting]) -> datetime | None:
    """Give the moment at which the sterilizer's clock showed a time; None where it showed none.

    Parameters
    ----------
    clock_shown : str
        ISO date and time without zone, as the record has it.
    zone : str
        Of the office: its wall clock is what the sterilizer's clock is compared with.
    settings : iterable of ClockSetting
        Latest first; the first from that day or before holds.

    Notes
    -----
    In the hour that the end of summer time repeats the first passing is taken: the record does not
    say which.
    """
    if not clock_shown:
        return None
    shown = datetime.fromisoformat(clock_shown)
    ahead = next((row.minutes_ahead for row in settings if row.from_day <= shown.date()), 0.0)
    try:
        wall = shown.replace(tzinfo=None) - timedelta(minutes=ahead)
    except OverflowError:
        return None
    return wall.replace(tzinfo=zone_of(zone))
