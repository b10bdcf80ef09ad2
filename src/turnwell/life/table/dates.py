"""A column of dates, in one form: year first, day first or month first.

Which of day and month stands first is told by the column alone: a part above 12 is a day. Where no
row tells, the column is refused rather than guessed. Between points the day stands first, the only
such form in use (common practice).
"""

import re
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from turnwell.life.table.cells import Column

__all__ = ["Dates", "Form", "dates_of", "holds_dates"]

_YEAR_FIRST = re.compile(r"(\d{4})[-./](\d{1,2})[-./](\d{1,2})")
_YEAR_LAST = re.compile(r"(\d{1,2})([-./])(\d{1,2})\2(\d{4})")
_LIKE_A_DATE = re.compile(r"\s*\d{1,4}[-./]\d{1,2}[-./]\d{1,4}")
_MOST_OF_MONTHS = 12


class Form(StrEnum):
    """What stands first in a date."""

    YEAR = "year first"
    DAY = "day first"
    MONTH = "month first"


@dataclass(frozen=True, slots=True, eq=False)
class Dates:
    """The days of a column since 1970-01-01, shape (n,), and the form they are written in."""

    days: NDArray[np.float64]
    form: Form


def holds_dates(column: Column) -> bool:
    """Tell whether a column begins with a date."""
    first = next((cell for cell in column.cells if cell.strip()), "")
    return _LIKE_A_DATE.match(first) is not None


def dates_of(column: Column) -> Dates:
    """Read a column of dates.

    Raises
    ------
    InputError
        At the first cell that is no date, has another form than the rest, or leaves open which of
        day and month stands first; the sentence names row and column.
    """
    parts = {cell: _parts(column, cell) for cell in dict.fromkeys(column.cells)}
    form = _form_of(column, parts)
    days = {cell: _day(column, cell, form, part) for cell, part in parts.items()}
    found = np.fromiter(map(days.__getitem__, column.cells), np.float64, len(column.cells))
    return Dates(found, form)


class _Parts(NamedTuple):
    """The three numbers of a date as they stand, and the mark between; "" with year first."""

    first: int
    second: int
    third: int
    mark: str


def _parts(column: Column, cell: str) -> _Parts:
    plain = cell.strip()
    if found := _YEAR_FIRST.fullmatch(plain):
        return _Parts(int(found[1]), int(found[2]), int(found[3]), "")
    if found := _YEAR_LAST.fullmatch(plain):
        return _Parts(int(found[1]), int(found[3]), int(found[4]), found[2])
    at = column.first_of(cell)
    if not plain:
        raise column.refusal(at, "the cell is empty; write the date, or take the row out")
    says = f"{column.told(at)} is no date as in 2024-03-31, where the column begins with one"
    if re.fullmatch(r"\d{1,2}[-./]\d{1,2}[-./]\d{2}", plain):
        says = f"{column.told(at)} has a year of two digits; write it with four"
    elif _YEAR_FIRST.match(plain) or _YEAR_LAST.match(plain):
        says = f"{column.told(at)} has more in it than a date; write the date alone"
    raise column.refusal(at, says)


def _form_of(column: Column, parts: dict[str, _Parts]) -> Form:
    """Tell the one form of all dates by those that can be read in one way only."""
    told: dict[Form, str] = {}
    is_open = ""
    for cell, part in parts.items():
        form = _told_by(part)
        if form is None:
            # The third of March is written alike in both forms.
            is_open = is_open or (cell if part.first != part.second else "")
        else:
            told.setdefault(form, cell)
    if len(told) > 1:
        (form, one), (other_form, other) = list(told.items())[:2]
        at = column.first_of(other)
        raise column.refusal(
            at,
            f"{column.told(at)} has the {other_form}, row {column.rows[column.first_of(one)]} "
            f"('{one.strip()}') the {form}; write all dates in one form, best as 2024-03-31",
        )
    if not told and not is_open:
        return Form.DAY
    if not told:
        at = column.first_of(is_open)
        first, second, year, _ = parts[is_open]
        raise column.refusal(
            at,
            f"{column.told(at)} may be {year}-{second:02d}-{first:02d} or "
            f"{year}-{first:02d}-{second:02d}, and no other row tells; write dates as 2024-03-31",
        )
    form = next(iter(told))
    alien = next(
        (cell for cell, part in parts.items() if bool(part.mark) == (form is Form.YEAR)), ""
    )
    if alien:
        at = column.first_of(alien)
        raise column.refusal(
            at,
            f"{column.told(at)} does not have the {form} as the other rows have; write all dates "
            "in one form, best as 2024-03-31",
        )
    return form


def _told_by(part: _Parts) -> Form | None:
    first, second, _, mark = part
    if not mark:
        return Form.YEAR
    if mark == "." or first > _MOST_OF_MONTHS:
        return Form.DAY
    if second > _MOST_OF_MONTHS:
        return Form.MONTH
    return None


def _day(column: Column, cell: str, form: Form, part: _Parts) -> int:
    first, second, third, _ = part
    year, month, day = {
        Form.YEAR: (first, second, third),
        Form.DAY: (third, second, first),
        Form.MONTH: (third, first, second),
    }[form]
    try:
        return date(year, month, day).toordinal() - date(1970, 1, 1).toordinal()
    except ValueError:
        at = column.first_of(cell)
        raise column.refusal(
            at, f"{column.told(at)} is a day that the calendar does not have; correct it"
        ) from None
