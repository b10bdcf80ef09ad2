"""Which rows of a table are kept, and what became of the others."""

from bisect import bisect_left
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.reading.table import Table
from turnwell.steam.record import RowCounts

__all__ = ["Sorted", "sort_rows"]

SHOWN_LINES = 8


@dataclass(frozen=True, slots=True, eq=False)
class Sorted:
    """The rows that stay, and the counts of all."""

    kept: NDArray[np.intp]
    counts: RowCounts


def sort_rows(
    table: Table,
    time_s: NDArray[np.float64],
    temperature_c: NDArray[np.float64],
    pressure_kpa: NDArray[np.float64],
) -> Sorted:
    """Leave out rows that are broken, repeat the one before, or run back in time."""
    valued = np.isfinite(temperature_c) | np.isfinite(pressure_kpa)
    usable = np.isfinite(time_s) & valued
    broken = [at for at in np.flatnonzero(~usable).tolist() if _looks_like_values(table, at)]
    rows = np.flatnonzero(usable)
    repeats = np.zeros(rows.size, bool)
    for values in (time_s, temperature_c, pressure_kpa):
        same = np.zeros(rows.size, bool)
        before, after = values[rows[:-1]], values[rows[1:]]
        same[1:] = (before == after) | (np.isnan(before) & np.isnan(after))
        repeats = same if values is time_s else repeats & same
    duplicate = int(np.count_nonzero(repeats))
    single = rows[~repeats]
    kept = single[_rising(time_s[single])]
    back = np.setdiff1d(single, kept)
    lines = sorted([*broken, *rows[repeats].tolist(), *back.tolist()])[:SHOWN_LINES]
    counts = RowCounts(
        read=len(rows) + len(broken),
        kept=int(kept.size),
        broken=len(broken),
        duplicate=duplicate,
        reversed=int(back.size),
        first_broken=tuple(table.first_line + at for at in lines),
    )
    return Sorted(kept, counts)


def _rising(time_s: NDArray[np.float64]) -> NDArray[np.intp]:
    """Give the most rows whose times rise strictly, so that one bad time costs one row."""
    if np.all(np.diff(time_s) > 0.0):
        return np.arange(time_s.size)
    ends: list[float] = []
    last: list[int] = []
    before = [-1] * time_s.size
    for at, moment in enumerate(time_s.tolist()):
        place = bisect_left(ends, moment)
        before[at] = last[place - 1] if place else -1
        if place == len(ends):
            ends.append(moment)
            last.append(at)
        else:
            ends[place], last[place] = moment, at
    chain = []
    at = last[-1] if last else -1
    while at >= 0:
        chain.append(at)
        at = before[at]
    return np.array(chain[::-1], dtype=np.intp)


def _looks_like_values(table: Table, at: int) -> bool:
    """Tell a broken row from a blank one, a heading repeated, or a foot of a page."""
    cells = [column[at].strip() for column in table.columns]
    filled = [cell for cell in cells if cell]
    if not filled:
        return False
    headed = " ".join(table.headings).casefold()
    if headed.strip() and all(cell.casefold() in headed for cell in filled):
        return False
    figures = sum(any(mark.isdigit() for mark in cell) for cell in filled)
    starts = cells[0][:1].isdigit()
    return starts or 2 * figures > len(filled)
