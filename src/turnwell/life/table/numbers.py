"""A column of ages or amounts: plain numbers at once, anything else cell by cell.

One column has one decimal mark and one unit. What could be read in two ways is not read: a mark
between thousands may be a decimal elsewhere.
"""

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.life.lives import Clock
from turnwell.life.table.cells import Column

__all__ = ["LARGEST", "Numbers", "clock_named", "numbers_of"]

# Beyond this an age is a slip of the keyboard in every clock.
LARGEST = 1e12
_THOUSANDS = "parts its thousands by a mark; write it without, as in 12500"

_CLOCKS = {
    "cycle": Clock.CYCLES,
    "cycles": Clock.CYCLES,
    "d": Clock.DAYS,
    "day": Clock.DAYS,
    "days": Clock.DAYS,
}
_CELL = re.compile(r"([+-]?(?:\d[\d.,]*|[.,]\d+)(?:[eE][+-]?\d+)?)\s*([^\W\d_]*)\.?")
_GROUPED = re.compile(
    r"[+-]?\d{1,3}(?:[\s'\u2019]\d{3})+(?:[.,]\d+)?\D*|[+-]?\d{1,3}(?:([.,])\d{3}){2,}\D*"
)
_BOTH_MARKS = re.compile(r"[+-]?\d+(?:\.\d{3})*,\d+|[+-]?\d+(?:,\d{3})*\.\d+")
_DATE = re.compile(r"\d{1,4}[-./]\d{1,2}[-./]\d{1,4}")


@dataclass(frozen=True, slots=True, eq=False)
class Numbers:
    """The values of a column, shape (n,), finite and >= 0, and the unit that every cell names."""

    values: NDArray[np.float64]
    clock: Clock | None = None


def clock_named(word: str) -> Clock | None:
    """Give the clock a word names, None where it names none.

    >>> clock_named("Cycles"), clock_named("h")
    (<Clock.CYCLES: 'cycles'>, None)
    """
    return _CLOCKS.get(word.strip().lower())


def numbers_of(column: Column) -> Numbers:
    """Read a column of numbers.

    Raises
    ------
    InputError
        At the first cell that is empty, no number, below 0, in a unit of its own, or that could be
        read in two ways; the sentence names row and column.
    """
    values = _plain(column)
    clock = None
    if values is None:
        numerals, clock = _parted(column)
        values = _read(column, numerals)
    wrong = np.flatnonzero(~((values >= 0.0) & (values <= LARGEST)))
    if wrong.size:
        at = int(wrong[0])
        says = "is below 0; ages and amounts count from 0 up"
        if values[at] > 0.0:
            says = f"is beyond {LARGEST:g}; correct it"
        raise column.refusal(at, f"{column.told(at)} {says}")
    return Numbers(values, clock)


def _plain(column: Column) -> NDArray[np.float64] | None:
    """Read numbers and nothing else at once; None where a cell needs a closer look."""
    cells, joined = column.cells, "\n".join(column.cells)
    if not joined.isascii() or "_" in joined:
        return None
    if "," in joined:
        if "." in joined or _may_be_thousands(joined, ","):
            return None
        cells = joined.replace(",", ".").split("\n")
    elif column.separator == ";" and "." in joined and _may_be_thousands(joined, "."):
        # Where commas are decimals, a point parts thousands.
        return None
    try:
        values = np.fromiter(map(float, cells), np.float64, len(column.cells))
    except ValueError:
        return None
    return values if np.all(np.isfinite(values)) else None


def _parted(column: Column) -> tuple[list[str], Clock | None]:
    """Part every cell into its numeral and the unit behind it; all name one clock, or none does."""
    parts: dict[str, tuple[str, Clock | None]] = {}
    for cell in dict.fromkeys(column.cells):
        parts[cell] = _numeral_and_clock(column, cell)
    clocks = {clock for _, clock in parts.values()}
    if len(clocks) > 1:
        first = parts[column.cells[0]][1]
        at = next(i for i, cell in enumerate(column.cells) if parts[cell][1] is not first)
        raise column.refusal(
            at,
            f"{column.told(at)} is not in the unit of row {column.rows[0]} "
            f"({column.told(0)}); give the whole column in one unit",
        )
    return [parts[cell][0] for cell in column.cells], clocks.pop()


def _numeral_and_clock(column: Column, cell: str) -> tuple[str, Clock | None]:
    plain = cell.strip()
    found = _CELL.fullmatch(plain)
    if found is None:
        at = column.first_of(cell)
        raise column.refusal(at, _no_number(plain, column.told(at)))
    numeral, unit = found.groups()
    clock = clock_named(unit)
    if unit and clock is None:
        at = column.first_of(cell)
        raise column.refusal(
            at,
            f"{column.told(at)} is counted in '{unit}'; give cycles or days, the number alone",
        )
    return numeral, clock


def _no_number(plain: str, told: str) -> str:
    """Say what a cell that is no number is instead, and what to do."""
    if not plain:
        return "the cell is empty; write the number, or take the row out"
    if _GROUPED.fullmatch(plain):
        return f"{told} {_THOUSANDS}"
    if plain[0] in "-\u2212" and plain[1:2].isdigit():
        return f"{told} is below 0; ages and amounts count from 0 up"
    if _DATE.match(plain):
        return f"{told} is a date where the column begins with a number; give one of the two"
    return f"{told} is no number; write one, as in 1250 or 12.5"


def _read(column: Column, numerals: list[str]) -> NDArray[np.float64]:
    """Read numerals once it is known what parts their decimals."""
    joined = "\n".join(numerals)
    mark = _decimal_mark(column, numerals, joined)
    if mark == ",":
        numerals = joined.replace(",", ".").split("\n")
    try:
        return np.fromiter(map(float, numerals), np.float64, len(numerals))
    except ValueError:
        at = next(i for i, numeral in enumerate(numerals) if not _is_float(numeral))
        raise column.refusal(at, f"{column.told(at)} {_THOUSANDS}") from None


def _decimal_mark(column: Column, numerals: list[str], joined: str) -> str:
    if "," in joined and "." in joined:
        at = next(i for i, numeral in enumerate(numerals) if "," in numeral)
        if _BOTH_MARKS.fullmatch(numerals[at]) and "." in numerals[at]:
            says = f"{column.told(at)} {_THOUSANDS}"
        else:
            says = (
                f"{column.told(at)} has a comma where other rows have a point; write the whole "
                "column with one decimal mark and no mark between thousands"
            )
        raise column.refusal(at, says)
    mark = "," if "," in joined else "."
    if mark in joined and (mark == "," or column.separator == ";"):
        _refuse_thousands(column, numerals, joined, mark)
    return mark


def _refuse_thousands(column: Column, numerals: list[str], joined: str, mark: str) -> None:
    if not _may_be_thousands(joined, mark):
        return
    at = next(i for i, numeral in enumerate(numerals) if mark in numeral)
    as_decimal, as_whole = numerals[at].replace(mark, "."), numerals[at].replace(mark, "")
    if numerals[at].count(mark) > 1:
        raise column.refusal(at, f"{column.told(at)} {_THOUSANDS}")
    raise column.refusal(
        at,
        f"{column.told(at)} may be {as_decimal} or {as_whole}, and no other row tells; write "
        "thousands without a mark, or decimals with another number of digits",
    )


def _may_be_thousands(joined: str, mark: str) -> bool:
    """Tell whether every mark could as well stand between thousands: three digits behind each."""
    sign = re.escape(mark)
    proof = re.compile(
        rf"^[ +-]*(?:0*{sign}|\d{{4,}}{sign}|\d*{sign}(?!\d{{3}}(?!\d))|\S*[eE])", re.MULTILINE
    )
    return proof.search(joined) is None


def _is_float(numeral: str) -> bool:
    try:
        float(numeral)
    except ValueError:
        return False
    return True
