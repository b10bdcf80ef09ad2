"""Tells the columns, units and zero of a table by its words, its cells and the physics of steam."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import CannotTellError, InputError
from turnwell.steam.reading.cells import CellKind
from turnwell.steam.reading.contradiction import ask_if_compound, ask_if_denied, ask_of_length
from turnwell.steam.reading.fitting import Candidate, Fit, celsius, fits_of
from turnwell.steam.reading.grid import place_of
from turnwell.steam.reading.headings import Said, strange_unit_in
from turnwell.steam.reading.layout import Layout
from turnwell.steam.reading.search import PHYSICAL_UNITS, Search, varies
from turnwell.steam.reading.table import Table
from turnwell.steam.reading.time_column import time_of
from turnwell.steam.reading.unsure import OpenChoice
from turnwell.words import Message

__all__ = ["Detected", "detect"]

Array = NDArray[np.float64]
MARGIN_K = 3.0
WORST_K = 9.0


@dataclass(frozen=True, slots=True, eq=False)
class Detected:
    """A layout, what it was told by, and what stays open."""

    layout: Layout
    questions: tuple[OpenChoice, ...]
    told_by: dict[int, Message]
    said: tuple[Said, ...]


def detect(
    table: Table, given: Layout, *, atmosphere_kpa: float, name: str = "the file"
) -> Detected:
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
    search = Search(table, given, atmosphere_kpa)
    _refuse_flat(search, place_of(name))
    times = time_of(search)
    taken = {times.time, times.date}
    layout = _signals(search, taken)
    layout = replace(
        layout,
        time_column=None if times.time is None else times.time + 1,
        date_column=None if times.date is None else times.date + 1,
        time_unit=times.unit,
        stage_column=given.stage_column or _stage(search, taken),
        decimal_mark=search.mark,
        date_order=given.date_order,
        signature=table.signature,
    )
    if given.time_unit is None:
        ask_of_length(search, layout)
    return Detected(layout, tuple(search.questions), search.told_by, search.said)


def _refuse_flat(search: Search, shown: str) -> None:
    rows = len(search.table.columns[0])
    if rows < 2:
        raise CannotTellError(f"{shown} holds {rows} row; a record needs 2 at least")
    if not any(varies(values) for values in search.numbers.values()):
        raise CannotTellError(
            f"{shown} holds no value that changes from row to row; it is no run's record"
        )
    first = next(iter(search.numbers.values()))
    known = first[np.isfinite(first)]
    has_clock = {CellKind.CLOCK, CellKind.MOMENT} & set(search.table.kinds)
    if not has_clock and known.size > 9 and np.mean(np.diff(known) < 0.0) > 0.98:
        raise CannotTellError(f"in {shown} time runs backwards; sort its rows by time")


def _stage(search: Search, taken: set[int | None]) -> int | None:
    """Tell the column of the record's own words for a stage."""
    texts = [at for at, kind in enumerate(search.table.kinds) if kind is CellKind.TEXT]
    named = [at for at in range(len(search.table.kinds)) if search.said[at].role == "stage"]
    for at in [*[at for at in named if at in texts], *named, *texts]:
        words = set(search.table.columns[at]) - {""}
        if at not in taken and 2 <= len(words) <= 60:
            search.tell(at, "heading" if at in named else "words")
            return at + 1
    return None


def _signals(search: Search, taken: set[int | None]) -> Layout:
    """Tell temperature and pressure."""
    given = search.given
    hot = _candidates(search, "temperature", given.temperature_column, taken)
    pressed = _candidates(search, "pressure", given.pressure_column, taken)
    temperatures = [Candidate(at, search.numbers[at], _units(search, at, ("C", "F"))) for at in hot]
    pressures = [
        Candidate(at, search.numbers[at], _units(search, at, PHYSICAL_UNITS), _zeros(search, at))
        for at in pressed
    ]
    fits = fits_of(temperatures, pressures, atmosphere_kpa=search.atmosphere_kpa)
    best = _best(search, fits)
    if best is None:
        _refuse_given(search)
        return _temperature_alone(search, temperatures, bool(pressed))
    if not search.questions and not (given.pressure_unit and given.pressure_zero):
        ask_if_denied(search, best, best.temperature, best.pressure)
        ask_if_compound(search, best)
    _ask_strange(search, best)
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


def _ask_strange(search: Search, best: Fit) -> None:
    """Ask where a heading names a unit that is not known: a near one would be a quiet error."""
    strange = strange_unit_in(search.table.headings[best.pressure])
    if strange and not search.said[best.pressure].unit and not search.given.pressure_unit:
        search.ask("pressure_strange", (), "--units", column=str(best.pressure + 1), unit=strange)


def _refuse_given(search: Search) -> None:
    """Refuse what was settled and cannot be, rather than to ask for it again."""
    given = search.given
    if not (given.pressure_column and given.pressure_unit and given.pressure_zero):
        return
    values = search.numbers[given.pressure_column - 1]
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    raise CannotTellError(
        f"column {given.pressure_column} holds {low:g} to {high:g}, which as {given.pressure_unit} "
        f"{given.pressure_zero} is no pressure of a steam run; look at its column, unit and zero"
    )


def _candidates(search: Search, role: str, fixed: int | None, taken: set[int | None]) -> list[int]:
    """Give the columns that may be of a role: those that are named, else the silent ones."""
    if fixed is not None:
        if fixed - 1 not in search.numbers:
            raise InputError(f"column {fixed} is given as {role} and holds no numbers")
        return [fixed - 1]
    others = {search.given.temperature_column, search.given.pressure_column}
    free = [
        at
        for at, values in search.numbers.items()
        if at not in taken and at + 1 not in others and varies(values)
    ]
    named = [at for at in free if search.said[at].role == role]
    chamber = [at for at in named if search.said[at].place == "chamber"]
    inside = [at for at in named if search.said[at].place != "other"]
    if named:
        return chamber or inside or named
    return [at for at in free if search.said[at].role == ""]


def _units(search: Search, at: int, all_units: tuple[str, ...]) -> tuple[str, ...]:
    is_temperature = "C" in all_units
    fixed = search.given.temperature_unit if is_temperature else search.given.pressure_unit
    said = search.said[at].unit
    known = ("C", "F") if is_temperature else (*PHYSICAL_UNITS, "kg/cm2")
    if fixed:
        return (fixed,)
    return (said,) if said in known else all_units


def _zeros(search: Search, at: int) -> tuple[str, ...]:
    fixed = search.given.pressure_zero or search.said[at].zero
    return (fixed,) if fixed else ("absolute", "gauge")


def _best(search: Search, fits: list[Fit]) -> Fit | None:
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


def _is_named(search: Search, fit: Fit) -> bool:
    said = search.said[fit.pressure]
    given = search.given
    return bool((given.pressure_unit or said.unit) and (given.pressure_zero or said.zero))


def _same(fit: Fit, best: Fit) -> bool:
    return fit.pressure != best.pressure and abs(fit.top_kpa - best.top_kpa) < 0.01 * best.top_kpa


def _distinct(values: list[int] | list[str]) -> list[int | str]:
    return list(dict.fromkeys(values))


def _leading_temperature(search: Search, near: list[Fit]) -> list[Fit]:
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


def _second(search: Search, best: Fit, taken: set[int | None]) -> int | None:
    if search.given.second_temperature_column:
        return search.given.second_temperature_column
    for at, values in search.numbers.items():
        if at in taken or at in {best.temperature, best.pressure}:
            continue
        if search.said[at].role == "temperature" and varies(values):
            return at + 1
    return None


def _temperature_alone(search: Search, temperatures: list[Candidate], has_more: bool) -> Layout:
    """Give what is left where no two columns make steam."""
    likely = [
        (one.column, unit)
        for one in temperatures
        for unit in one.units
        if 100.0 <= float(np.nanpercentile(celsius(one.values, unit), 99)) <= 150.0
        or (len(one.units) == 1 and len(temperatures) == 1)
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
        and varies(values)
    ]  # fmt: skip
    headed = any(said.role == "pressure" and said.place != "other" for said in search.said)
    if headed or (rest and has_more):
        search.ask(
            "pressure", (), "--columns, --units, --pressure-zero", column=str((rest or [at])[0] + 1)
        )
    search.tell(at, "heading" if search.said[at].role else "physics")
    return Layout(temperature_column=at + 1, temperature_unit=unit)
