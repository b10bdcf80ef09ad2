"""The table of many files as CSV or JSON.

A text cell that begins as a formula does in a spreadsheet gets an apostrophe before it, so that a
file's name can run nothing.
"""

import csv
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from io import StringIO
from typing import TypeAlias, TypeVar

import msgspec

from turnwell.cli.folder.row import Row

__all__ = ["Cell", "Columns", "table_csv", "table_json"]

RowT = TypeVar("RowT", bound=Row)
Cell: TypeAlias = str | float | bool | None
# Columns by their names, each with what it says of a row.
Columns: TypeAlias = Mapping[str, Callable[[RowT], Cell]]

_PARTS = ("value", "low", "high", "unit", "verdict")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def table_csv(
    rows: Sequence[RowT],
    *,
    facts: Columns[RowT],
    reading_keys: Sequence[str],
    findings: Columns[RowT],
) -> str:
    """Write the rows under a header, an empty cell where there is nothing to say.

    Parameters
    ----------
    rows : sequence of Row
    facts, findings : mapping
        Columns before the readings, and after them; true and false are written as yes and no.
    reading_keys : sequence of str
        Readings that have columns, there or not, in this order; any that a row has besides follow.
    """
    keys = list(dict.fromkeys((*reading_keys, *_keys(rows))))
    target = StringIO()
    writer = csv.writer(target, lineterminator="\n")
    columns = [f"{key}_{part}" for key in keys for part in _PARTS]
    writer.writerow([*facts, *columns, *findings])
    for row in rows:
        before, after = (
            [_written(cell(row)) for cell in columns.values()] for columns in (facts, findings)
        )
        writer.writerow([*before, *_figures(row, keys), *after])
    return target.getvalue()


def table_json(rows: Sequence[Row], *, schema: str, version: str, skipped: int, name: str) -> str:
    """Write the rows as one document, under the name of what they are."""
    document = {
        "schema": schema,
        "version": version,
        "skipped": skipped,
        name: msgspec.to_builtins(rows),
    }
    return json.dumps(document, allow_nan=False, indent=1) + "\n"


def _keys(rows: Sequence[Row]) -> Iterator[str]:
    return (figure.key for row in rows for figure in row.readings)


def _figures(row: Row, keys: Sequence[str]) -> Iterator[Cell]:
    figures = {figure.key: figure for figure in row.readings}
    for key in keys:
        figure = figures.get(key)
        yield from (None if figure is None else getattr(figure, part) for part in _PARTS)


def _written(cell: Cell) -> Cell:
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    return _guarded(cell) if isinstance(cell, str) else cell


def _guarded(text: str) -> str:
    r"""Give a text that no spreadsheet takes for a formula; its carriage returns show as ``\r``.

    The writer would leave them bare, and a reader take them for the end of the row.
    """
    guarded = f"'{text}" if text.startswith(_FORMULA) else text
    return guarded.replace("\r", "\\r")
