"""The axis of a calendar: which months and years are named at a width."""

from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from turnwell.pictures.gutters import Layout

__all__ = ["DayTick", "day_ticks", "short_day"]

STEPS = (1, 2, 3, 4, 6, 12, 24, 60, 120, 240)
GAP = 10.0
MONTHS = 12


@dataclass(frozen=True, slots=True)
class DayTick:
    """A tick and its words, so many parts of the width across."""

    part: float
    text: str


def short_day(day: date) -> str:
    """Write a date where room is scarce.

    >>> short_day(date(2025, 10, 4))
    '4 Oct 2025'
    """
    return f"{day.day} {day:%b %Y}"


def day_ticks(first: date, last: date, layout: Layout) -> tuple[DayTick, ...]:
    """Give the first days of months or years that have room for their names.

    Parameters
    ----------
    first, last : date
        Ends of the axis, first < last.
    layout : Layout
        Ticks are chosen for its least width.

    Returns
    -------
    tuple of DayTick
        The days at the ends where fewer than two months begin between them.
    """
    days = (last - first).days
    for step in STEPS:
        months = _months(first, last, step)
        ticks = tuple(
            DayTick((month - first).days / days, _month_text(month, step, is_first=not number))
            for number, month in enumerate(months)
        )
        if len(ticks) < 2:
            break
        if _have_room(ticks, layout):
            return ticks
    return DayTick(0.0, short_day(first)), DayTick(1.0, short_day(last))


def _months(first: date, last: date, step: int) -> list[date]:
    """Give every so many months' first day, counted from the year 0, between two days."""
    start = first.year * MONTHS + first.month - 1 + (first.day > 1)
    start += -start % step
    stop = last.year * MONTHS + last.month - 1
    return [date(n // MONTHS, n % MONTHS + 1, 1) for n in range(start, stop + 1, step)]


def _month_text(month: date, step: int, *, is_first: bool) -> str:
    if step >= MONTHS:
        return f"{month.year}"
    return f"{month:%b %Y}" if is_first or month.month == 1 else f"{month:%b}"


def _have_room(ticks: tuple[DayTick, ...], layout: Layout) -> bool:
    """Tell whether no name lies on the next at the layout's least width."""
    return all(
        (after.part - before.part) * layout.least_px
        >= (layout.width(before.text) + layout.width(after.text)) / 2.0 + GAP
        for before, after in pairwise(ticks)
    )
