"""Spreadsheets are read like text; what is large, locked, unfinished or armed is refused."""

import tracemalloc
from datetime import datetime, timedelta
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile

import openpyxl
import pytest

from tests.steam.reading.test_reading import COUNT, STEP_S, P, T, clock
from turnwell.errors import CannotTellError, TurnwellError, UnreadableFileError
from turnwell.steam.reading import read_record

HEADINGS = ["time [s]", "T [°C]", "pressure [kPa abs]"]
START = datetime.fromisoformat("2026-05-18T10:00:00")
ROWS = [(STEP_S * at, float(t), float(p)) for at, (t, p) in enumerate(zip(T, P, strict=True))]


def packed(book: openpyxl.Workbook) -> bytes:
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def fill(sheet, time=lambda seconds: seconds, headings=HEADINGS) -> None:
    sheet.append(headings)
    for seconds, t, p in ROWS:
        sheet.append([time(seconds), t, p])


def book_of(time=lambda seconds: seconds, headings=HEADINGS) -> bytes:
    book = openpyxl.Workbook()
    fill(book.active, time, headings)
    return packed(book)


def zipped(**members: bytes) -> bytes:
    out = BytesIO()
    with ZipFile(out, "w", ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name.replace("__", "/").replace("_xml", ".xml"), content)
    return out.getvalue()


def added(content: bytes, name: str, member: bytes) -> bytes:
    """Put one more member into a workbook, or another in its place."""
    out = BytesIO()
    with ZipFile(BytesIO(content)) as old, ZipFile(out, "w", ZIP_DEFLATED) as new:
        for info in old.infolist():
            if info.filename != name:
                new.writestr(info.filename, old.read(info))
        new.writestr(name, member)
    return out.getvalue()


def ods(rows: str, more: str = "") -> bytes:
    """Write the least that ODF 1.3 asks of a spreadsheet."""
    office = "urn:oasis:names:tc:opendocument:xmlns"
    content = (
        f'<office:document-content xmlns:office="{office}:office:1.0" '
        f'xmlns:table="{office}:table:1.0" xmlns:text="{office}:text:1.0" office:version="1.3">'
        f'<office:body><office:spreadsheet><table:table table:name="Run">{rows}</table:table>'
        f"{more}</office:spreadsheet></office:body></office:document-content>"
    )
    out = BytesIO()
    with ZipFile(out, "w", ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", content)
        archive.writestr("META-INF/manifest.xml", "<manifest/>")
    return out.getvalue()


def ods_row(*cells: float | str) -> str:
    return "<table:table-row>" + "".join(map(ods_cell, cells)) + "</table:table-row>"


def ods_cell(cell: float | str) -> str:
    if isinstance(cell, str):
        kind = f'office:value-type="string"><text:p>{cell}</text:p>'
    else:
        kind = f'office:value-type="float" office:value="{cell}"><text:p>{cell:.1f}</text:p>'
    return f"<table:table-cell {kind}</table:table-cell>"


ODS = ods(ods_row(*HEADINGS) + "".join(ods_row(*row) for row in ROWS))
TIMES = {
    "seconds": book_of(),
    "dates of the sheet": book_of(lambda s: START + timedelta(seconds=s), ["time", "T", "p"]),
    "times of the sheet": book_of(lambda s: (START + timedelta(seconds=s)).time()),
    "dates as text": book_of(lambda s: f"{START + timedelta(seconds=s)}", ["time", "T", "p"]),
    "clock as text": book_of(lambda s: clock(s + 36_000)),
    "days as bare numbers": book_of(lambda s: 46_160.4 + s / 86_400, ["time", "T", "p"]),
    "open document": ODS,
}


@pytest.mark.parametrize("content", TIMES.values(), ids=TIMES.keys())
def test_a_sheet_gives_the_values_that_were_written(content):
    record = read_record(content, "run.xlsx")
    assert record.time_s == pytest.approx([row[0] for row in ROWS], abs=0.01)
    assert record.temperature_c == pytest.approx(T, abs=1e-6)
    assert record.pressure_kpa == pytest.approx(P, abs=1e-6)


def test_dates_of_a_sheet_give_the_start():
    assert read_record(TIMES["dates of the sheet"], "run.xlsx").started_at == START


def test_a_record_is_found_among_a_hundred_sheets():
    book = openpyxl.Workbook()
    for number in range(99):
        book.create_sheet(f"Note {number}").append(["nothing", "here"])
    fill(book.worksheets[57])
    assert read_record(packed(book), "run.xlsx").counts.kept == COUNT


def test_records_in_two_sheets_are_refused_by_their_names():
    book = openpyxl.Workbook()
    fill(book.active)
    fill(book.create_sheet("Afternoon"))
    with pytest.raises(CannotTellError, match="Sheet and Afternoon"):
        read_record(packed(book), "run.xlsx")


def test_results_of_formulas_are_read_and_formulas_without_them_refused():
    bare = book_of(lambda s: f"={s}+0")
    with pytest.raises(UnreadableFileError, match="formulas without their results"):
        read_record(bare, "run.xlsx")
    with ZipFile(BytesIO(bare)) as archive:
        sheet = archive.read("xl/worksheets/sheet1.xml").decode()
    for seconds, _, _ in ROWS:
        sheet = sheet.replace(f"<f>{seconds}+0</f><v />", f"<f>{seconds}+0</f><v>{seconds}</v>")
        sheet = sheet.replace(f"<f>{seconds}+0</f><v></v>", f"<f>{seconds}+0</f><v>{seconds}</v>")
    worked_out = added(bare, "xl/worksheets/sheet1.xml", sheet.encode())
    assert read_record(worked_out, "run.xlsx").counts.kept == COUNT


def test_a_heading_merged_over_two_columns_names_both():
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["", "Chamber", ""])
    fill(sheet, headings=["Time [s]", "Temperature [°C]", "Pressure [kPa abs]"])
    sheet.merge_cells("B1:C1")
    record = read_record(packed(book), "run.xlsx")
    assert record.columns == {"time": 1, "temperature": 2, "pressure": 3}


def far(cell: str) -> bytes:
    book = openpyxl.Workbook()
    book.active["A1"], book.active[cell] = 1, 2
    return packed(book)


def sparse_sheets() -> bytes:
    book = openpyxl.Workbook()
    for _ in range(20):
        sheet = book.create_sheet()
        sheet["A1"], sheet["IV9000"] = 1, 2
    return packed(book)


ZEROS = b"0" * 40_000_000
MANIFEST = b"<manifest:file-entry><manifest:encryption-data/></manifest:file-entry>"
REFUSED = {
    "empty": (packed(openpyxl.Workbook()), "no sheet"),
    "last cell": (far("XFD1048576"), "1,048,576 rows"),
    "wide": (far("XFD1"), "16,384 columns"),
    "sparse sheets": (sparse_sheets(), "cells"),
    "cells without places": (
        added(book_of(), "xl/worksheets/sheet1.xml",
              b"<worksheet><sheetData><row>" + b"<c><v>1</v></c>" * 5_100_000), "cells"),
    "bomb": (zipped(xl__workbook_xml=ZEROS, a=ZEROS, b=ZEROS, c=ZEROS), "unpacks to more"),
    "repeated rows": (
        ods(ods_row("a", "b").replace("row>", 'row table:number-rows-repeated="900000">', 1)),
        "900,000 rows"),
    "repeated cells": (
        ods(ods_row("a").replace("cell ", 'cell table:number-columns-repeated="90000" ', 1)),
        "90,000 columns"),
    "macros": (added(book_of(), "xl/vbaProject.bin", b"macro"), "holds macros"),
    "binary sheets": (zipped(**{"xl__workbook.bin": b"x"}), "binary form"),
    "locked ods": (added(ODS, "META-INF/manifest.xml", MANIFEST), "password"),
    "locked xlsx": (
        b"\xd0\xcf\x11\xe0" + b"\0" * 600 + "EncryptedPackage".encode("utf-16-le"), "password"),
    "old binary": (b"\xd0\xcf\x11\xe0" + b"\0" * 600, "old binary"),
    "other archive": (zipped(a=b"text"), "not a spreadsheet"),
    "entities": (zipped(xl__workbook_xml=b'<!DOCTYPE a [<!ENTITY b "c">]>'), "broken"),
    "cut off": (book_of()[:3000], "broken"),
}  # fmt: skip


@pytest.mark.parametrize(("content", "match"), REFUSED.values(), ids=REFUSED.keys())
def test_what_is_no_record_is_refused_in_bounded_memory(content, match):
    tracemalloc.start()
    try:
        with pytest.raises(TurnwellError, match=match) as refused:
            read_record(content, "run.xlsx")
        assert tracemalloc.get_traced_memory()[1] < 450e6
    finally:
        tracemalloc.stop()
    assert len(str(refused.value)) < 200
