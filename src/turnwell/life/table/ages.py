"""Columns of ages or dates, put into one clock."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.life.lives import Clock
from turnwell.life.table.cells import Column
from turnwell.life.table.dates import Form, dates_of, holds_dates
from turnwell.life.table.headings import Layout
from turnwell.life.table.numbers import numbers_of
from turnwell.words import Message

__all__ = ["Ages", "ages_of", "clock_notes"]


@dataclass(frozen=True, slots=True, eq=False)
class Ages:
    """The columns of ages.

    Parameters
    ----------
    values : mapping of str to array, shape (n,)
        By what each column is; days since 1970-01-01 where they are dates.
    are_dates : bool
    clock : Clock
    is_said : bool
        Whether the table or the person named the clock; days are taken otherwise.
    """

    values: Mapping[str, NDArray[np.float64]]
    are_dates: bool
    clock: Clock
    is_said: bool


def ages_of(layout: Layout, names: tuple[str, ...], clock: Clock | None) -> Ages:
    """Read columns of ages, all numbers of one clock or all dates.

    Parameters
    ----------
    layout : Layout
    names : tuple of str
        What the columns are; those the table lacks are left out.
    clock : Clock or None
        As the person said, None where nothing was said.

    Raises
    ------
    InputError
        If a cell cannot be read, or two of table and person name different clocks.
    """
    columns = {name: layout.columns[name] for name in names if name in layout.columns}
    dated = [name for name, column in columns.items() if holds_dates(column)]
    if dated and len(dated) < len(columns):
        other = next(name for name in columns if name not in dated)
        raise columns[other].refusal(
            0,
            f"{columns[other].told(0)} is no date, but column {dated[0]} holds dates; give dates "
            "in both, or ages in both",
        )
    named = {name: layout.clocks[name] for name in columns if name in layout.clocks}
    if dated:
        values = _days(columns)
        named |= dict.fromkeys(columns, Clock.DAYS)
    else:
        numbers = {name: numbers_of(column) for name, column in columns.items()}
        values = {name: read.values for name, read in numbers.items()}
        for name, read in numbers.items():
            if read.clock is not None and named.setdefault(name, read.clock) is not read.clock:
                told = columns[name].told(0)
                raise columns[name].refusal(0, f"{told} is not in the unit of its heading")
    taken = _clock(layout, named, clock, are_dates=bool(dated))
    return Ages(values, bool(dated), taken or Clock.DAYS, taken is not None)


def _days(columns: Mapping[str, Column]) -> dict[str, NDArray[np.float64]]:
    """Read columns of dates; day and month stand in the same order in all."""
    dates = {name: dates_of(column) for name, column in columns.items()}
    day_first = [name for name, read in dates.items() if read.form is Form.DAY]
    month_first = [name for name, read in dates.items() if read.form is Form.MONTH]
    if day_first and month_first:
        raise columns[month_first[0]].refusal(
            0,
            f"its dates have the month first, those of column {day_first[0]} the day first; write "
            "all dates in one form, best as 2024-03-31",
        )
    return {name: read.days for name, read in dates.items()}


def _clock(
    layout: Layout, named: Mapping[str, Clock], said: Clock | None, *, are_dates: bool
) -> Clock | None:
    """Give the one clock of all columns, None where nobody named one."""
    clocks = list(named.items())
    for name, clock in clocks[1:]:
        if clock is not clocks[0][1]:
            raise layout.columns[name].refusal(
                0,
                f"this column is in {clock}, column {clocks[0][0]} in {clocks[0][1]}; give all "
                "ages in one unit",
            )
    if clocks and said is not None and said is not clocks[0][1]:
        holds = "dates, whose ages are days" if are_dates else str(clocks[0][1])
        raise InputError(
            f"{layout.columns[clocks[0][0]].file}, column {clocks[0][0]} holds {holds}, but the "
            f"unit was said to be {said}; leave that out, or give {said}"
        )
    return clocks[0][1] if clocks else said


def clock_notes(ages: Ages) -> list[Message]:
    """Say so where nobody named the clock."""
    return [] if ages.is_said else [Message("life_table.clock_taken", {"clock": ages.clock.value})]
