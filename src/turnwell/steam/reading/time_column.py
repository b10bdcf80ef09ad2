"""Tells which column of a table is time, and in what unit."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import CannotTellError, InputError
from turnwell.steam.reading.cells import CellKind
from turnwell.steam.reading.clock import two_field_unit
from turnwell.steam.reading.moments import open_pairs
from turnwell.steam.reading.search import Search

__all__ = ["TimeColumns", "time_of"]

Array = NDArray[np.float64]
SHORTEST_RUN_S, LONGEST_RUN_S = 400.0, 13_000.0
SPAN_UNITS = (("ms", 0.001), ("s", 1.0), ("min", 60.0), ("h", 3600.0), ("d", 86_400.0))


@dataclass(frozen=True, slots=True)
class TimeColumns:
    """The columns of time and of dates, from 0, and the unit of time; None where not told."""

    time: int | None = None
    date: int | None = None
    unit: str | None = None


def time_of(search: Search) -> TimeColumns:
    """Tell the column of time, that of dates, and the unit of time."""
    given, kinds = search.given, search.table.kinds
    date_at = None if given.date_column is None else given.date_column - 1
    clocks = [at for at, kind in enumerate(kinds) if kind in {CellKind.CLOCK, CellKind.MOMENT}]
    dates = [at for at, kind in enumerate(kinds) if kind is CellKind.DATE]
    at = None if given.time_column is None else given.time_column - 1
    if at is None and clocks:
        moving = [at for at in clocks if len(set(search.table.columns[at][:200])) > 1]
        named = [at for at in moving if search.said[at].role in {"time", "date"}]
        at = (named or moving or clocks)[0]
    if at is not None and at in clocks:
        search.tell(at, "given" if given.time_column else "clock")
        if date_at is None and kinds[at] is CellKind.CLOCK and dates:
            date_at = dates[0]
        search.tell(date_at, "clock")
        return TimeColumns(at, date_at, given.time_unit or _clock_unit(search, at))
    if at is None:
        at = _elapsed(search)
    if at is None:
        search.ask("time", (), "--columns")
        return TimeColumns()
    if at not in search.numbers:
        raise InputError(f"column {at + 1} is given as time and holds no times")
    search.tell(at, "given" if given.time_column else "rising")
    return TimeColumns(at, None, given.time_unit or _elapsed_unit(search, at))


def _clock_unit(search: Search, at: int) -> str | None:
    """Ask where two fields are neither hours and minutes nor minutes and seconds of a run."""
    cells = search.table.columns[at]
    if search.table.kinds[at] is not CellKind.CLOCK or _has_seconds(cells):
        return None
    unit = two_field_unit(cells)
    if unit is None:
        search.ask("time_unit", ("clock", "mm:ss"), "--units", column=str(at + 1))
    if unit == "clock" and 4 * len(set(cells)) < 3 * len(cells):
        rows = len(cells) - len(set(cells))
        raise CannotTellError(
            f"column {at + 1} gives hours and minutes, and {rows:,} rows share theirs with another;"
            " a record needs the seconds"
        )
    return unit


def _has_seconds(cells: tuple[str, ...]) -> bool:
    return sum(cell.count(":") > 1 for cell in cells[:60]) > 0


def _elapsed(search: Search) -> int | None:
    """Tell which column of numbers is time: it rises from row to row."""
    rising = [at for at, values in search.numbers.items() if _rises(values)]
    named = [at for at in search.numbers if search.said[at].role == "time"]
    silent = [at for at in rising if search.said[at].role == ""]
    likely = [at for at in named if at in rising] or named or silent
    apart = [at for at in likely if not _is_count(search.numbers[at])]
    if not apart:
        # Seconds begin at 0, a number of rows at 1.
        begun = [at for at in likely if search.numbers[at][0] == 0.0]
        return next(iter(begun or named), None)
    apart = _even(search, apart)
    if len(apart) > 1 and not _agree(search, apart):
        search.ask("time_column", tuple(str(at + 1) for at in apart), "--columns")
    return apart[0]


def _rises(values: Array) -> bool:
    known = values[np.isfinite(values)]
    return known.size >= 2 and bool(np.mean(np.diff(known) > 0.0) > 0.85)


def _even(search: Search, columns: list[int]) -> list[int]:
    """Keep the columns that rise by even steps, where there is one: a sum does not."""
    even = []
    for at in columns:
        known = search.numbers[at][np.isfinite(search.numbers[at])]
        steps = np.diff(known)
        if np.percentile(np.abs(steps - np.median(steps)), 80) <= 0.2 * abs(np.median(steps)):
            even.append(at)
    return even or columns


def _agree(search: Search, columns: list[int]) -> bool:
    """Tell columns that say one time in two units."""
    spans = [float(np.nanmax(v) - np.nanmin(v)) for v in map(search.numbers.__getitem__, columns)]
    ratios = [spans[0] / max(span, 1e-9) for span in spans[1:]]
    sizes = (1.0, 60.0, 3600.0, 1000.0)
    return all(
        any(abs(ratio / size - 1) < 0.01 or abs(ratio * size - 1) < 0.01 for size in sizes)
        for ratio in ratios
    )


def _is_count(values: Array) -> bool:
    """Tell the numbers of rows: whole, one by one, from 1 or anywhere."""
    known = values[np.isfinite(values)]
    return bool(np.mean(np.diff(known) == 1.0) > 0.9)


def _elapsed_unit(search: Search, at: int) -> str | None:
    said = search.said[at].unit
    if open_pairs(search.table.columns[at]):
        search.ask("time_pairs", ("s", "min"), "--units", column=str(at + 1))
        return None
    known = search.numbers[at][np.isfinite(search.numbers[at])]
    if said in {"s", "min", "h"}:
        return said
    span = float(np.ptp(known)) if known.size else 0.0
    likely = [unit for unit, size in SPAN_UNITS if SHORTEST_RUN_S <= span * size <= LONGEST_RUN_S]
    if len(likely) > 1 and span < 0.15:
        # A spreadsheet's days are whole seconds.
        whole = np.abs(np.diff(known) * 86_400.0 - np.round(np.diff(known) * 86_400.0)) < 1e-3
        likely = ["d"] if np.mean(whole) > 0.95 else ["h"]
    if not likely and 240.0 <= span < SHORTEST_RUN_S:
        likely = ["s"]
    if len(likely) == 1:
        return likely[0]
    search.ask("time_unit", ("s", "min"), "--units", column=str(at + 1))
    return None
