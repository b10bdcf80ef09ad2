"""Times are kept in UTC; here they become the clock on a wall."""

from datetime import date, datetime
from functools import cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from django.utils import timezone

from turnwell.errors import InputError

__all__ = ["day_shown", "shown_in_zone", "today_in_zone", "zone_choices", "zone_of"]


def zone_of(name: str) -> ZoneInfo:
    """Give the time zone of a name such as ``"Europe/Berlin"``.

    Raises
    ------
    InputError
        If no zone has that name.
    """
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise InputError(
            f"time zone is {name!r}, must be one of the list, such as Europe/Berlin"
        ) from error


def shown_in_zone(moment: datetime, zone: str) -> datetime:
    """Give a stored moment as the clock of a zone shows it.

    Parameters
    ----------
    moment : datetime
        With its own zone, as stored.
    zone : str
        Name of the zone, mostly an office's.

    Examples
    --------
    >>> from datetime import UTC
    >>> shown_in_zone(datetime(2026, 7, 1, 12, 0, tzinfo=UTC), "Europe/Berlin").hour
    14
    """
    return timezone.localtime(moment, zone_of(zone))


def today_in_zone(zone: str, now: datetime | None = None) -> date:
    """Give the date on the wall of a zone, now or at the moment given.

    >>> from datetime import UTC
    >>> today_in_zone("Pacific/Auckland", datetime(2026, 7, 1, 13, 0, tzinfo=UTC)).isoformat()
    '2026-07-02'
    """
    return shown_in_zone(now or timezone.now(), zone).date()


def day_shown(day: date) -> str:
    r"""Give a day as all pages write it, in one piece.

    >>> day_shown(date(2026, 10, 31)).replace("\u00a0", " ")
    '31 Oct 2026'
    """
    return f"{day.day}\u00a0{day:%b}\u00a0{day.year}"


@cache
def zone_choices() -> tuple[tuple[str, str], ...]:
    """Give the zones a person may choose, UTC first, as pairs for a form."""
    places = sorted(name for name in available_timezones() if _is_place(name))
    return (("UTC", "UTC"), *((name, name.replace("_", " ")) for name in places))


def _is_place(name: str) -> bool:
    continent, _, city = name.partition("/")
    return bool(city) and continent not in {"Etc", "SystemV", "US", "posix", "right"}
