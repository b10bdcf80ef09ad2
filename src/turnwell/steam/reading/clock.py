"""Seconds of a column of clock times, with dates or without, in any order of day and month."""

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.reading.cells import CLOCK, DATE

__all__ = ["Clock", "clock_of", "day_of", "two_field_unit"]

DAY_S = 86_400.0
# Of a run, in seconds.
SHORTEST_RUN, LONGEST_RUN = 240.0, 13_000.0
_CELL = re.compile(rf"^\s*(?:{DATE}[T ,]*)?(?:{CLOCK})?\s*$", re.MULTILINE)
_PLAIN = re.compile(r"\d\d:\d\d:\d\d")
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
OTHER_MONTHS = {"mrz": 3, "mai": 5, "okt": 10, "dez": 12, "avr": 4, "fev": 2, "abr": 4, "ago": 8}


@dataclass(frozen=True, slots=True, eq=False)
class Clock:
    """Times as they were written.

    Parameters
    ----------
    time_s : array, shape (n,)
        Rising over midnight; NaN where a cell is no time.
    started_at : datetime or None
        The first, where its date can be told.
    unit : str
        ``"clock"`` or ``"mm:ss"``.
    date_order : str or None
    """

    time_s: NDArray[np.float64]
    started_at: datetime | None
    unit: str
    date_order: str | None


def clock_of(
    cells: tuple[str, ...],
    dates: tuple[str, ...] | None = None,
    *,
    unit: str | None = None,
    date_order: str | None = None,
) -> Clock:
    """Read clock times.

    Parameters
    ----------
    cells : tuple of str
    dates : tuple of str or None
        The column of dates, where it is one of its own.
    unit, date_order : str or None
        Where they are known.

    Examples
    --------
    >>> clock_of(("23:59:58", "00:00:03")).time_s.tolist()
    [86398.0, 86403.0]
    """
    quick = _plain_clock(cells) if dates is None else None
    if quick is not None and unit in {None, "clock"}:
        return Clock(_over_midnight(quick), None, "clock", None)
    found = [_CELL.match(cell) for cell in cells]
    parts = [match.groups() if match and match.group(4) else None for match in found]
    if dates is not None:
        day_parts = [match.groups()[:3] if match else None for match in map(_CELL.match, dates)]
    else:
        day_parts = [None if part is None or part[0] is None else part[:3] for part in parts]
    fields = np.array([_fields(part) for part in parts])
    has_seconds = any(part is not None and part[5] is not None for part in parts)
    unit = unit or ("clock" if has_seconds else two_field_unit(cells) or "clock")
    if unit == "mm:ss":
        minutes = 60.0 * fields[:, 0] + fields[:, 1]
        # Some count minutes up to 59 and begin again.
        seconds = minutes if np.nanmax(fields[:, 0]) > 59 else _lifted(minutes, 3600.0)
    else:
        seconds = 3600.0 * fields[:, 0] + 60.0 * fields[:, 1] + fields[:, 2]
    order = date_order or _order(day_parts, dates or cells)
    days = _days(day_parts, order)
    if days is None:
        return Clock(_over_midnight(seconds), None, unit, order)
    moments = seconds + DAY_S * (days - days[np.isfinite(days)][0])
    return Clock(moments, _start(moments, days, order), unit, order)


def _plain_clock(cells: tuple[str, ...]) -> NDArray[np.float64] | None:
    """Read hh:mm:ss throughout by the places of its digits; None where a cell differs."""
    text = "\n".join(cells)
    if len(text) != 9 * len(cells) - 1 or not text.isascii() or not _PLAIN.match(text):
        return None
    marks = np.frombuffer(f"{text}\n".encode(), np.uint8).reshape(-1, 9).astype(np.int64)
    digits = marks[:, [0, 1, 3, 4, 6, 7]] - 48
    if np.any((digits < 0) | (digits > 9)) or np.any(marks[:, [2, 5]] != 58):
        return None
    return np.asarray(digits @ np.array([36_000, 3_600, 600, 60, 10, 1]), np.float64)


def _fields(part: tuple[str | None, ...] | None) -> tuple[float, float, float]:
    if part is None:
        return (float("nan"),) * 3
    hour, minute, second, fraction, noon = part[3:8]
    hours = float(hour or 0)
    if noon:
        hours = hours % 12 + (12 if noon[0] in "Pp" else 0)
    return hours, float(minute or 0), float(second or 0) + float(f"0.{fraction or 0}")


def two_field_unit(cells: tuple[str, ...]) -> str | None:
    """Tell hours and minutes from minutes and seconds; None where neither is the length of a run.

    A run takes from 4 minutes to 3.6 hours, so that what is one as the first is none as the second.

    >>> two_field_unit(("00:00", "20:00")), two_field_unit(("10:00", "10:40"))
    ('mm:ss', 'clock')
    """
    first, second = np.array(
        [_fields(match.groups() if match and match.group(4) else None)[:2]
         for match in map(_CELL.match, cells)]
    ).T  # fmt: skip
    known = np.isfinite(first)
    if not np.any(known):
        return "clock"
    if np.max(first[known]) > 23:
        return "mm:ss"
    moments = _lifted(60.0 * first + second, 3600.0)[known]
    span = float(moments[-1] - moments[0])
    if not SHORTEST_RUN <= span <= LONGEST_RUN:
        span = float(np.ptp(_lifted(60.0 * first + second, 1440.0)[known]))
        return "clock" if SHORTEST_RUN <= 60.0 * span <= LONGEST_RUN else None
    return "mm:ss"


def _lifted(values: NDArray[np.float64], turn: float) -> NDArray[np.float64]:
    """Add a turn of the clock wherever it falls by more than half of one."""
    known = np.flatnonzero(np.isfinite(values))
    added = np.concatenate([[0.0], np.cumsum(np.diff(values[known]) < -turn / 2)]) * turn
    lifted = values.copy()
    lifted[known] += added[: known.size]
    return lifted


def _over_midnight(seconds: NDArray[np.float64]) -> NDArray[np.float64]:
    """Add a day where the clock falls by more than half of one, half a day where 12 turns to 1."""
    known = np.flatnonzero(np.isfinite(seconds))
    if known.size < 2:
        return seconds
    steps = np.diff(seconds[known])
    if not np.any(steps < -DAY_S / 2 + 3600.0):
        return seconds
    hours = seconds[known] // 3600.0
    halves = hours.min() >= 1 and hours.max() == 12
    turn = DAY_S / 2 if halves else DAY_S
    added = np.concatenate([[0.0], np.cumsum(np.where(steps < -turn / 2, turn, 0.0))])
    lifted = seconds.copy()
    lifted[known] += added
    return lifted


def _order(  # noqa: PLR0911 - one return for each kind of evidence
    days: list[tuple[str | None, ...] | None], cells: tuple[str, ...]
) -> str | None:
    """Tell the order of day and month, where the file shows it."""
    distinct = sorted({day for day in days if day is not None and all(day)}, key=str)
    if not distinct:
        return None
    if any(len(str(first)) == 4 or (str(first).isdigit() and int(str(first)) > 31)
           for first, _, _ in distinct):  # fmt: skip
        return "ymd"
    if any(not str(middle).isdigit() for _, middle, _ in distinct):
        return "dmy"
    if any(int(str(first)) > 12 for first, _, _ in distinct):
        return "dmy"
    if any(int(str(middle)) > 12 for _, middle, _ in distinct):
        return "mdy"
    if len({day[0] for day in distinct}) > 1 and len({day[1] for day in distinct}) == 1:
        return "dmy"
    if len({day[1] for day in distinct}) > 1 and len({day[0] for day in distinct}) == 1:
        return "mdy"
    # Nobody writes a month first with points.
    dotted = any(re.match(r"\s*\d+\.\d+\.\d+", cell) for cell in cells[:20])
    return "dmy" if dotted else None


def _days(
    days: list[tuple[str | None, ...] | None], order: str | None
) -> NDArray[np.float64] | None:
    """Give the day of each row as a number; None where no row has a date."""
    distinct = {day for day in days if day is not None and all(day)}
    if not distinct or (order is None and len(distinct) > 1):
        return None
    numbers = {day: _day(day, order or "dmy") for day in distinct}
    values = np.array([numbers.get(day, np.nan) if day else np.nan for day in days])
    return values if np.any(np.isfinite(values)) else None


def day_of(parts: tuple[str | None, ...], written: str) -> date | None:
    """Give the day of one date; None where day and month may change places, or it is no date.

    >>> day_of(("08", "05", "2026"), "08.05.2026"), day_of(("08", "05", "2026"), "08/05/2026")
    (datetime.date(2026, 5, 8), None)
    """
    order = "dmy" if parts[0] == parts[1] else _order([parts], (written,))
    ordinal = float("nan") if order is None else _day(parts, order)
    return date.fromordinal(int(ordinal)) if np.isfinite(ordinal) else None


def _day(day: tuple[str | None, ...], order: str) -> float:
    written = dict(zip(order, map(str, day), strict=True))
    year = int(written["y"]) if written["y"].isdigit() else 0
    year += 2000 if year < 100 else 0
    try:
        return float(date(year, _month(written["m"]), int(written["d"])).toordinal())
    except ValueError:
        return float("nan")


def _month(written: str) -> int:
    if written.isdigit():
        return int(written)
    short = written[:3].casefold()
    return OTHER_MONTHS.get(short) or (MONTHS.index(short) + 1 if short in MONTHS else 0)


def _start(
    moments: NDArray[np.float64], days: NDArray[np.float64], order: str | None
) -> datetime | None:
    """Give the first moment, where the order of day and month is known."""
    known = np.flatnonzero(np.isfinite(moments) & np.isfinite(days))
    if order is None or not known.size:
        return None
    first = known[0]
    base = days[np.isfinite(days)][0]
    start = datetime.combine(date.fromordinal(int(base)), time())
    return start + timedelta(seconds=float(moments[first]))
