"""Columns of words: whether a unit failed, and names of units, causes, groups and offices."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.life.table.cells import Column
from turnwell.life.table.content import shown

__all__ = [
    "EVENT_WORDS",
    "FAILED_WORDS",
    "UNNAMED",
    "Labels",
    "flags_of",
    "ids_of",
    "labels_of",
]

# Code of a cell that names nothing.
UNNAMED = -1

_TRUTH = {"1": True, "0": False, "1.0": True, "0.0": False, "yes": True, "no": False}
_TRUTH |= {"true": True, "false": False}
FAILED_WORDS: Mapping[str, bool] = _TRUTH | {"failed": True, "running": False}
EVENT_WORDS: Mapping[str, bool] = _TRUTH | {"return": True, "end": False}
_NAMELESS = {"", "unknown", "not known", "?"}


@dataclass(frozen=True, slots=True, eq=False)
class Labels:
    """Names of a column and, for every row, the place of its name, shape (n,), or `UNNAMED`."""

    names: tuple[str, ...]
    codes: NDArray[np.intp]


def flags_of(column: Column, words: Mapping[str, bool], allowed: str) -> NDArray[np.bool_]:
    """Read a column of yes and no, shape (n,).

    Parameters
    ----------
    column : Column
    words : mapping of str to bool
        In lower case.
    allowed : str
        How a refusal names them.

    Raises
    ------
    InputError
        At the first cell with another word.
    """
    read: dict[str, bool] = {}
    for cell in dict.fromkeys(column.cells):
        word = cell.strip().lower()
        if word not in words:
            at = column.first_of(cell)
            found = f"{column.told(at)} is not known" if word else "the cell is empty"
            raise column.refusal(at, f"{found}; write {allowed}")
        read[cell] = words[word]
    return np.fromiter(map(read.__getitem__, column.cells), np.bool_, len(column.cells))


def labels_of(column: Column, *, most: int, can_be_empty: bool = False) -> Labels:
    """Read a column of names; those alike but for case and spaces are one, as first written.

    Parameters
    ----------
    column : Column
    most : int
        As many names as are read; a column with more is something else.
    can_be_empty : bool
        Whether a cell may name nothing.

    Raises
    ------
    InputError
        At the first empty cell where none may be, or where there are too many names.
    """
    names: dict[str, str] = {}
    places: dict[str, int] = {}
    different = dict.fromkeys(column.cells)
    for cell in different:
        key = "".join(cell.split()).casefold()
        if " ".join(cell.split()).casefold() in _NAMELESS and can_be_empty:
            places[cell] = UNNAMED
            continue
        if not key:
            raise column.refusal(
                column.first_of(cell), "the cell is empty; write the name, or take the row out"
            )
        names.setdefault(key, shown(" ".join(cell.split())))
        if len(names) > most:
            raise InputError(
                f"{column.file}, column {shown(column.heading)}: more than {most:,} different "
                "names; take another column, or put names together"
            )
    order = {key: place for place, key in enumerate(names)}
    for cell in different:
        if cell not in places:
            places[cell] = order["".join(cell.split()).casefold()]
    return Labels(tuple(names.values()), _codes(places, column.cells))


def ids_of(column: Column) -> Labels:
    """Read a column of names of units; case tells two of them apart, spaces around do not.

    Raises
    ------
    InputError
        At the first empty cell.
    """
    cells = [cell.strip() for cell in column.cells]
    places = dict.fromkeys(cells, 0)
    if "" in places:
        raise column.refusal(cells.index(""), "the cell is empty; write the name of the unit")
    names = tuple(places)
    if len(names) == len(cells):
        return Labels(names, np.arange(len(cells), dtype=np.intp))
    places = {name: place for place, name in enumerate(names)}
    return Labels(names, _codes(places, cells))


def _codes(places: Mapping[str, int], cells: Iterable[str]) -> NDArray[np.intp]:
    return np.fromiter(map(places.__getitem__, cells), np.intp)
