"""Times written without colons, given the colons that clocks have.

`100510` is 10:05:10 and never 100,510 s: of seconds that count up, two in five have a pair of
digits beyond 59. Where a column allows both, it stays as it is and is `open_pairs`.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.reading.cells import CellKind
from turnwell.steam.reading.table import Table

__all__ = ["open_pairs", "with_colons"]

Array = NDArray[np.float64]
_LONG = re.compile(r"(\d{4})(\d\d)(\d\d)[T _-]?(\d\d)(\d\d)(\d\d)$")
_DAY = re.compile(r"((?:19|20)\d\d)(\d\d)(\d\d)$")
_PARTED = re.compile(r"(\d{1,2})[.\-](\d{2})[.\-](\d{2})$")
_SPOKEN = re.compile(
    r"(?:(\d{1,2})\s*(?:h|hr|std)\.?\s*)?(\d{1,3})\s*(?:'|m|min|mn)\.?\s*"
    r"(\d{1,2})\s*(?:\"|''|s|sec|sek)?\.?$",
    re.IGNORECASE,
)
_TWO_PLACES = re.compile(r"\d{1,3}[.,]\d\d$")
MOST_DAYS = 3
SURE = 0.9
# Nearer rows than this cross the pairs from 60 to 99 if they count seconds.
DENSE = 40.0
LONGEST_MINUTES = 240.0
SHORTEST_MINUTES = 4.0
SPOT_CHECK = 12


class _Verdict(StrEnum):
    """What whole numbers that rise are."""

    PAIRS = "pairs of digits"
    PLAIN = "a count"
    OPEN = "either"


def with_colons(table: Table) -> Table:
    """Write the times of a table as clocks do, where they can be nothing else.

    Parameters
    ----------
    table : Table

    Returns
    -------
    Table
        The same, where no column is such a time.
    """
    columns, kinds = list(table.columns), list(table.kinds)
    for at, kind in enumerate(kinds):
        for applies, rewrite, new in (
            ({CellKind.NUMBER, CellKind.TEXT}, _long_moments, CellKind.MOMENT),
            ({CellKind.NUMBER}, _days, CellKind.DATE),
            ({CellKind.DATE}, _parted, CellKind.CLOCK),
            ({CellKind.NUMBER, CellKind.TEXT}, _spoken, CellKind.CLOCK),
            ({CellKind.NUMBER}, _packed, CellKind.CLOCK),
        ):
            if kind not in applies:
                continue
            found = rewrite(columns[at])
            if found is not None:
                columns[at], kinds[at] = found, new
                break
    return replace(table, columns=tuple(columns), kinds=tuple(kinds))


def _rewritten(
    cells: tuple[str, ...], write: Callable[[str], str | None]
) -> tuple[str, ...] | None:
    """Rewrite each cell; None unless nearly all can be."""
    spots = [cell for cell in cells[:: max(1, len(cells) // SPOT_CHECK)] if cell.strip()]
    if 2 * sum(write(cell.strip()) is not None for cell in spots) <= len(spots):
        return None
    filled = [cell for cell in cells if cell.strip()]
    found = [write(cell.strip()) for cell in cells]
    if sum(one is not None for one in found) < SURE * max(1, len(filled)):
        return None
    return tuple(cell if one is None else one for cell, one in zip(cells, found, strict=True))


def _long_moments(cells: tuple[str, ...]) -> tuple[str, ...] | None:
    return _rewritten(cells, _long_moment)


def _long_moment(cell: str) -> str | None:
    match = _LONG.match(cell.removesuffix(".0"))
    if match is None:
        return None
    try:
        return str(datetime(*map(int, match.groups())))  # type: ignore[arg-type]  # noqa: DTZ001
    except ValueError:
        return None


def _days(cells: tuple[str, ...]) -> tuple[str, ...] | None:
    found = _rewritten(cells, _day)
    return found if found is not None and len(set(found)) <= MOST_DAYS + 5 else None


def _day(cell: str) -> str | None:
    match = _DAY.match(cell.removesuffix(".0"))
    if match is None:
        return None
    try:
        return str(datetime(*map(int, match.groups())).date())  # type: ignore[arg-type]  # noqa: DTZ001
    except ValueError:
        return None


def _parted(cells: tuple[str, ...]) -> tuple[str, ...] | None:
    """Read hh.mm.ss and hh-mm-ss: a date does not change from row to row."""
    if len(set(cells)) <= max(MOST_DAYS, len(cells) // 4):
        return None

    def write(cell: str) -> str | None:
        match = _PARTED.match(cell)
        if match is None or int(match[1]) > 23 or int(match[2]) > 59 or int(match[3]) > 59:
            return None
        return f"{int(match[1]):02d}:{match[2]}:{match[3]}"

    return _rewritten(cells, write)


def _spoken(cells: tuple[str, ...]) -> tuple[str, ...] | None:
    """Read 12 min 5 s and 12'05"."""

    def write(cell: str) -> str | None:
        if cell.isdigit():
            return None
        match = _SPOKEN.match(cell)
        if match is None or int(match[3]) > 59:
            return None
        return _clock(60 * (60 * int(match[1] or 0) + int(match[2])) + int(match[3]))

    return _rewritten(cells, write)


def _packed(cells: tuple[str, ...]) -> tuple[str, ...] | None:
    values = _pairs(cells)
    if values is None or _verdict(values) is not _Verdict.PAIRS:
        return None
    seconds = _seconds(values)
    return tuple(
        _clock(int(second)) if np.isfinite(second) else cell
        for cell, second in zip(cells, seconds.tolist(), strict=True)
    )


def open_pairs(cells: tuple[str, ...]) -> bool:
    """Tell whether numbers may be times in pairs of digits as well as a count of seconds."""
    values = _pairs(cells)
    return values is not None and _verdict(values) is _Verdict.OPEN


def _pairs(cells: tuple[str, ...]) -> Array | None:
    """Give hhmmss as whole numbers, from digits or from mm.ss; None where they are neither."""
    spots = [cell.strip() for cell in cells[:: max(1, len(cells) // SPOT_CHECK)] if cell.strip()]
    digits = bool(spots) and all(s.removesuffix(".0").isdigit() and len(s) <= 8 for s in spots)
    minutes = bool(spots) and all(map(_TWO_PLACES.match, spots))
    if not digits and not minutes:
        return None
    text = "\n".join(cells).replace(",", ".")
    try:
        values = np.array([float(cell or "nan") for cell in text.split("\n")])
    except ValueError:
        values = np.array([_number(cell) for cell in text.split("\n")])
    if minutes:
        # As seconds these would be no run; as minutes they are one, with digits of either sort.
        span = float(np.ptp(values[np.isfinite(values)])) if np.any(np.isfinite(values)) else 0.0
        if not SHORTEST_MINUTES <= span <= LONGEST_MINUTES:
            return None
        values = np.round(100.0 * values)
    known = values[np.isfinite(values)]
    whole = known.size >= 4 and bool(np.all(known == np.round(known))) and known.min() >= 0
    return values if whole else None


def _number(cell: str) -> float:
    try:
        return float(cell)
    except ValueError:
        return float("nan")


def _seconds(values: Array) -> Array:
    return np.asarray(values // 10_000 * 3600 + values // 100 % 100 * 60 + values % 100)


def _verdict(values: Array) -> _Verdict:
    """Tell times in pairs of digits from a count, where the numbers do."""
    known = values[np.isfinite(values)]
    valid = (known % 100 < 60) & (known // 100 % 100 < 60) & (known // 10_000 < 24)
    if np.mean(valid) < 1.0 - 0.5 / known.size or np.unique(known // 100).size < 2:
        return _Verdict.PLAIN
    steps = np.diff(known)
    paired = np.diff(_seconds(known))
    rising = steps[steps > 0]
    if rising.size < SURE * steps.size - 1 or not np.any(known % 100):
        # Not a time at all, or whole hundreds, which even the steps do not tell apart.
        is_time = rising.size >= SURE * steps.size - 1
        return (
            _Verdict.OPEN
            if is_time and np.all(steps == 100) and known.max() < 6000
            else _Verdict.PLAIN
        )
    if np.median(rising) < DENSE and np.unique(known // 100).size > 2:
        return _Verdict.PAIRS
    uneven, paired_uneven = np.std(steps), np.std(paired)
    if paired_uneven < 0.5 * uneven:
        return _Verdict.PAIRS
    return _Verdict.PLAIN if uneven < 0.5 * paired_uneven else _Verdict.OPEN


def _clock(seconds: int) -> str:
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
