"""A table of returns: event 1 where a unit came back, 0 where its watch ended."""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.life.lives import Clock, Histories
from turnwell.life.table.ages import Ages, ages_of, clock_notes
from turnwell.life.table.cells import Column
from turnwell.life.table.headings import Layout
from turnwell.life.table.labels import EVENT_WORDS, Labels, flags_of, ids_of, labels_of
from turnwell.life.table.lives_table import MOST_GROUPS, MOST_OFFICES
from turnwell.life.table.numbers import numbers_of
from turnwell.words import Message

__all__ = ["ReturnsTable", "returns_table"]

ValueT = TypeVar("ValueT", np.float64, np.intp)

_ALLOWED = "1 for a return, 0 for the end of observation"


@dataclass(frozen=True, slots=True, eq=False)
class ReturnsTable:
    """What a table of returns holds.

    Parameters
    ----------
    file : str
        Its name, as sentences show it.
    ids : tuple of str
        Of the k units, in the order of the file.
    histories : Histories
        Each return counts 1.
    costs : Histories or None
        The same, each return counting its cost; None where there is no such column.
    group : array of int, shape (k,), or None
        Place of each unit in `group_names`.
    group_names, office_names : tuple of str
        As first written.
    notes : tuple of Message
        What was taken for granted, left out or put together.
    """

    file: str
    ids: tuple[str, ...]
    histories: Histories
    costs: Histories | None
    group: NDArray[np.intp] | None
    group_names: tuple[str, ...]
    office_names: tuple[str, ...]
    notes: tuple[Message, ...]


def returns_table(layout: Layout, file: str, clock: Clock | None) -> ReturnsTable:
    """Build the histories of a table.

    Parameters
    ----------
    layout : Layout
        With the columns id, time and event at least.
    file : str
        Name of the table.
    clock : Clock or None
        As the person said.

    Raises
    ------
    InputError
        At the first cell that cannot be read or contradicts another.
    """
    columns = layout.columns
    units = ids_of(columns["id"])
    is_return = flags_of(columns["event"], EVENT_WORDS, _ALLOWED)
    given = columns["start"].has_text() if "start" in columns else None
    ages = ages_of(_with_starts(layout, given), ("time", "start"), clock)
    times = columns["time"]
    at, start = ages.values["time"], _starts(layout, units, given, ages)
    end_rows = _end_rows(columns["id"], units, is_return)
    _refuse_outside(times, units, is_return=is_return, end_rows=end_rows, at=at, start=start)
    if ages.are_dates:
        at, start = at - start[units.codes], np.zeros(start.size)
    groups, offices = _labels(layout, "group", units), _labels(layout, "office", units)
    cost = columns.get("cost")

    def histories(weight: ArrayLike | None = None) -> Histories:
        return Histories.of(
            at[end_rows],
            units.codes[is_return],
            at[is_return],
            start=start,
            weight=weight,
            office=None if offices is None else offices.codes,
            clock=ages.clock,
        )

    costs = None
    if cost is not None and is_return.any():
        costs = histories(numbers_of(cost.chosen(is_return)).values)
    return ReturnsTable(
        file,
        units.names,
        histories(),
        costs,
        None if groups is None else groups.codes,
        () if groups is None else groups.names,
        () if offices is None else offices.names,
        tuple(clock_notes(ages)),
    )


def _starts(
    layout: Layout, units: Labels, given: NDArray[np.bool_] | None, ages: Ages
) -> NDArray[np.float64]:
    """Give the start of each watch, shape (k,): 0 where the table holds none and ages count."""
    if given is not None:
        return _one_a_unit(layout.columns["start"], units, given, ages.values["start"])
    times = layout.columns["time"]
    if ages.are_dates:
        raise times.refusal(
            0, f"{times.told(0)} is a date; add a column start with the date each watch began"
        )
    return np.zeros(len(units.names))


def _with_starts(layout: Layout, given: NDArray[np.bool_] | None) -> Layout:
    """Leave out the rows that do not repeat their unit's start."""
    if given is None or given.all() or not given.any():
        return layout
    columns = {**layout.columns, "start": layout.columns["start"].chosen(given)}
    return Layout(layout.is_lives, columns, layout.clocks, layout.ignored)


def _end_rows(ids: Column, units: Labels, is_return: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Give the place of each unit's end of observation, shape (k,); one each, no more, no less."""
    places = np.flatnonzero(~is_return)
    owners = units.codes[places]
    counts = np.bincount(owners, minlength=len(units.names))
    if np.any(counts > 1):
        seen: dict[int, int] = {}
        for place, owner in zip(places.tolist(), owners.tolist(), strict=True):
            if owner in seen:
                raise ids.refusal(
                    place,
                    f"{ids.told(place)} has its end of observation (event 0) in row "
                    f"{ids.rows[seen[owner]]} already; keep the later one",
                )
            seen[owner] = place
    if np.any(counts == 0):
        place = int(np.flatnonzero(counts[units.codes] == 0)[0])
        raise ids.refusal(
            place,
            f"{ids.told(place)} has no end of observation; add a row with event 0 and the time it "
            "was last seen (of lives, head the columns exit and failed)",
        )
    ends = np.empty(len(units.names), dtype=np.intp)
    ends[owners] = places
    return ends


def _one_a_unit(
    column: Column, units: Labels, given: NDArray[np.bool_], values: NDArray[ValueT]
) -> NDArray[ValueT]:
    """Give the one value that the rows of each unit hold, shape (k,).

    Parameters
    ----------
    given : array of bool, shape (n,)
        Which rows hold a value.
    values : array
        Theirs, one for each true of `given`.
    """
    owners = units.codes[given]
    rows = np.flatnonzero(given)
    unique, first = np.unique(owners, return_index=True)
    if unique.size < len(units.names):
        has = np.zeros(len(units.names), dtype=np.bool_)
        has[unique] = True
        place = int(np.flatnonzero(~has[units.codes])[0])
        raise column.refusal(
            place,
            f"the cell is empty, in every row of '{units.names[int(units.codes[place])]}'; write "
            "it in one of them",
        )
    kept = values[first]
    wrong = np.flatnonzero(values != kept[owners])
    if wrong.size:
        place = int(rows[wrong[0]])
        other = int(rows[first[owners[wrong[0]]]])
        raise column.refusal(
            place,
            f"{column.told(place)} differs from row {column.rows[other]} "
            f"({column.told(other)}) of the same unit; correct one of the two",
        )
    return kept


def _labels(layout: Layout, what: str, units: Labels) -> Labels | None:
    """Read names that hold for a whole unit."""
    column = layout.get(what)
    if column is None:
        return None
    given = column.has_text()
    if not given.any():
        raise column.refusal(0, "the column is empty; fill it, or take it out")
    most = MOST_GROUPS if what == "group" else MOST_OFFICES
    labels = labels_of(column.chosen(given), most=most)
    return Labels(labels.names, _one_a_unit(column, units, given, labels.codes))


def _refuse_outside(
    times: Column,
    units: Labels,
    *,
    is_return: NDArray[np.bool_],
    end_rows: NDArray[np.intp],
    at: NDArray[np.float64],
    start: NDArray[np.float64],
) -> None:
    """Refuse a watch that is empty and a return outside its watch."""
    owner = units.codes
    before, after = at <= start[owner], at > at[end_rows][owner]
    wrong = np.flatnonzero(before | after)
    if not wrong.size:
        return
    row = int(wrong[0])
    name, end = units.names[int(owner[row])], int(end_rows[owner[row]])
    if before[row]:
        what = "return" if is_return[row] else "end of observation"
        says = f"the {what} of '{name}' does not lie after the start of its watch"
    else:
        says = f"this return of '{name}' lies after its end of observation in row {times.rows[end]}"
    raise times.refusal(row, f"{times.told(row)}: {says}; correct one of the two")
