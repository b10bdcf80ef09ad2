"""The table in a grid: where its values begin and end, its headings, what its cells look like."""

import re
from collections import Counter
from dataclasses import dataclass
from hashlib import sha256
from itertools import zip_longest

from turnwell.errors import UnreadableFileError
from turnwell.steam.reading.cells import CellKind, kind_of
from turnwell.steam.reading.content import ADVICE
from turnwell.steam.reading.grid import MAX_ROWS, Grid, place_of

__all__ = ["Table", "table_in"]

SAMPLE = 120
MOST_HEADING_ROWS = 4
STARTS = frozenset("0123456789+-.,\u2212")
TIME_FIRST = re.compile(r"^\s*\d{1,2}:\d\d(?::\d\d)?\s")
VALUED = {CellKind.NUMBER, CellKind.CLOCK, CellKind.DATE, CellKind.MOMENT}


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """Columns of cells with their headings.

    Parameters
    ----------
    columns : tuple of tuple of str
        The cells from the first row of values to the last, whatever stands between.
    kinds : tuple of CellKind
        What most cells of each column look like.
    headings : tuple of str
    preamble : tuple of str
        Lines above the table.
    first_line : int
        Line of the file, from 1, of the first row of `columns`.
    signature : str
        Equal for files of the same shape.
    notes : tuple of (int, str)
        Lines between the rows that hold words instead of values, with the row they stand at.
    """

    columns: tuple[tuple[str, ...], ...]
    kinds: tuple[CellKind, ...]
    headings: tuple[str, ...]
    preamble: tuple[str, ...]
    first_line: int
    signature: str
    notes: tuple[tuple[int, str], ...] = ()


def table_in(grid: Grid, name: str) -> Table:
    """Find the table of values.

    Raises
    ------
    UnreadableFileError
        If there is none, or it has too many rows.
    """
    rows = grid.rows
    filled = [at for at, row in enumerate(rows) if any(cell.strip() for cell in row)]
    step = max(1, len(filled) // SAMPLE)
    kinds = _kinds([rows[at] for at in filled[::step]])
    if sum(kind in VALUED for kind in kinds) < 2:
        raise _none(name)
    needed = [at for at, kind in enumerate(kinds) if kind in VALUED]
    first = next((at for at in filled if _is_value_row(rows[at], kinds, needed)), None)
    if first is None:
        raise _none(name)
    last = next(at for at in reversed(filled) if _is_value_row(rows[at], kinds, needed))
    if filled[-1] > last and _is_cut_short(rows[filled[-1]]):
        last = filled[-1]
    if last - first + 1 > MAX_ROWS:
        raise UnreadableFileError(
            f"{place_of(name)} has {last - first + 1:,} rows, at most {MAX_ROWS:,} are read; cut "
            "it into one file for each run"
        )
    body = rows[first : last + 1]
    width = len(kinds)
    columns = tuple(zip_longest(*body, fillvalue=""))[:width]
    headings = _headings(grid, first, width)
    shape = "|".join([grid.form, *(kind.value for kind in kinds), *headings]).casefold()
    return Table(
        columns=columns,
        kinds=kinds,
        headings=headings,
        preamble=tuple(grid.lines[:first] if grid.lines else map(" ".join, rows[:first])),
        first_line=grid.first_line + first,
        signature=sha256(shape.encode()).hexdigest()[:16],
        notes=_notes(grid, first, body, needed),
    )


def _notes(
    grid: Grid, first: int, body: list[list[str]], needed: list[int]
) -> tuple[tuple[int, str], ...]:
    """Give the lines of words between rows; a roll's are not cut by its columns."""
    found = []
    second = needed[1]
    for at, row in enumerate(body):
        if len(row) > second and row[second].lstrip()[:1] in STARTS:
            continue
        words = grid.lines[first + at] if grid.lines is not None else " ".join(row)
        words = TIME_FIRST.sub("", words).strip(" \t-*=#>:.")
        if words:
            found.append((at, words))
    return tuple(found)


def _none(name: str) -> UnreadableFileError:
    return UnreadableFileError(
        f"{place_of(name)} holds no rows of time, temperature and pressure; {ADVICE}"
    )


def _kinds(rows: list[list[str]]) -> tuple[CellKind, ...]:
    """Give what most cells of each column look like, among rows of values."""
    shapes = [tuple(kind_of(cell) for cell in row) for row in rows]
    valued = [shape for shape in shapes if sum(kind in VALUED for kind in shape) >= 2]
    if not valued:
        return ()
    width = Counter(map(len, valued)).most_common(1)[0][0]
    usual = [shape for shape in valued if len(shape) == width]
    kinds = []
    for cells in zip(*usual, strict=True):
        counts = Counter(kind for kind in cells if kind is not CellKind.BLANK)
        kinds.append(counts.most_common(1)[0][0] if counts else CellKind.BLANK)
    return tuple(kinds)


def _is_value_row(row: list[str], kinds: tuple[CellKind, ...], needed: list[int]) -> bool:
    found = [kind_of(row[at]) == kinds[at] for at in needed if at < len(row)]
    clocks = [at for at in needed if kinds[at] in {CellKind.CLOCK, CellKind.MOMENT}]
    timed = all(at < len(row) and kind_of(row[at]) == kinds[at] for at in clocks[:1])
    return timed and sum(found) >= max(2, (len(needed) + 1) // 2)


def _is_cut_short(row: list[str]) -> bool:
    """Tell a last line of figures that breaks off from words below the table."""
    text = "".join(row).strip()
    return bool(re.fullmatch(r"[\d:.,;\s-]+", text))


def _headings(grid: Grid, first: int, width: int) -> tuple[str, ...]:
    """Give the words above each column, of the rows just above the values."""
    found: list[list[str]] = []
    for at in range(first - 1, max(-1, first - 1 - MOST_HEADING_ROWS - 2), -1):
        row = [cell.strip() for cell in _heading_cells(grid, at, width)]
        filled = [cell for cell in row if cell]
        if not filled or all(set(cell) <= set("-=_*+ .") for cell in filled):
            if found:
                break
            continue
        if _ends_headings(row, filled, found, width):
            break
        found.insert(0, (row + [""] * width)[:width])
        if len(found) == MOST_HEADING_ROWS:
            break
    for upper in found[:-1]:
        # A heading merged over several columns stands in the first of them only.
        for at in range(1, width):
            if not upper[at] and found[-1][at] and upper[at - 1]:
                upper[at] = upper[at - 1]
    return (
        tuple(" ".join(filter(None, parts)) for parts in zip(*found, strict=True)) or ("",) * width
    )


def _ends_headings(row: list[str], filled: list[str], found: list[list[str]], width: int) -> bool:
    """Tell a line that is no heading of the columns below it."""
    if len(filled) < max(1, (width + 1) // 2 - bool(found)) or len(row) > width + 1:
        return True
    if sum(kind_of(cell) in VALUED for cell in filled) > len(filled) / 3:
        return True
    # Words above the whole table are no heading merged over some of its columns.
    is_title = bool(row[0]) and not any(row[1:])
    return bool(found) and all(found[-1]) and (len(row) < width or is_title)


def _heading_cells(grid: Grid, at: int, width: int) -> list[str]:
    """Give the cells of a line above the table; a roll's words may be wider than its columns."""
    if grid.lines is None:
        return grid.rows[at]
    line = grid.lines[at]
    apart = list(re.finditer(r"\S+(?: \S+)*", line))
    if len(apart) == width:
        return [found.group() for found in apart]
    cells = [""] * width
    parts = apart if 2 * len(apart) > width else list(re.finditer(r"\S+", line))
    for found in parts:
        nearest = max(range(len(grid.spans)), key=lambda at: _overlap(grid.spans[at], found.span()))
        cells[nearest] = f"{cells[nearest]} {found.group()}".strip()
    return cells


def _overlap(column: tuple[int, int], word: tuple[int, int]) -> int:
    """Give how far a word stands over a column; below zero, how far beside it."""
    return min(column[1], word[1]) - max(column[0], word[0])
