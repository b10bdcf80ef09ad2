"""The cells of a table's text, column by column, each with the row it stands in.

Rows are counted as a spreadsheet counts them: the first line of the file is row 1, blank lines
count. A regular table, the usual one, is split at once; one with quotes, blank lines or rows of
other lengths is gone through row by row.
"""

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError, UnreadableFileError
from turnwell.life.table.content import shown

__all__ = ["MAX_COLUMNS", "MAX_ROWS", "Cells", "Column", "cells_of"]

MAX_ROWS = 2_000_000
MAX_COLUMNS = 200

_SEPARATORS = {"\t": "tabs", ";": "semicolons", ",": "commas"}
# How some spreadsheets begin a file, to say what parts its cells.
_SAYS_SEPARATOR = re.compile(r"sep=([;,\t])[;,\t]*\n", re.IGNORECASE)


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """One column of a table.

    Parameters
    ----------
    file : str
        Name of the file, as sentences show it.
    heading : str
        As the file writes it.
    cells : list of str
        May have spaces around what they hold.
    rows : sequence of int
        The row of each, from 1.
    separator : str
        What parts the cells of the file: a comma says that none stands in a number.
    """

    file: str
    heading: str
    cells: list[str]
    rows: Sequence[int]
    separator: str

    def refusal(self, at: int, says: str) -> InputError:
        """Give the error that names row and column; `at` is the cell's place from 0."""
        return InputError(f"{self.file}, row {self.rows[at]}, column {shown(self.heading)}: {says}")

    def told(self, at: int) -> str:
        """Give a cell as a sentence shows it."""
        return f"'{shown(self.cells[at])}'"

    def chosen(self, kept: NDArray[np.bool_]) -> "Column":
        """Give the column with some of its rows, by a mask over all of them."""
        places = np.flatnonzero(kept).tolist()
        return replace(
            self,
            cells=[self.cells[at] for at in places],
            rows=[self.rows[at] for at in places],
        )

    def has_text(self) -> NDArray[np.bool_]:
        """Give whether each cell holds anything, shape (n,)."""
        return np.fromiter((bool(cell.strip()) for cell in self.cells), np.bool_, len(self.cells))

    def first_of(self, cell: str) -> int:
        """Give the place of the first cell with this text."""
        return self.cells.index(cell)


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """A table of text.

    Parameters
    ----------
    file : str
        Name of the file, as sentences show it.
    headings : tuple of str
        Of row 1, without spaces around them.
    columns : tuple of list of str
        The cells below, one list a heading.
    rows : sequence of int
        The row of each cell of a column.
    separator : str
    """

    file: str
    headings: tuple[str, ...]
    columns: tuple[list[str], ...]
    rows: Sequence[int]
    separator: str

    def column(self, at: int) -> Column:
        """Give a column by its place."""
        return Column(self.file, self.headings[at], self.columns[at], self.rows, self.separator)


def cells_of(text: str, name: str, known: Sequence[str]) -> Cells:
    """Split a table's text.

    Parameters
    ----------
    text : str
        Lines parted by line feeds.
    name : str
        Of the file.
    known : sequence of str
        Headings that may be meant, in lower case: they tell what parts the cells.

    Raises
    ------
    UnreadableFileError
        If it holds too much, or no row.
    InputError
        If a row has more or fewer cells than there are headings.
    """
    file = shown(name)
    if text.count("\n") > MAX_ROWS:
        raise UnreadableFileError(
            f"{file} has more than {MAX_ROWS:,} rows, at most so many are read; cut it in two"
        )
    said = _SAYS_SEPARATOR.match(text)
    body = text[said.end() :] if said else text
    lead = 1 + (said is not None) + len(body) - len(body.lstrip("\n"))
    body = body.strip("\n")
    separator = said[1] if said else _separator(body, known)
    headings = _headings(body, separator, file)
    if not headings:
        raise UnreadableFileError(f"{file}, row {lead} holds no headings; write them into row 1")
    found = _at_once(body, separator, len(headings), lead)
    if found is None:
        found = _row_by_row(body, separator, len(headings), lead, file)
    rows, columns = found
    if not rows:
        raise UnreadableFileError(
            f"{file} holds headings and no row below them; give one row at least"
        )
    return Cells(file, headings, columns, rows, separator)


def _separator(body: str, known: Sequence[str]) -> str:
    """Tell what parts the cells by what makes the most of the first line's words headings."""
    line = body.partition("\n")[0].replace('"', "").lower()

    def headings_found(mark: str) -> int:
        return sum(_plain(cell) in known for cell in line.split(mark))

    return max(_SEPARATORS, key=lambda mark: (headings_found(mark), line.count(mark)))


def _plain(heading: str) -> str:
    return re.sub(r"[(\[].*", "", heading).strip()


def _headings(body: str, separator: str, file: str) -> tuple[str, ...]:
    try:
        first = next(csv.reader([body.partition("\n")[0]], delimiter=separator), [])
    except csv.Error as error:
        raise UnreadableFileError(f"{file}, row 1 cannot be read: {error}") from error
    headings = [cell.strip() for cell in first]
    while headings and not headings[-1]:
        headings.pop()
    if len(headings) > MAX_COLUMNS:
        raise UnreadableFileError(
            f"{file} has {len(headings):,} columns, at most {MAX_COLUMNS} are read; leave out "
            "those that are not needed"
        )
    return tuple(headings)


def _at_once(
    body: str, separator: str, width: int, lead: int
) -> tuple[Sequence[int], tuple[list[str], ...]] | None:
    """Split a table whose every row has a cell for each heading; None where one has not."""
    signs = np.frombuffer(body.encode("utf-8"), dtype=np.uint8)
    # In UTF-8 no part of a longer sign is one of these.
    is_mark = (signs == ord("\n")) | (signs == ord(separator))
    if '"' in body:
        if not _quotes_hold_cells(signs, is_mark):
            return None
        body = body.replace('"', "")
    ends = np.append(signs[is_mark] == ord("\n"), True)
    if ends.size % width or ends.size == width:
        return None
    by_row = ends.reshape(-1, width)
    if not by_row[:, -1].all() or by_row[:, :-1].any():
        return None
    flat = body.replace("\n", separator).split(separator)
    columns = tuple(flat[width + at :: width] for at in range(width))
    if "" in columns[0] or any(map(str.isspace, columns[0])):
        # It may be a row without anything, which is left out.
        return None
    return range(lead + 1, lead + 1 + len(columns[0])), columns


def _quotes_hold_cells(signs: NDArray[np.uint8], is_mark: NDArray[np.bool_]) -> bool:
    """Tell whether every pair of quotes holds one whole cell and no mark within."""
    quotes = np.flatnonzero(signs == ord('"'))
    if quotes.size % 2:
        return False
    opening, closing = quotes[::2], quotes[1::2]
    at_edge = np.concatenate([[True], is_mark, [True]])
    marks = np.flatnonzero(is_mark)
    within = np.searchsorted(marks, opening) != np.searchsorted(marks, closing)
    return bool(at_edge[opening].all() and at_edge[closing + 2].all() and not within.any())


def _row_by_row(
    body: str, separator: str, width: int, lead: int, file: str
) -> tuple[Sequence[int], tuple[list[str], ...]]:
    """Split a table with quotes, blank rows or rows of other lengths."""
    places: list[int] = []
    kept: list[list[str]] = []
    for place, row in _rows(body, separator, lead, file):
        if not any(cell.strip() for cell in row):
            continue
        if any(cell.strip() for cell in row[width:]) or len(row) < width:
            raise InputError(_wrong_length(len(row), width, separator, f"{file}, row {place}"))
        places.append(place)
        kept.append(row[:width])
    return places, tuple(list(column) for column in zip(*kept, strict=True))


def _rows(body: str, separator: str, lead: int, file: str) -> Iterator[tuple[int, list[str]]]:
    """Yield each row below the headings with its place."""
    reader = csv.reader(body.split("\n"), delimiter=separator, strict=True)
    try:
        next(reader)
        for row in reader:
            yield lead - 1 + reader.line_num, row
    except csv.Error as error:
        raise UnreadableFileError(
            f"{file}, row {lead - 1 + reader.line_num} cannot be read: {error}; look at its quotes"
        ) from error


def _wrong_length(cells: int, width: int, separator: str, place: str) -> str:
    advice = "correct the row"
    if separator == "," and cells > width:
        advice = (
            "where commas are decimals, part the cells by semicolons; where one stands in a word, "
            "put the word in quotes"
        )
    return f"{place} has {cells} cells where row 1 has {width} headings; {advice}"
