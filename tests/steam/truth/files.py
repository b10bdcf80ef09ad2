"""Writes an invented record as a file of a shuffled shape, with the truth of that shape."""

import csv
from dataclasses import dataclass
from datetime import datetime, timedelta
from io import BytesIO, StringIO

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.signal import lfilter

from tests.steam.truth.known import Truth
from tests.steam.truth.sensors import Logged
from tests.steam.truth.tongues import TONGUES, Tongue

__all__ = ["PRESSURES_KPA", "Shape", "Written", "draw_shape", "written"]

# One of each in kPa; NIST SP 811.
PRESSURES_KPA = {
    "kPa": 1.0,
    "bar": 100.0,
    "mbar": 0.1,
    "psi": 6.894757,
    "mmHg": 0.1333224,
    "inHg": 3.386389,
}
DIGITS = {"kPa": 1, "bar": 3, "mbar": 0, "psi": 1, "mmHg": 0, "inHg": 1}
ZERO_MARKS = {"absolute": (" abs", "(a)", " absolute"), "gauge": (" gauge", "(g)", " rel")}
CLOCKS = ("clock", "iso", "day first", "month first", "dots", "date apart")
ELAPSED = ("s", "min", "hh:mm:ss")
STAGES = ("air removal", "heating", "plateau", "exhaust", "drying", "air inlet")


@dataclass(frozen=True, slots=True)
class Shape:
    """How a file is written."""

    delimiter: str  # "" is fixed columns of a printer roll, "xlsx" a spreadsheet
    decimal: str
    thousands: str
    tongue: str
    headers: bool
    time: str  # one of ELAPSED or CLOCKS
    fahrenheit: bool
    pressure: str
    gauge: bool
    unit_at: str  # "header", "cell" or "nowhere"
    zero_said: bool
    jacket: bool
    probe: bool  # a second temperature that follows the chamber's
    target: bool
    number: bool
    stage: bool
    chamber_said: bool
    preamble: bool
    trailer: bool
    duplicates: int
    broken: int
    reversed_: int
    encoding: str
    start: datetime
    order: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Written:
    """A file, and what is true of it.

    `time_s`, `temperature_c` and `pressure_kpa` are the unbroken rows as written, converted back;
    of two that changed places one is not `usable`, and which is for the reader to say. `columns`
    are counted from 1. Not `decidable` where a person could not tell it either.
    """

    content: bytes
    name: str
    shape: Shape
    columns: dict[str, int]
    decidable: bool
    time_s: NDArray[np.float64]
    temperature_c: NDArray[np.float64]
    pressure_kpa: NDArray[np.float64]
    usable: int


def draw_shape(rng: Generator) -> Shape:
    """Draw a usual shape."""
    delimiter = str(rng.choice([",", ";", "\t", "|", "", "xlsx"]))
    tongue = str(rng.choice(list(TONGUES)))
    decimal = "." if tongue == "en" or delimiter == "xlsx" or rng.random() < 0.3 else ","
    headers = rng.random() < 0.8
    unit_at = str(rng.choice(["header", "cell", "nowhere"], p=[0.55, 0.15, 0.3]))
    if unit_at == "header" and not headers:
        unit_at = "nowhere"
    encodings = ["utf-8", "utf-8-sig", "utf-16"] + (["cp1252"] * (tongue not in {"pl", "cs"}))
    start = datetime(2031, int(rng.integers(1, 13)), int(rng.integers(1, 28)), 8, 0)  # noqa: DTZ001
    late = rng.random() < 0.15
    start += timedelta(minutes=945 if late else int(rng.integers(0, 500)), seconds=7)
    return Shape(
        delimiter=delimiter,
        decimal=decimal,
        thousands=_thousands(delimiter, decimal, rng),
        tongue=tongue,
        headers=headers,
        time=str(rng.choice([*ELAPSED, *CLOCKS])),
        fahrenheit=rng.random() < 0.2,
        pressure=str(rng.choice(list(PRESSURES_KPA))),
        gauge=rng.random() < 0.5,
        unit_at=unit_at,
        zero_said=rng.random() < 0.4,
        jacket=rng.random() < 0.3,
        target=rng.random() < 0.2,
        number=rng.random() < 0.2,
        stage=rng.random() < 0.35,
        chamber_said=rng.random() < 0.5,
        probe=(not headers or tongue == "en") and rng.random() < 0.15,
        preamble=rng.random() < 0.5,
        trailer=rng.random() < 0.4,
        duplicates=int(rng.integers(0, 3)),
        broken=int(rng.integers(0, 3)),
        reversed_=int(rng.integers(0, 2)),
        encoding=str(rng.choice(encodings)),
        start=start,
        order=tuple(rng.permutation(9).tolist()),
    )


def _thousands(delimiter: str, decimal: str, rng: Generator) -> str:
    if delimiter in {"", "xlsx"} or rng.random() > 0.15:
        return ""
    return "." if decimal == "," else ","


@dataclass(frozen=True, slots=True)
class _Column:
    name: str
    header: str
    cells: list[str]


def written(truth: Truth, record: Logged, shape: Shape, rng: Generator) -> Written:
    """Write a record in a shape."""
    columns, values = _columns(truth, record, shape, rng)
    columns = [column for _, column in sorted(zip(shape.order, columns, strict=False))]
    columns.sort(key=lambda column: column.name != "date")  # a date stands before its time
    rows = [list(row) for row in zip(*(column.cells for column in columns), strict=True)]
    good = np.ones(len(rows), dtype=bool)
    rows = _spoilt(rows, good, shape, rng)
    header = [column.header for column in columns] if shape.headers else None
    before = _preamble(truth, shape) if shape.preamble else []
    after = [["*** OK ***"], ["F0 31"]] if shape.trailer else []
    content = _content(before, header, rows, after, shape)
    places = {column.name: number for number, column in enumerate(columns, start=1)}
    time_s, temperature_c, pressure_kpa = (array[good] for array in values)
    return Written(
        content=content,
        name="run.xlsx"
        if shape.delimiter == "xlsx"
        else "run.csv"
        if shape.delimiter
        else "run.txt",
        shape=shape,
        columns=places,
        decidable=shape.headers or not (shape.jacket or shape.target or shape.probe),
        time_s=time_s,
        temperature_c=temperature_c,
        pressure_kpa=pressure_kpa,
        usable=time_s.size - shape.reversed_,
    )


def _columns(truth: Truth, record: Logged, shape: Shape, rng: Generator):
    """Give the columns, and time, °C and kPa as their cells' digits have them."""
    tongue = TONGUES[shape.tongue]
    columns, time_s = _time_columns(record.time_s, shape, tongue)
    heading = (
        tongue.chamber if shape.chamber_said or shape.jacket or shape.probe else tongue.temperature
    )
    unit = "°F" if shape.fahrenheit else "°C"
    numbers = np.round(_scaled(record.temperature_c, shape), 1)
    columns.append(_measured("temperature", heading, unit, numbers, shape))
    back_c = (numbers - 32.0) / 1.8 if shape.fahrenheit else numbers
    per = PRESSURES_KPA[shape.pressure]
    zero_kpa = truth.plan.atmosphere_kpa if shape.gauge else 0.0
    pressures = np.round((record.pressure_kpa - zero_kpa) / per, DIGITS[shape.pressure])
    columns.append(_measured("pressure", tongue.pressure, _pressure_unit(shape), pressures, shape))
    if shape.jacket:
        jacket = np.minimum(truth.plan.set_c + 4.0 + rng.normal(0.0, 0.5, numbers.size), 145.0)
        scaled = np.round(_scaled(jacket, shape), 1)
        columns.append(_measured("second", tongue.jacket, unit, scaled, shape))
    if shape.probe:
        lagging = lfilter([0.25], [1.0, -0.75], record.temperature_c - record.temperature_c[0])
        scaled = np.round(_scaled(record.temperature_c[0] + lagging - 0.3, shape), 1)
        columns.append(_measured("probe", "Load temperature", unit, scaled, shape))
    if shape.target:
        scaled = np.round(_scaled(np.full(numbers.size, truth.plan.set_c), shape), 1)
        columns.append(_measured("target", tongue.target, unit, scaled, shape))
    if shape.number:
        counts = [str(number) for number in range(1, numbers.size + 1)]
        columns.append(_Column("number", tongue.number, counts))
    if shape.stage:
        columns.append(_Column("stage", tongue.stage, _stages(truth, record, tongue)))
    return columns, (time_s, back_c, pressures * per + zero_kpa)


def _scaled(temperature_c, shape: Shape):
    return temperature_c * 1.8 + 32.0 if shape.fahrenheit else temperature_c


def _pressure_unit(shape: Shape) -> str:
    zero = "gauge" if shape.gauge else "absolute"
    if not shape.zero_said:
        return shape.pressure
    if shape.pressure in {"psi", "bar"}:
        return f"{shape.pressure}{zero[0]}"
    return shape.pressure + ZERO_MARKS[zero][len(shape.pressure) % 3]


def _measured(name, heading, unit, numbers, shape: Shape) -> _Column:
    digits = DIGITS[shape.pressure] if name == "pressure" else 1
    cells = [_number(value, digits, shape) for value in numbers.tolist()]
    if shape.unit_at == "cell":
        cells = [f"{cell} {unit}" for cell in cells]
    brackets = f"{heading} [{unit}]" if shape.order[0] % 2 else f"{heading} ({unit})"
    return _Column(name, brackets if shape.unit_at == "header" else heading, cells)


def _number(value: float, digits: int, shape: Shape) -> str:
    text = f"{value:,.{digits}f}" if shape.thousands else f"{value:.{digits}f}"
    table = {",": shape.thousands, ".": shape.decimal}
    return "".join(table.get(letter, letter) for letter in text)


def _time_columns(time_s, shape: Shape, tongue: Tongue):
    """Give the columns of time, and the times as their digits have them."""
    if shape.time in {"s", "min"}:
        per, digits = (1.0, 1) if shape.time == "s" else (60.0, 3)
        numbers = np.round(time_s / per, digits)
        cells = [_number(value, digits, shape) for value in numbers.tolist()]
        heading = tongue.elapsed
        if shape.unit_at == "header":
            heading += f" [{shape.time}]" if shape.order[0] % 2 else f" ({shape.time})"
        return [_Column("time", heading, cells)], numbers * per
    whole = np.round(time_s)
    if shape.time == "hh:mm:ss":
        cells = [str(timedelta(seconds=value)).zfill(8) for value in whole.tolist()]
        return [_Column("time", tongue.elapsed, cells)], whole
    instants = [shape.start + timedelta(seconds=value) for value in whole.tolist()]
    forms = {
        "clock": "%H:%M:%S",
        "iso": "%Y-%m-%d %H:%M:%S",
        "day first": "%d/%m/%Y %H:%M:%S",
        "month first": "%m/%d/%Y %I:%M:%S %p",
        "dots": "%d.%m.%Y %H:%M:%S",
        "date apart": "%H:%M:%S",
    }
    cells = [instant.strftime(forms[shape.time]) for instant in instants]
    columns = [_Column("time", tongue.clock, cells)]
    if shape.time == "date apart":
        dates = [instant.strftime("%Y-%m-%d") for instant in instants]
        columns.insert(0, _Column("date", tongue.date, dates))
    return columns, whole


def _stages(truth: Truth, record: Logged, tongue: Tongue) -> list[str]:
    texts = [""] * record.time_s.size
    for span in truth.stages:
        inside = (record.time_s >= span.start_s[0]) & (record.time_s < span.stop_s[1])
        for index in np.flatnonzero(inside).tolist():
            texts[index] = tongue.stages[STAGES.index(span.kind)]
    # A file of fixed columns cannot show an empty cell or a space within one.
    return [text.replace(" ", "_") or "-" for text in texts]


def _spoilt(rows: list[list[str]], good, shape: Shape, rng: Generator) -> list[list[str]]:
    """Repeat, break and swap a few rows; `good` keeps those that are not broken."""
    count = len(rows)
    kept = [list(row) for row in rows]
    # Every third row, so that no two of the spoilt ones touch.
    spots = (3 * rng.choice(np.arange(2, count // 3 - 1), size=6, replace=False)).tolist()
    for _ in range(shape.broken):
        at = spots.pop()
        good[at] = False
        kept[at] = ["###"] * len(kept[at])
    order = list(range(count))
    for _ in range(shape.reversed_):
        at = spots.pop()
        order[at], order[at + 1] = at + 1, at
    doubled = {spots.pop() for _ in range(shape.duplicates)}
    return [kept[index] for index in order for _ in range(2 if index in doubled else 1)]


def _preamble(truth: Truth, shape: Shape) -> list[list[str]]:
    return [
        ["Sterilizer 7"],
        [f"Program: {truth.plan.set_c:.0f}"],
        [f"Start: {shape.start:%Y-%m-%d %H:%M}"],
        [],
    ]


def _content(before, header, rows, after, shape: Shape) -> bytes:
    table = [*before, *([header] if header else []), *rows, *after]
    if shape.delimiter == "xlsx":
        return _spreadsheet(table, shape)
    if shape.delimiter:
        text = StringIO()
        csv.writer(text, delimiter=shape.delimiter, lineterminator="\r\n").writerows(table)
        return text.getvalue().encode(shape.encoding)
    width = max(len(row) for row in rows)
    wide = [row for row in [*([header] if header else []), *rows] if len(row) == width]
    widths = [max(len(row[place]) for row in wide) + 2 for place in range(width)]
    lines = [
        "".join(cell.rjust(size) for cell, size in zip(row, widths, strict=True))
        if len(row) == width
        else "  ".join(row)
        for row in table
    ]
    return ("\n".join(lines) + "\n").encode(shape.encoding)


def _spreadsheet(table: list[list[str]], shape: Shape) -> bytes:
    """Numbers as numbers, the rest as text."""
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    for row in table:
        sheet.append([_cell(cell) for cell in row])
    stream = BytesIO()
    book.save(stream)
    return stream.getvalue()


def _cell(text: str) -> str | float:
    try:
        return float(text)
    except ValueError:
        return text
