"""The table of a file's bytes, whether text or spreadsheet."""

from turnwell.steam.reading.content import lines_of, refuse_by_size
from turnwell.steam.reading.moments import with_colons
from turnwell.steam.reading.one_unit import in_one_unit
from turnwell.steam.reading.split import grid_of_lines
from turnwell.steam.reading.table import Table, table_in

__all__ = ["table_of"]

ZIP = b"PK\x03\x04"
COMPOUND = b"\xd0\xcf\x11\xe0"


def table_of(content: bytes, name: str) -> Table:
    """Open a file and find its table.

    Raises
    ------
    UnreadableFileError
        If it is no text and no spreadsheet, or holds no table.
    """
    refuse_by_size(content, name)
    if content.startswith((ZIP, COMPOUND)):
        from turnwell.steam.reading.workbook import workbook_table

        return in_one_unit(with_colons(workbook_table(content, name)))
    table = table_in(grid_of_lines(lines_of(content, name), name), name)
    return in_one_unit(with_colons(table))
