"""Columns whose cells change their unit, and the two halves of a compound gauge, as one unit.

A compound gauge writes vacuum as positive inches or millimetres of mercury below the atmosphere and
pressure as psi, kPa or bar above it.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import CannotTellError
from turnwell.steam.reading.cells import CellKind, numbers_of, unit_of
from turnwell.steam.reading.fitting import TO_KPA, celsius
from turnwell.steam.reading.headings import names_vacuum, said_by, zero_in
from turnwell.steam.reading.search import mark_of, said_of
from turnwell.steam.reading.table import Table

__all__ = ["in_one_unit"]

Array = NDArray[np.float64]
MERCURY = {"inHg", "mmHg"}
# A gauge's halves meet near zero, an absolute pressure changes its unit near the atmosphere.
NEAR_ZERO_KPA = 30.0
ABSOLUTE_KPA = (70.0, 125.0)
DEEPEST_KPA = 104.0
SHOWN_LINES = 5


@dataclass(frozen=True, slots=True)
class _Unit:
    name: str
    zero: str


def in_one_unit(table: Table) -> Table:
    """Write each column in one unit, where each of its cells says its own.

    Raises
    ------
    CannotTellError
        If what the cells say cannot be brought together; it names their lines.
    """
    mark = mark_of(table)
    columns = list(table.columns)
    for at, kind in enumerate(table.kinds):
        if kind is CellKind.NUMBER and any(map(unit_of, columns[at][:40])):
            columns[at] = _evened(table, at, mark)
    return _halves_joined(replace(table, columns=tuple(columns)), mark)


def _evened(table: Table, at: int, mark: str) -> tuple[str, ...]:
    """Convert a column cell by cell; give it as it is where it has one unit."""
    cells = table.columns[at]
    written = [unit_of(cell) for cell in cells]
    words = set(written) - {None}
    if len(words) < 2:
        return cells
    known = {word: _Unit(said_by(f"[{word}]").unit, zero_in(f"[{word}]")) for word in words if word}
    if len(set(known.values())) < 2 and "" not in words:
        return cells
    names = {unit.name for unit in known.values()}
    odd = [row for row, word in enumerate(written)
           if word is not None and (word == "" or not known[word].name)]  # fmt: skip
    if len(odd) > 0.1 * len(cells):
        raise _mixed(table, at, odd)
    if len(names - {""}) < 2:
        return cells
    units = np.array([known[word].name if word else "" for word in written])
    values = numbers_of(cells, decimal_mark=mark)
    values[odd] = np.nan
    if names - {""} <= {"C", "F"}:
        return _cells(np.where(units == "F", celsius(values, "F"), values), "C", mark)
    if not names - {""} <= set(TO_KPA):
        raise _mixed(table, at, np.flatnonzero(units[1:] != units[:-1]).tolist())
    pressure_kpa = values.copy()
    for name in names - {""}:
        pressure_kpa[units == name] = TO_KPA[name](values[units == name])
    zeros = {unit.zero for unit in known.values()} - {""}
    return _together(table, at, pressure_kpa, units, zeros=zeros, mark=mark)


def _together(
    table: Table, at: int, pressure_kpa: Array, units: NDArray[np.str_], *, zeros: set[str],
    mark: str,
) -> tuple[str, ...]:  # fmt: skip
    """Turn vacuum written as positive, and give all cells with their zero."""
    below = np.isin(units, list(MERCURY))
    changes = (np.flatnonzero(units[1:] != units[:-1]) + 1).tolist()
    if len(zeros) > 1:
        raise _mixed(table, at, changes)
    zero = next(iter(zeros), "")
    under, over = pressure_kpa[below], pressure_kpa[~below]
    if not np.any(np.isfinite(under)) or not np.any(np.isfinite(over)) or zero == "absolute":
        return _cells(pressure_kpa, f"kPa {zero}", mark)
    if np.nanmin(under) < 0.0:
        return _cells(pressure_kpa, "kPa gauge", mark)
    if np.nanmin(over) > ABSOLUTE_KPA[0] and np.nanmax(under) < ABSOLUTE_KPA[1] and not zero:
        return _cells(pressure_kpa, "kPa absolute", mark)
    if np.nanmin(over) < NEAR_ZERO_KPA and np.nanmax(under) < DEEPEST_KPA:
        return _cells(np.where(below, -pressure_kpa, pressure_kpa), "kPa gauge", mark)
    raise _mixed(table, at, changes)


def _halves_joined(table: Table, mark: str) -> Table:
    """Join a column of vacuum and a column of pressure, of which one is always at zero."""
    at = [at for at, kind in enumerate(table.kinds) if kind is CellKind.NUMBER]
    thin = max(1, len(table.columns[0]) // 200)
    thinned = {one: numbers_of(table.columns[one][::thin], decimal_mark=mark) for one in at}
    for first in at:
        for other in at:
            if first >= other or not _take_turns(thinned[first], thinned[other]):
                continue
            return _joined(table, first, other, mark)
    return table


def _take_turns(first: Array, other: Array) -> bool:
    """Tell two columns of which one is at zero whenever the other is not."""
    known = np.isfinite(first) & np.isfinite(other)
    if np.count_nonzero(known) < 20:
        return False
    parts = []
    for values in (first[known], other[known]):
        top = float(np.max(values))
        if np.min(values) < 0.0 or top <= 0.0:
            return False
        parts.append(values > 0.03 * top)
    apart = np.mean(parts[0] & parts[1]) < 0.02
    return bool(apart and all(np.mean(part) > 0.08 for part in parts))


def _joined(table: Table, first: int, other: int, mark: str) -> Table:
    said = {at: said_of(table, at) for at in (first, other)}
    vacuum = [at for at in said if names_vacuum(table.headings[at])]
    mercury = [at for at in said if said[at].unit in MERCURY]
    below = vacuum if len(vacuum) == 1 else mercury
    roles = {one.role for one in said.values()}
    if roles & {"temperature", "stage", "set", "lethality", "counter"}:
        return table
    if len(below) != 1 or not all(one.unit in TO_KPA for one in said.values()):
        raise CannotTellError(
            f"columns {first + 1} and {other + 1} look like vacuum and pressure of one gauge, and "
            "which is which, or its unit, is not said; write both into their headings"
        )
    over = other if below[0] == first else first
    kpa = {at: TO_KPA[one.unit](numbers_of(table.columns[at], decimal_mark=mark))
           for at, one in said.items()}  # fmt: skip
    columns = list(table.columns)
    columns[over] = _cells(kpa[over] - kpa[below[0]], "kPa gauge", mark)
    kinds = list(table.kinds)
    kinds[below[0]] = CellKind.BLANK
    return replace(table, columns=tuple(columns), kinds=tuple(kinds))


def _cells(values: Array, unit: str, mark: str) -> tuple[str, ...]:
    return tuple(
        f"{value:.4f} {unit}".replace(".", mark).rstrip() if np.isfinite(value) else "-"
        for value in values.tolist()
    )


def _mixed(table: Table, at: int, rows: list[int]) -> CannotTellError:
    lines = ", ".join(str(table.first_line + row) for row in rows[:SHOWN_LINES])
    return CannotTellError(
        f"the unit in column {at + 1} is missing or changes, first in lines {lines}; write one "
        "unit throughout"
    )
