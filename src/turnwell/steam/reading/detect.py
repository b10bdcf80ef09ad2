"""Tells the columns, units and zero of a table by its words, its cells and the physics of steam."""

import re
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import CannotTellError, InputError
from turnwell.steam.reading.cells import CellKind, decimal_mark_of, numbers_of
from turnwell.steam.reading.fitting import Fit, celsius, fits_of
from turnwell.steam.reading.headings import Said, said_by, zero_in
from turnwell.steam.reading.layout import Layout
from turnwell.steam.reading.table import Table
from turnwell.steam.reading.unsure import OpenChoice
from turnwell.words import Message

__all__ = ["Detected", "detect"]

Array = NDArray[np.float64]
# A kilogram-force is 2 % from a bar, which no run can tell: it is tried where it is named.
PHYSICAL_UNITS = ("kPa", "bar", "mbar", "MPa", "Pa", "psi", "mmHg", "inHg")
MARGIN_K = 3.0
WORST_K = 9.0
SHORTEST_RUN_S, LONGEST_RUN_S = 400.0, 13_000.0
SPAN_UNITS = (("ms", 0.001), ("s", 1.0), ("min", 60.0), ("h", 3600.0), ("d", 86_400.0))


@dataclass(frozen=True, slots=True, eq=False)
class Detected:
    """A layout, what it was told by, and what stays open."""

    layout: Layout
    questions: tuple[OpenChoice, ...]
    told_by: dict[int, Message]
    said: tuple[Said, ...]


class _Search:
    """One table with what its headings and cells say, while it is being told."""

    def __init__(self, table: Table, given: Layout, atmosphere_kpa: float) -> None:
        self.table = table
        self.given = given
        self.atmosphere_kpa = atmosphere_kpa
        self.said = tuple(_said(table, at) for at in range(len(table.kinds)))
        cells = [
            cell
            for column, kind in zip(table.columns, table.kinds, strict=True)
            if kind is CellKind.NUMBER
            for cell in column[:: max(1, len(column) // 60)]
        ]
        self.mark = given.decimal_mark or decimal_mark_of(cells)
        self.numbers: dict[int, Array] = {
            at: numbers_of(table.columns[at], decimal_mark=self.mark)
            for at, kind in enumerate(table.kinds)
            if kind is CellKind.NUMBER
        }
        self.questions: list[OpenChoice] = []
        self.told_by: dict[int, Message] = {}

    def ask(self, key: str, choices: tuple[str, ...], option: str, **params: str) -> None:
        filled = {"choices": " or ".join(choices), "option": option, **params}
        self.questions.append(
            OpenChoice(key, Message(f"steam_record.ask.{key}", filled), choices, option)
        )

    def tell(self, at: int | None, how: str) -> None:
        if at is not None:
            self.told_by[at] = Message(f"steam_record.told.{how}")


def detect(table: Table, given: Layout, *, atmosphere_kpa: float) -> Detected:
    """Tell the layout of a table; what `given` says is fixed.

    Raises
    ------
    InputError
        If a column that is given is not there.
    CannotTellError
        If nothing changes from row to row, or time runs backwards throughout.
    """
    for what in ("time", "date", "temperature", "second_temperature", "pressure", "stage"):
        number = getattr(given, f"{what}_column")
        if number is not None and number > len(table.kinds):
            raise InputError(
                f"the {what} column is {number}, but the table has {len(table.kinds)} columns"
            )
    search = _Search(table, given, atmosphere_kpa)
    _refuse_flat(search)
    time_at, date_at, time_unit = _time(search)
    taken = {time_at, date_at}
    layout = _signals(search, taken)
    layout = replace(
        layout,
        time_column=None if time_at is None else time_at + 1,
        date_column=None if date_at is None else date_at + 1,
        time_unit=time_unit,
        stage_column=given.stage_column or _stage(search, taken),
        decimal_mark=search.mark,
        date_order=given.date_order,
        signature=table.signature,
    )
    return Detected(layout, tuple(search.questions), search.told_by, search.said)


def _varies(values: Array) -> bool:
    known = values[np.isfinite(values)]
    return known.size >= 2 and bool(np.ptp(known) > 0.0)


def _refuse_flat(search: _Search) -> None:
    rows = len(search.table.columns[0])
    if rows < 2:
        raise CannotTellError(f"the file holds {rows} row; a record needs 2 at least")
    if not any(_varies(values) for values in search.numbers.values()):
        raise CannotTellError("no value in the file changes from row to row; it is no run's record")
    first = next(iter(search.numbers.values()))
    known = first[np.isfinite(first)]
    has_clock = {CellKind.CLOCK, CellKind.MOMENT} & set(search.table.kinds)
    if not has_clock and known.size > 9 and np.mean(np.diff(known) < 0.0) > 0.98:
        raise CannotTellError("time runs backwards in the file; sort its rows by time")


def _said(table: Table, at: int) -> Said:
    """Add what a unit written in the cells says to what the heading does."""
    said = said_by(table.headings[at]) if table.headings[at] else Said()
    if table.kinds[at] is not CellKind.NUMBER:
        return said
    cells = [cell for cell in table.columns[at][:40] if cell.strip()]
    if not cells or said.unit:
        return said
    unit = re.sub(r"^[\s\d.,'+\u2212-]+", "", cells[len(cells) // 2]).strip()
    if not unit:
        return said
    written = said_by(f"[{unit}]")
    role = said.role or written.role
    return Said(role, said.place, written.unit, said.zero or zero_in(f"[{unit}]"))


def _time(search: _Search) -> tuple[int | None, int | None, str | None]:
    """Tell the column of time, that of dates, and the unit of time."""
    given, kinds = search.given, search.table.kinds
    date_at = None if given.date_column is None else given.date_column - 1
    clocks = [at for at, kind in enumerate(kinds) if kind in {CellKind.CLOCK, CellKind.MOMENT}]
    dates = [at for at, kind in enumerate(kinds) if kind is CellKind.DATE]
    at = None if given.time_column is None else given.time_column - 1
    if at is None and clocks:
        moving = [at for at in clocks if len(set(search.table.columns[at][:200])) > 1]
        named = [at for at in moving if search.said[at].role in {"time", "date"}]
        at = (named or moving or clocks)[0]
    if at is not None and at in clocks:
        search.tell(at, "given" if given.time_column else "clock")
        if date_at is None and kinds[at] is CellKind.CLOCK and dates:
            date_at = dates[0]
        search.tell(date_at, "clock")
        return at, date_at, given.time_unit
    if at is None:
        at = _elapsed(search)
    if at is None:
        search.ask("time", (), "--columns")
        return None, None, None
    if at not in search.numbers:
        raise InputError(f"column {at + 1} is given as time and holds no times")
    search.tell(at, "given" if given.time_column else "rising")
    return at, None, given.time_unit or _elapsed_unit(search, at)


def _elapsed(search: _Search) -> int | None:
    """Tell which column of numbers is time: it rises from row to row."""
    rising = []
    for at, values in search.numbers.items():
        known = values[np.isfinite(values)]
        steps = np.diff(known)
        if known.size >= 2 and np.mean(steps > 0.0) > 0.85:
            rising.append(at)
    named = [at for at in rising if search.said[at].role == "time"]
    if named:
        return named[0]
    named = [at for at in search.numbers if search.said[at].role == "time"]
    if named:
        return named[0]
    silent = [at for at in rising if search.said[at].role == ""]
    apart = [at for at in silent if not _is_count(search.numbers[at])]
    if len(apart or silent) > 1:
        return (apart or silent)[0]
    if apart:
        return apart[0]
    # Seconds begin at 0, a number of rows at 1.
    return next((at for at in silent if search.numbers[at][0] == 0.0), None)


def _is_count(values: Array) -> bool:
    known = values[np.isfinite(values)]
    return bool(np.mean(np.diff(known) == 1.0) > 0.9)


def _elapsed_unit(search: _Search, at: int) -> str | None:
    said = search.said[at].unit
    if said in {"s", "min", "h"}:
        return said
    known = search.numbers[at][np.isfinite(search.numbers[at])]
    span = float(np.ptp(known)) if known.size else 0.0
    likely = [unit for unit, size in SPAN_UNITS if SHORTEST_RUN_S <= span * size <= LONGEST_RUN_S]
    if len(likely) > 1 and span < 0.15:
        # A spreadsheet's days are whole seconds.
        whole = np.abs(np.diff(known) * 86_400.0 - np.round(np.diff(known) * 86_400.0)) < 1e-3
        likely = ["d"] if np.mean(whole) > 0.95 else ["h"]
    if not likely and 240.0 <= span < SHORTEST_RUN_S:
        likely = ["s"]
    if len(likely) == 1:
        return likely[0]
    search.ask("time_unit", ("s", "min"), "--units", column=str(at + 1))
    return None


def _stage(search: _Search, taken: set[int | None]) -> int | None:
    """Tell the column of the record's own words for a stage."""
    texts = [at for at, kind in enumerate(search.table.kinds) if kind is CellKind.TEXT]
    named = [at for at in range(len(search.table.kinds)) if search.said[at].role == "stage"]
    for at in [*[at for at in named if at in texts], *named, *texts]:
        words = set(search.table.columns[at]) - {""}
        if at not in taken and 2 <= len(words) <= 60:
            search.tell(at, "heading" if at in named else "words")
            return at + 1
    return None


def _signals(search: _Search, taken: set[int | None]) -> Layout:
    """Tell temperature and pressure."""
    given = search.given
    hot = _candidates(search, "temperature", given.temperature_column, taken)
    pressed = _candidates(search, "pressure", given.pressure_column, taken)
    temperatures = [(at, search.numbers[at], _units(search, at, ("C", "F"))) for at in hot]
    pressures = [
        (at, search.numbers[at], _units(search, at, PHYSICAL_UNITS), _zeros(search, at))
        for at in pressed
    ]
    fits = fits_of(temperatures, pressures, atmosphere_kpa=search.atmosphere_kpa)
    best = _best(search, fits)
    if best is None:
        return _temperature_alone(search, temperatures, bool(pressed))
    _contradicted(search, best)
    second = _second(search, best, taken)
    how = "given" if given.temperature_column else "physics"
    search.tell(best.temperature, "heading" if search.said[best.temperature].role else how)
    search.tell(best.pressure, "heading" if search.said[best.pressure].role else how)
    return Layout(
        temperature_column=best.temperature + 1,
        second_temperature_column=second,
        pressure_column=best.pressure + 1,
        temperature_unit=best.temperature_unit,
        pressure_unit=best.pressure_unit,
        pressure_zero=best.pressure_zero,
    )


def _candidates(search: _Search, role: str, fixed: int | None, taken: set[int | None]) -> list[int]:
    """Give the columns that may be of a role: those that are named, else the silent ones."""
    if fixed is not None:
        if fixed - 1 not in search.numbers:
            raise InputError(f"column {fixed} is given as {role} and holds no numbers")
        return [fixed - 1]
    others = {search.given.temperature_column, search.given.pressure_column}
    free = [
        at
        for at, values in search.numbers.items()
        if at not in taken and at + 1 not in others and _varies(values)
    ]
    named = [at for at in free if search.said[at].role == role]
    chamber = [at for at in named if search.said[at].place == "chamber"]
    inside = [at for at in named if search.said[at].place != "other"]
    if named:
        return chamber or inside or named
    return [at for at in free if search.said[at].role == ""]


def _units(search: _Search, at: int, all_units: tuple[str, ...]) -> tuple[str, ...]:
    is_temperature = "C" in all_units
    fixed = search.given.temperature_unit if is_temperature else search.given.pressure_unit
    said = search.said[at].unit
    known = ("C", "F") if is_temperature else (*PHYSICAL_UNITS, "kg/cm2")
    if fixed:
        return (fixed,)
    return (said,) if said in known else all_units


def _zeros(search: _Search, at: int) -> tuple[str, ...]:
    fixed = search.given.pressure_zero or search.said[at].zero
    return (fixed,) if fixed else ("absolute", "gauge")


def _best(search: _Search, fits: list[Fit]) -> Fit | None:
    """Give the fit that leads; ask where others stand near it."""
    if not fits:
        return None
    best = fits[0]
    told = (
        len({(f.temperature, f.temperature_unit, f.pressure, f.pressure_unit, f.pressure_zero)
             for f in fits}) == 1 and _is_named(search, best)
    )  # fmt: skip
    if best.score > WORST_K and not told:
        search.ask("pressure", (), "--columns, --units, --pressure-zero",
                   column=str(best.pressure + 1))  # fmt: skip
        return best
    near = [fit for fit in fits if fit.score < best.score + MARGIN_K]
    pressures = _distinct([fit.pressure + 1 for fit in near if not _same(fit, best)])
    if len({fit.temperature for fit in near}) > 1:
        near = _leading_temperature(search, near)
        best = near[0]
    units = _distinct([fit.pressure_unit for fit in near if fit.pressure == best.pressure])
    same = [fit for fit in near if fit.pressure == best.pressure]
    zeros = _distinct(
        [fit.pressure_zero for fit in same if fit.pressure_unit == best.pressure_unit]
    )
    column = str(best.pressure + 1)
    if len(pressures) > 1 and len({round(fit.top_kpa) for fit in near}) > 1:
        search.ask("pressure_column", tuple(map(str, pressures)), "--columns")
    elif len(units) > 1:
        search.ask("pressure_unit", tuple(map(str, units)), "--units", column=column)
    elif len(zeros) > 1:
        search.ask("pressure_zero", tuple(map(str, zeros)), "--pressure-zero", column=column)
    if len({f.temperature_unit for f in near if f.temperature == best.temperature}) > 1:
        search.ask("temperature_unit", ("C", "F"), "--units", column=str(best.temperature + 1))
    return best


def _is_named(search: _Search, fit: Fit) -> bool:
    said = search.said[fit.pressure]
    given = search.given
    return bool((given.pressure_unit or said.unit) and (given.pressure_zero or said.zero))


def _same(fit: Fit, best: Fit) -> bool:
    return fit.pressure != best.pressure and abs(fit.top_kpa - best.top_kpa) < 0.01 * best.top_kpa


def _distinct(values: list[int] | list[str]) -> list[int | str]:
    return list(dict.fromkeys(values))


def _leading_temperature(search: _Search, near: list[Fit]) -> list[Fit]:
    """Tell the chamber's temperature among several that fit; ask where none leads."""
    columns = list(dict.fromkeys(fit.temperature for fit in near))
    named = [at for at in columns if search.said[at].place == "chamber"]
    plain = [at for at in columns if search.said[at].role and not search.said[at].place]
    best = {at: min(f.misfit_k for f in near if f.temperature == at) for at in columns}
    leads = min(columns, key=lambda at: best[at])
    clear = all(best[at] > 2.0 * best[leads] + 0.7 for at in columns if at != leads)
    if len(named) == 1 or len(plain) == 1:
        leads = (named or plain)[0]
    elif not clear:
        search.ask("temperature_column", tuple(str(at + 1) for at in columns), "--columns")
    return [fit for fit in near if fit.temperature == leads]


def _contradicted(search: _Search, best: Fit) -> None:
    """Ask where the words and the physics of steam say different things."""
    if search.questions or best.score <= WORST_K - 2.0:
        return
    given = search.given
    if given.pressure_unit and given.pressure_zero:
        return
    values = search.numbers[best.pressure]
    others = fits_of(
        [(best.temperature, search.numbers[best.temperature], ("C", "F"))],
        [(best.pressure, values, PHYSICAL_UNITS, ("absolute", "gauge"))],
        atmosphere_kpa=search.atmosphere_kpa,
    )
    if others and others[0].score < best.score - MARGIN_K:
        other = others[0]
        choices = (
            f"{best.pressure_unit} {best.pressure_zero}",
            f"{other.pressure_unit} {other.pressure_zero}",
        )
        search.ask("contradiction", choices, "--units, --pressure-zero",
                   column=str(best.pressure + 1))  # fmt: skip


def _second(search: _Search, best: Fit, taken: set[int | None]) -> int | None:
    if search.given.second_temperature_column:
        return search.given.second_temperature_column
    for at, values in search.numbers.items():
        if at in taken or at in {best.temperature, best.pressure}:
            continue
        if search.said[at].role == "temperature" and _varies(values):
            return at + 1
    return None


def _temperature_alone(
    search: _Search, temperatures: list[tuple[int, Array, tuple[str, ...]]], has_more: bool
) -> Layout:
    """Give what is left where no two columns make steam."""
    likely = [
        (at, unit)
        for at, values, units in temperatures
        for unit in units
        if 100.0 <= float(np.nanpercentile(celsius(values, unit), 99)) <= 150.0
        or (len(units) == 1 and len(temperatures) == 1)
    ]
    named = [pair for pair in likely if search.said[pair[0]].role == "temperature"] or likely
    if len(named) != 1:
        search.ask("temperature", (), "--columns, --units")
        return Layout()
    at, unit = named[0]
    rest = [
        other
        for other, values in search.numbers.items()
        if other != at
        and search.said[other].role in {"", "pressure"}
        and other not in search.told_by
        and _varies(values)
    ]  # fmt: skip
    headed = any(said.role == "pressure" and said.place != "other" for said in search.said)
    if headed or (rest and has_more):
        search.ask(
            "pressure", (), "--columns, --units, --pressure-zero", column=str((rest or [at])[0] + 1)
        )
    search.tell(at, "heading" if search.said[at].role else "physics")
    return Layout(temperature_column=at + 1, temperature_unit=unit)
