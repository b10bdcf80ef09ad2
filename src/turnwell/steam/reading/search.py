"""One table with what its headings and cells say, and what stays open while it is being told."""

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.reading.cells import CellKind, decimal_mark_of, numbers_of, unit_of
from turnwell.steam.reading.headings import Said, said_by, zero_in
from turnwell.steam.reading.layout import Layout
from turnwell.steam.reading.table import Table
from turnwell.steam.reading.unsure import OpenChoice
from turnwell.words import Message

__all__ = ["PHYSICAL_UNITS", "Search", "mark_of", "said_of", "varies"]

Array = NDArray[np.float64]
# A kilogram-force is 2 % from a bar, which no run can tell: it is tried where it is named.
PHYSICAL_UNITS = ("kPa", "bar", "mbar", "MPa", "Pa", "psi", "mmHg", "inHg")


class Search:
    """One table with what its headings and cells say, while it is being told.

    Questions and what a column was told by are gathered in it, by each step in turn.

    Parameters
    ----------
    table : Table
    given : Layout
        What is fixed; None in it is open.
    atmosphere_kpa : float
    """

    def __init__(self, table: Table, given: Layout, atmosphere_kpa: float) -> None:
        self.table = table
        self.given = given
        self.atmosphere_kpa = atmosphere_kpa
        self.said = tuple(said_of(table, at) for at in range(len(table.kinds)))
        self.mark = mark_of(table, given.decimal_mark)
        self.numbers: dict[int, Array] = {
            at: numbers_of(table.columns[at], decimal_mark=self.mark)
            for at, kind in enumerate(table.kinds)
            if kind is CellKind.NUMBER
        }
        self.questions: list[OpenChoice] = []
        self.told_by: dict[int, Message] = {}

    def ask(self, key: str, choices: tuple[str, ...], option: str, **params: str) -> None:
        """Leave one thing open."""
        filled = {"choices": " or ".join(choices), "option": option, **params}
        self.questions.append(
            OpenChoice(key, Message(f"steam_record.ask.{key}", filled), choices, option)
        )

    def tell(self, at: int | None, how: str) -> None:
        """Note what a column was told by."""
        if at is not None:
            self.told_by[at] = Message(f"steam_record.told.{how}")


def varies(values: Array) -> bool:
    """Tell whether a column changes at all."""
    known = values[np.isfinite(values)]
    return known.size >= 2 and bool(np.ptp(known) > 0.0)


def mark_of(table: Table, confirmed: str | None = None) -> str:
    """Tell the decimal mark of a table; what was confirmed holds where its numbers do not tell."""
    cells = [
        cell
        for column, kind in zip(table.columns, table.kinds, strict=True)
        if kind is CellKind.NUMBER
        for cell in column[:: max(1, len(column) // 60)]
    ]
    return decimal_mark_of(cells, otherwise=confirmed)


def said_of(table: Table, at: int) -> Said:
    """Give what a heading says of a column, or the unit written in its cells, which is nearer."""
    said = said_by(table.headings[at]) if table.headings[at] else Said()
    if table.kinds[at] is not CellKind.NUMBER:
        return said
    cells = [cell for cell in table.columns[at][:40] if cell.strip()]
    unit = unit_of(cells[len(cells) // 2]) if cells else None
    written = said_by(f"[{unit}]") if unit else Said()
    if not written.unit:
        return said
    zero = zero_in(f"[{unit}]") or ("" if said.unit not in {"", written.unit} else said.zero)
    return Said(said.role or written.role, said.place, written.unit, zero or said.zero)
