"""The table of a spreadsheet, .xlsx or .ods, bounded before anything is built from it.

What a sheet would take is told from its XML, inflated piece by piece: a few kilobytes may claim a
sheet of a milliard cells.
"""

import datetime as dt
import re
import struct
import zlib
from io import BytesIO
from zipfile import BadZipFile, ZipFile, ZipInfo

from turnwell.errors import CannotTellError, UnreadableFileError
from turnwell.steam.reading.grid import MAX_COLUMNS, MAX_ROWS, Grid, place_of
from turnwell.steam.reading.table import Table, table_in

__all__ = ["workbook_table"]

MAX_INFLATED = 128_000_000
MAX_CELLS = 5_000_000
MAX_SHEETS = 256
COMPOUND = b"\xd0\xcf\x11\xe0"
_SAVE = "save it as .xlsx without macros, or as CSV, and give that file"
_REFERENCE = re.compile(rb'\sr="([A-Z]{0,3})(\d{1,9})"')
_REPEATED = re.compile(rb'number-(?:columns|rows)-repeated="(\d+)"')
_BARE_FORMULA = re.compile(rb"</f>\s*(?:<v\s*/>|<v></v>)?\s*</c>|<f[^>]*/>\s*</c>")


def workbook_table(content: bytes, name: str) -> Table:
    """Find the one table of a spreadsheet.

    Raises
    ------
    UnreadableFileError
        If it is no .xlsx or .ods, is larger than a record, or holds none.
    CannotTellError
        If several sheets hold a table.
    """
    shown = place_of(name)
    if content.startswith(COMPOUND):
        locked = "EncryptedPackage".encode("utf-16-le") in content
        what = "locked by a password" if locked else "of an old binary form"
        raise UnreadableFileError(f"{shown} is a document {what}; {_SAVE}")
    bare_formulas = _look_over(content, shown)
    found = _tables(content, name)
    if len(found) > 1:
        titles = " and ".join(place_of(title) for title in found)
        raise CannotTellError(
            f"{shown} holds records in more than one sheet, {titles} the first; save the sheet of "
            "one run as a file of its own"
        )
    table = next(iter(found.values()), None)
    # A sum at the foot of a record may be missing, a column of it may not.
    if table is not None and 2 * bare_formulas < len(table.columns[0]):
        return table
    if bare_formulas:
        raise UnreadableFileError(
            f"{shown} holds formulas without their results; open it in a spreadsheet program and "
            "save it again"
        )
    raise UnreadableFileError(
        f"no sheet of {shown} holds rows of time, temperature and pressure; save the record's "
        "sheet as CSV"
    )


def _look_over(content: bytes, shown: str) -> int:
    """Refuse what would not fit; count the formulas without results."""
    try:
        with ZipFile(BytesIO(content)) as archive:
            members = archive.infolist()
    except (BadZipFile, struct.error, ValueError, OSError, NotImplementedError) as error:
        raise UnreadableFileError(f"{shown} is a broken spreadsheet; {_SAVE}") from error
    names = {member.filename.casefold() for member in members}
    if any(name.endswith("vbaproject.bin") for name in names):
        raise UnreadableFileError(f"{shown} holds macros; {_SAVE}")
    if any(name.endswith("workbook.bin") for name in names):
        raise UnreadableFileError(f"{shown} is of a binary form; {_SAVE}")
    if not names & {"xl/workbook.xml", "content.xml"}:
        raise UnreadableFileError(f"{shown} is a zip archive, not a spreadsheet; {_SAVE}")
    if any(member.flag_bits & 1 for member in members):
        raise UnreadableFileError(f"{shown} is locked by a password; {_SAVE}")
    left, cells, bare = MAX_INFLATED, 0, 0
    for member in members:
        xml = _inflated(content, member, left, shown)
        left -= len(xml)
        if b"<!DOCTYPE" in xml[:4096] or b"<!ENTITY" in xml[:4096]:
            raise UnreadableFileError(f"{shown} is a broken spreadsheet; {_SAVE}")
        cells += _cells_of(member.filename.casefold(), xml, shown)
        bare += len(_BARE_FORMULA.findall(xml)) if b"<f" in xml else 0
    if cells > MAX_CELLS:
        raise UnreadableFileError(
            f"{shown} has sheets of {cells:,} cells, at most {MAX_CELLS:,} are read; save the "
            "record's sheet alone"
        )
    return bare


def _inflated(content: bytes, member: ZipInfo, left: int, shown: str) -> bytes:
    """Inflate a member for real: what it declares may be a lie."""
    at = member.header_offset
    head = content[at : at + 30]
    if len(head) < 30:
        raise UnreadableFileError(f"{shown} is a broken spreadsheet; {_SAVE}")
    begin = at + 30 + int.from_bytes(head[26:28], "little") + int.from_bytes(head[28:30], "little")
    packed = content[begin : begin + member.compress_size]
    if member.compress_type == 0:
        plain = packed
    elif member.compress_type == zlib.DEFLATED:
        try:
            plain = zlib.decompressobj(-15).decompress(packed, left + 1)
        except zlib.error as error:
            raise UnreadableFileError(f"{shown} is a broken spreadsheet; {_SAVE}") from error
    else:
        raise UnreadableFileError(f"{shown} is packed in an unusual way; {_SAVE}")
    if len(plain) > left or member.file_size > MAX_INFLATED:
        raise UnreadableFileError(
            f"{shown} unpacks to more than {MAX_INFLATED / 1e6:.0f} MB, which no record does; "
            f"{_SAVE}"
        )
    return plain


def _cells_of(member: str, xml: bytes, shown: str) -> int:
    """Give the cells a member would take; refuse a sheet whose cells lie gigabytes apart."""
    extents: list[tuple[int, int]] = []
    written = 0
    if member.startswith("xl/worksheets/"):
        written = xml.count(b"<c ") + xml.count(b"<c>")
        rows = columns = 0
        for letters, number in _REFERENCE.findall(xml) if written <= MAX_CELLS else ():
            rows, columns = max(rows, int(number)), max(columns, _column(letters))
        extents = [(rows, columns)]
    elif member == "content.xml":
        extents = [_extent(table) for table in xml.split(b"<table:table ")[1:]]
    elif member == "meta-inf/manifest.xml" and b"encryption-data" in xml:
        raise UnreadableFileError(f"{shown} is locked by a password; {_SAVE}")
    for rows, columns in extents:
        _refuse_wide(rows, columns, shown)
    return max(written, sum(rows * columns for rows, columns in extents))


def _refuse_wide(rows: int, columns: int, shown: str) -> None:
    if rows > MAX_ROWS + 1000 or columns > MAX_COLUMNS or rows * columns > MAX_CELLS:
        raise UnreadableFileError(
            f"{shown} has a sheet of {rows:,} rows and {columns:,} columns, at most {MAX_ROWS:,} "
            f"and {MAX_COLUMNS} are read; save the record's rows and columns alone"
        )


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + letter - 64
    return number


def _extent(table: bytes) -> tuple[int, int]:
    """Give rows and columns of a sheet of an .ods up to its last cell with a value."""
    most_rows = most_columns = rows = 0
    for row in table.split(b"<table:table-row")[1:]:
        rows += _repeats(row)
        cells = 0
        for cell in re.split(rb"<table:(?:covered-)?table-cell", row)[1:]:
            cells += _repeats(cell)
            if b"office:value" in cell or b"<text:p" in cell:
                most_rows, most_columns = max(most_rows, rows), max(most_columns, cells)
    return most_rows, most_columns


def _repeats(element: bytes) -> int:
    found = _REPEATED.search(element.split(b">", 1)[0])
    return int(found.group(1)) if found else 1


def _tables(content: bytes, name: str) -> dict[str, Table]:
    """Give the sheets that hold a table, two at most."""
    from python_calamine import CalamineError, CalamineWorkbook

    found: dict[str, Table] = {}
    try:
        book = CalamineWorkbook.from_filelike(BytesIO(content))
        for title in book.sheet_names[:MAX_SHEETS]:
            rows = book.get_sheet_by_name(title).to_python(skip_empty_area=False)
            cells = [[_shown(cell) for cell in row] for row in rows]
            try:
                found[title] = table_in(Grid(cells, "sheet"), name)
            except UnreadableFileError:
                # A sheet without a table is passed over; whether any has one is told above.
                continue
            if len(found) > 1:
                break
    except (CalamineError, OSError, ValueError) as error:
        raise UnreadableFileError(f"{place_of(name)} is a broken spreadsheet; {_SAVE}") from error
    return found


def _shown(cell: object) -> str:
    """Write a cell as text does."""
    if isinstance(cell, bool):
        return str(cell)
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, dt.datetime):
        return cell.isoformat(sep=" ")
    if isinstance(cell, dt.timedelta):
        seconds = cell.total_seconds()
        return f"{int(seconds // 3600):02d}:{int(seconds % 3600 // 60):02d}:{seconds % 60:02.0f}"
    if isinstance(cell, (dt.date, dt.time)):
        return cell.isoformat()
    return str(cell).strip()
