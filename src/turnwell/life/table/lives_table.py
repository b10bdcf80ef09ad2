"""A table of lives: each row a stretch under observation, from entry to failure or last sight."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.life.lives import NO_CAUSE, Clock, Lives
from turnwell.life.table.ages import Ages, ages_of, clock_notes
from turnwell.life.table.cells import Column
from turnwell.life.table.headings import Layout
from turnwell.life.table.labels import FAILED_WORDS, Labels, flags_of, ids_of, labels_of
from turnwell.words import Message

__all__ = ["MOST_CAUSES", "MOST_GROUPS", "MOST_OFFICES", "LivesTable", "lives_table"]

MOST_CAUSES = 40
MOST_GROUPS = 100
MOST_OFFICES = 100_000

_ALLOWED = "1 or 0, yes or no, true or false, failed or running"


@dataclass(frozen=True, slots=True, eq=False)
class LivesTable:
    """What a table of lives holds.

    Parameters
    ----------
    file : str
        Its name, as sentences show it.
    lives : Lives
        One a row, in the order of the file.
    group : array of int, shape (n,), or None
        Place of each in `group_names`; None where there is no such column.
    group_names, office_names : tuple of str
        As first written.
    notes : tuple of Message
        What was taken for granted, left out or put together.
    """

    file: str
    lives: Lives
    group: NDArray[np.intp] | None
    group_names: tuple[str, ...]
    office_names: tuple[str, ...]
    notes: tuple[Message, ...]


def lives_table(layout: Layout, file: str, clock: Clock | None) -> LivesTable:
    """Build the lives of a table.

    Parameters
    ----------
    layout : Layout
        With the columns exit and failed at least.
    file : str
        Name of the table.
    clock : Clock or None
        As the person said.

    Raises
    ------
    InputError
        At the first cell that cannot be read or contradicts another.
    """
    ages = ages_of(layout, ("entry", "exit"), clock)
    exits = layout.columns["exit"]
    if ages.are_dates and "entry" not in ages.values:
        raise exits.refusal(
            0, f"{exits.told(0)} is a date; add a column entry with the date each life began"
        )
    stop = ages.values["exit"]
    start = ages.values.get("entry", np.zeros(stop.size))
    _refuse_backward(exits, start, stop, are_dates=ages.are_dates)
    failed = flags_of(layout.columns["failed"], FAILED_WORDS, _ALLOWED)
    causes = _causes(layout.get("cause"), failed)
    notes = [*clock_notes(ages), *_id_notes(layout, start, stop), *_cause_notes(causes, failed)]
    groups = None if (c := layout.get("group")) is None else labels_of(c, most=MOST_GROUPS)
    offices = None if (c := layout.get("office")) is None else labels_of(c, most=MOST_OFFICES)
    return LivesTable(
        file,
        _lives(ages, start, stop, failed, causes=causes, offices=offices),
        None if groups is None else groups.codes,
        () if groups is None else groups.names,
        () if offices is None else offices.names,
        tuple(notes),
    )


def _lives(
    ages: Ages,
    start: NDArray[np.float64],
    stop: NDArray[np.float64],
    failed: NDArray[np.bool_],
    *,
    causes: Labels | None,
    offices: Labels | None,
) -> Lives:
    """Put the columns together; between dates, a life is as old as the days since its first."""
    return Lives.observed(
        stop - start if ages.are_dates else stop,
        failed,
        entry=None if ages.are_dates or "entry" not in ages.values else start,
        cause=None if causes is None else causes.codes,
        cause_names=() if causes is None else causes.names,
        office=None if offices is None else offices.codes,
        clock=ages.clock,
    )


def _refuse_backward(
    exits: Column, start: NDArray[np.float64], stop: NDArray[np.float64], *, are_dates: bool
) -> None:
    wrong = np.flatnonzero(stop <= start)
    if wrong.size:
        at = int(wrong[0])
        entry = "the day of its entry" if are_dates else f"its entry at {start[at]:g}"
        raise exits.refusal(
            at, f"{exits.told(at)} does not lie after {entry}; correct one of the two"
        )


def _causes(column: Column | None, failed: NDArray[np.bool_]) -> Labels | None:
    """Read the causes; only what failed can have one."""
    if column is None:
        return None
    causes = labels_of(column, most=MOST_CAUSES, can_be_empty=True)
    wrong = np.flatnonzero((causes.codes != NO_CAUSE) & ~failed)
    if wrong.size:
        at = int(wrong[0])
        raise column.refusal(
            at,
            f"{column.told(at)} is the cause of a failure, but the row did not fail; empty the "
            "cell, or say that it failed",
        )
    return causes


def _cause_notes(causes: Labels | None, failed: NDArray[np.bool_]) -> list[Message]:
    if causes is None:
        return []
    open_count = int(np.count_nonzero(failed & (causes.codes == NO_CAUSE)))
    return [Message("life_table.causes_open", {"count": open_count})] if open_count else []


def _id_notes(
    layout: Layout, start: NDArray[np.float64], stop: NDArray[np.float64]
) -> list[Message]:
    """Refuse one unit in two places at once; say how several stretches of one unit count."""
    column = layout.get("id")
    if column is None:
        return [Message("life_table.no_id")]
    units = ids_of(column)
    repeated = len(column.cells) - len(units.names)
    if repeated == 0:
        return []
    order = np.lexsort((start, units.codes))
    is_same = units.codes[order][1:] == units.codes[order][:-1]
    overlaps = np.flatnonzero(is_same & (start[order][1:] < stop[order][:-1]))
    if overlaps.size:
        pairs = order[[overlaps, overlaps + 1]]
        later = np.max(pairs, axis=0)
        at = int(later.min())
        earlier = int(np.min(pairs[:, int(np.argmin(later))]))
        raise column.refusal(
            at,
            f"{column.told(at)} is under observation in row {column.rows[earlier]} at the same "
            "time; correct the ages, or give one of the two another id",
        )
    several = int(np.count_nonzero(np.bincount(units.codes) > 1))
    return [Message("life_table.stretches", {"count": several, "rows": repeated + several})]
