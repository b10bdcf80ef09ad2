"""Days by an office's clock as moments."""

from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from turnwell.web.lives.records.tables import UNKNOWN, Whole
from turnwell.web.shared.times import zone_of

__all__ = ["DAY_S", "YEAR_DAYS", "YEAR_S", "day_start_s", "starts_of_days"]

DAY_S = 86_400
YEAR_DAYS = 365.25
YEAR_S = YEAR_DAYS * DAY_S
FIRST = date(1970, 1, 1)


@lru_cache(maxsize=200_000)
def day_start_s(day: int, zone: str) -> int:
    """Give the moment a day begins on the wall of a zone.

    Parameters
    ----------
    day : int
        Days from 1970-01-01.
    zone : str
        Name of the tz database.

    Examples
    --------
    >>> day_start_s(20_000, "Europe/Vienna") - 20_000 * 86_400
    -7200
    """
    return _start(FIRST + timedelta(days=day), zone_of(zone))


def _start(day: date, zone: ZoneInfo) -> int:
    return int(datetime(day.year, day.month, day.day, tzinfo=zone).astimezone(UTC).timestamp())


def starts_of_days(days: Whole, zones: NDArray[np.int16], names: list[str]) -> Whole:
    """Give the moment each day begins in its own zone; `UNKNOWN` stays."""
    starts = np.full(days.shape, UNKNOWN, dtype=np.int64)
    for place in np.unique(zones):
        rows = np.flatnonzero((zones == place) & (days != UNKNOWN))
        found, back = np.unique(days[rows], return_inverse=True)
        moments = [day_start_s(day, names[place]) for day in found.tolist()]
        starts[rows] = np.array(moments, dtype=np.int64)[back]
    return starts
