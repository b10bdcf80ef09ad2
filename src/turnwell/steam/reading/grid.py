"""Rows of cells as they stand in a file, before anybody knows what they mean."""

from dataclasses import dataclass

__all__ = ["MAX_BYTES", "MAX_CELL_CHARACTERS", "MAX_COLUMNS", "MAX_ROWS", "Grid", "place_of"]

MAX_BYTES = 64_000_000
# 55 hours at one row a second; a run takes one.
MAX_ROWS = 200_000
MAX_COLUMNS = 256
MAX_CELL_CHARACTERS = 20_000


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """The cells of one table.

    Parameters
    ----------
    rows : list of list of str
        One for each line of the file, blank ones too; a line may have cells too few or too many.
    form : str
        How the cells were told apart: ``"semicolon"``, ``"spaces"``, ``"sheet"`` ...
    spans : tuple of (int, int)
        Of a printer's roll: where each column begins and ends in a line.
    lines : list of str
        Of a printer's roll: its lines as they stand, for headings wider than their column.
    first_line : int
        Line of the file, from 1, of the first row.
    """

    rows: list[list[str]]
    form: str
    spans: tuple[tuple[int, int], ...] = ()
    lines: list[str] | None = None
    first_line: int = 1


def place_of(name: str) -> str:
    r"""Give a file's name as a sentence shows it: short, and without what upsets a terminal.

    >>> place_of("run\n1.csv")
    'run?1.csv'
    """
    shown = "".join(mark if mark.isprintable() else "?" for mark in name)
    return shown if len(shown) <= 80 else f"{shown[:40]}...{shown[-37:]}"
