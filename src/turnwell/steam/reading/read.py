"""A record of a file's bytes; or what is open about its columns, to be confirmed."""

from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from hashlib import sha256
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import CannotTellError, InputError
from turnwell.steam.reading.cells import CellKind, numbers_of
from turnwell.steam.reading.clock import Clock, clock_of
from turnwell.steam.reading.contradiction import ask_of_confirmed
from turnwell.steam.reading.detect import Detected, detect
from turnwell.steam.reading.fitting import absolute_kpa, celsius
from turnwell.steam.reading.grid import place_of
from turnwell.steam.reading.layout import Layout
from turnwell.steam.reading.notes import day_above, stage_words
from turnwell.steam.reading.opening import table_of
from turnwell.steam.reading.rows import Sorted, sort_rows
from turnwell.steam.reading.runs import refuse_several_runs
from turnwell.steam.reading.search import Search
from turnwell.steam.reading.table import Table
from turnwell.steam.reading.unsure import ColumnGuess, OpenChoice, Proposal, UnsureLayoutError
from turnwell.steam.record import Record, RowCounts
from turnwell.steam.water import STANDARD_ATMOSPHERE_KPA
from turnwell.words import Message

__all__ = ["propose", "read_record"]

Array = NDArray[np.float64]
SECONDS = {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86_400.0, "ms": 0.001}
# Beyond these no sensor of a sterilizer reads: a broken wire, not a measurement.
POSSIBLE_C = (-40.0, 250.0)
POSSIBLE_KPA = (-10.0, 1000.0)
SHOWN_ROWS = 8
EARLIEST_S, DAY_S = 900.0, 86_400.0


@dataclass(frozen=True, slots=True, eq=False)
class _Signals:
    """Columns as numbers, before rows are left out."""

    clock: Clock
    temperature_c: Array
    second_c: Array | None
    pressure_kpa: Array


def read_record(
    content: bytes,
    name: str,
    *,
    layout: Layout | None = None,
    atmosphere_kpa: float = STANDARD_ATMOSPHERE_KPA,
) -> Record:
    """Read the record of one run.

    Parameters
    ----------
    content : bytes
        Of a text file, .xlsx or .ods.
    name : str
        Of the file, for sentences.
    layout : Layout or None
        What is known of its columns; what it leaves open is detected.
    atmosphere_kpa : float
        Of the place, 50 to 110: what gauge pressures are added to.

    Raises
    ------
    UnreadableFileError
        If it is no file of a record.
    UnsureLayoutError
        If columns, units or zero are open; it carries the proposal.
    CannotTellError
        If the rows are no record of one run.
    """
    _check_atmosphere(atmosphere_kpa)
    table = table_of(content, name)
    detected = _told(table, layout, atmosphere_kpa, name)
    if detected.questions:
        raise UnsureLayoutError(_proposal(table, detected, atmosphere_kpa))
    signals = _signals(table, detected.layout, atmosphere_kpa)
    rows = sort_rows(table, signals.clock.time_s, signals.temperature_c, signals.pressure_kpa)
    record = _record(
        table, detected.layout, signals, rows, atmosphere_kpa=atmosphere_kpa, name=name
    )
    refuse_several_runs(record, name)
    return replace(record, sha256=sha256(content).hexdigest())


def propose(
    content: bytes, name: str, *, atmosphere_kpa: float = STANDARD_ATMOSPHERE_KPA
) -> Proposal:
    """Give what was found of a file's columns, for a person to confirm.

    Raises
    ------
    UnreadableFileError
        If it is no file of a record.
    """
    _check_atmosphere(atmosphere_kpa)
    table = table_of(content, name)
    return _proposal(table, _told(table, None, atmosphere_kpa, name), atmosphere_kpa)


def _check_atmosphere(atmosphere_kpa: float) -> None:
    if not isfinite(atmosphere_kpa) or not 50.0 <= atmosphere_kpa <= 110.0:
        raise InputError(f"the atmosphere is {atmosphere_kpa:g} kPa, must lie between 50 and 110")


def _told(table: Table, layout: Layout | None, atmosphere_kpa: float, name: str) -> Detected:
    if layout is None or not layout.signature:
        return detect(table, layout or Layout(), atmosphere_kpa=atmosphere_kpa, name=name)
    if layout.signature == table.signature:
        search = Search(table, layout, atmosphere_kpa)
        ask_of_confirmed(search)
        layout = replace(layout, decimal_mark=search.mark)
        return Detected(layout, tuple(search.questions), {}, search.said)
    fresh = detect(table, Layout(), atmosphere_kpa=atmosphere_kpa, name=name)
    text = Message("steam_record.ask.other_shape", {"option": "--columns"})
    shape = OpenChoice("shape", text, (), "--columns")
    return replace(fresh, questions=(shape, *fresh.questions))


def _signals(table: Table, layout: Layout, atmosphere_kpa: float) -> _Signals:
    """Turn the columns of a layout into numbers."""
    mark = layout.decimal_mark or "."
    count = len(table.columns[0])
    nothing = np.full(count, np.nan)

    def column(number: int | None) -> Array | None:
        if number is None:
            return None
        return numbers_of(table.columns[number - 1], decimal_mark=mark)

    temperature = column(layout.temperature_column)
    second = column(layout.second_temperature_column)
    pressure = column(layout.pressure_column)
    unit = layout.temperature_unit or "C"
    if pressure is not None:
        pressure = absolute_kpa(
            pressure, layout.pressure_unit or "kPa", layout.pressure_zero or "absolute",
            atmosphere_kpa,
        )  # fmt: skip
    return _Signals(
        clock=_clock(table, layout),
        temperature_c=nothing if temperature is None else _within(
            celsius(temperature, unit), POSSIBLE_C),
        second_c=None if second is None else _within(celsius(second, unit), POSSIBLE_C),
        pressure_kpa=nothing if pressure is None else _within(pressure, POSSIBLE_KPA),
    )  # fmt: skip


def _within(values: Array, bounds: tuple[float, float]) -> Array:
    with np.errstate(invalid="ignore"):
        return np.where((values >= bounds[0]) & (values <= bounds[1]), values, np.nan)


def _clock(table: Table, layout: Layout) -> Clock:
    at = (layout.time_column or 1) - 1
    cells = table.columns[at]
    if table.kinds[at] in {CellKind.CLOCK, CellKind.MOMENT}:
        dates = None if layout.date_column is None else table.columns[layout.date_column - 1]
        unit = layout.time_unit if layout.time_unit in {"clock", "mm:ss"} else None
        return clock_of(cells, dates, unit=unit, date_order=layout.date_order)
    unit = layout.time_unit or "s"
    numbers = numbers_of(cells, decimal_mark=layout.decimal_mark or ".")
    return Clock(numbers * SECONDS.get(unit, 1.0), None, unit, None)


def _record(
    table: Table,
    layout: Layout,
    signals: _Signals,
    rows: Sorted,
    *,
    atmosphere_kpa: float,
    name: str,
) -> Record:
    kept = rows.kept
    if rows.counts.reversed > 0.2 * rows.counts.read:
        raise CannotTellError(
            f"in {place_of(name)} time runs back in {rows.counts.reversed:,} of "
            f"{rows.counts.read:,} rows; sort its rows by time, or cut it into one file a run"
        )
    if kept.size < 2:
        raise CannotTellError(
            f"{place_of(name)} holds {kept.size} usable rows; a record needs 2 at least"
        )
    temperature_c = signals.temperature_c[kept]
    known = temperature_c[np.isfinite(temperature_c)]
    if not known.size or np.ptp(known) < 1.0:
        raise CannotTellError(
            f"the temperature in {place_of(name)} does not change; a run of a sterilizer heats up"
        )
    stages = None
    if layout.stage_column is not None:
        words = table.columns[layout.stage_column - 1]
        stages = tuple(words[at].strip() for at in kept.tolist())
    elif (printed := stage_words(table)) is not None:
        stages = tuple(printed[at] for at in kept.tolist())
    time_s = signals.clock.time_s[kept]
    return Record(
        time_s=time_s - time_s[0],
        temperature_c=temperature_c,
        pressure_kpa=signals.pressure_kpa[kept],
        atmosphere_kpa=atmosphere_kpa,
        second_temperature_c=None if signals.second_c is None else signals.second_c[kept],
        stage_text=stages,
        started_at=_started_at(table, signals.clock, kept[0]),
        counts=rows.counts,
        columns=_columns(layout),
        units=_units(layout, signals.clock),
    )


def _started_at(table: Table, clock: Clock, first: int) -> datetime | None:
    """Give the moment of the first row; its day may be printed above the table only."""
    if clock.started_at is not None or clock.unit != "clock":
        return clock.started_at
    day = day_above(table)
    begun_s = float(clock.time_s[first])
    # A clock that begins at nought counts from the start of the run.
    if day is None or not EARLIEST_S <= begun_s < DAY_S:
        return None
    return datetime.combine(day, time()) + timedelta(seconds=begun_s)


def _columns(layout: Layout) -> dict[str, int]:
    named = {
        "time": layout.time_column,
        "date": layout.date_column,
        "temperature": layout.temperature_column,
        "second_temperature": layout.second_temperature_column,
        "pressure": layout.pressure_column,
        "stage": layout.stage_column,
    }
    return {what: number for what, number in named.items() if number is not None}


def _units(layout: Layout, clock: Clock) -> dict[str, str]:
    units = {"time": clock.unit, "temperature": layout.temperature_unit or "C"}
    if layout.pressure_column is not None:
        units["pressure"] = layout.pressure_unit or "kPa"
        units["pressure_zero"] = layout.pressure_zero or "absolute"
    return units


def _proposal(table: Table, detected: Detected, atmosphere_kpa: float) -> Proposal:
    layout = detected.layout
    counts = RowCounts(len(table.columns[0]), 0)
    if layout.time_column is not None and layout.temperature_column is not None:
        signals = _signals(table, layout, atmosphere_kpa)
        counts = sort_rows(
            table, signals.clock.time_s, signals.temperature_c, signals.pressure_kpa
        ).counts
    roles = {number: what.replace("_", " ") for what, number in _columns(layout).items()}
    columns = tuple(
        _guess(number, roles.get(number, "not used"), table, detected)
        for number in range(1, len(table.kinds) + 1)
    )
    rows = tuple(zip(*(column[:SHOWN_ROWS] for column in table.columns), strict=True))
    return Proposal(layout, columns, detected.questions, rows, counts)


def _guess(number: int, role: str, table: Table, detected: Detected) -> ColumnGuess:
    layout = detected.layout
    unit = {
        "time": layout.time_unit,
        "temperature": layout.temperature_unit,
        "second temperature": layout.temperature_unit,
        "pressure": layout.pressure_unit,
    }.get(role)
    zero = layout.pressure_zero if role == "pressure" else None
    asked = {question.key for question in detected.questions}
    if role == "pressure" and "pressure_unit" in asked:
        unit = zero = None
    if role == "pressure" and "pressure_zero" in asked:
        zero = None
    how = detected.told_by.get(number - 1, Message("steam_record.told.nothing"))
    return ColumnGuess(number, table.headings[number - 1], role, unit or "", zero or "", how)
