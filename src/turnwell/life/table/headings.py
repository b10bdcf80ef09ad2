"""Which column is what: found by its heading, or by the name that was said."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from turnwell.errors import InputError
from turnwell.life.lives import Clock
from turnwell.life.table.cells import Cells, Column
from turnwell.life.table.content import shown
from turnwell.life.table.numbers import clock_named

__all__ = ["KNOWN", "Layout", "layout_of"]

OF_LIVES = ("id", "entry", "exit", "failed", "cause", "group", "office")
OF_RETURNS = ("id", "start", "time", "event", "cost", "group", "office")
KNOWN = tuple(dict.fromkeys(OF_LIVES + OF_RETURNS))

_FORMS = "id, exit, failed for lives; id, time, event for returns"
_UNIT = re.compile(r"(.*?)\s*[(\[]\s*(.*?)\s*[)\]]")


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """What the columns of a table are.

    Parameters
    ----------
    is_lives : bool
        A table of lives; of returns otherwise.
    columns : mapping of str to Column
        By what each is.
    clocks : mapping of str to Clock
        The unit that a heading names in brackets, by what the column is.
    ignored : tuple of str
        Headings of the other columns.
    """

    is_lives: bool
    columns: Mapping[str, Column]
    clocks: Mapping[str, Clock]
    ignored: tuple[str, ...]

    def get(self, what: str) -> Column | None:
        """Give a column that may be missing."""
        return self.columns.get(what)


def layout_of(cells: Cells, *, group: str | None, office: str | None) -> Layout:
    """Tell what each column is.

    Parameters
    ----------
    cells : Cells
    group, office : str or None
        Headings to take in place of ``group`` and ``office``.

    Raises
    ------
    InputError
        If a needed column is missing, one stands there twice, or none has the heading said.
    """
    found: dict[str, int] = {}
    clocks: dict[str, Clock] = {}
    for place, heading in enumerate(cells.headings):
        what, clock = _meaning(heading, cells.file)
        if what not in KNOWN:
            continue
        if what in found:
            raise InputError(
                f"{cells.file}, row 1: two columns are headed {what}; keep one of them"
            )
        found[what] = place
        if clock is not None:
            clocks[what] = clock
    for what, said in (("group", group), ("office", office)):
        if said is not None:
            found[what] = _said(cells, said, f"--{what}")
    is_lives = _is_lives(found, cells)
    wanted = OF_LIVES if is_lives else OF_RETURNS
    kept = {what: place for what, place in found.items() if what in wanted}
    places = set(kept.values())
    return Layout(
        is_lives,
        {what: cells.column(place) for what, place in kept.items()},
        {what: clock for what, clock in clocks.items() if what in kept},
        tuple(h for place, h in enumerate(cells.headings) if place not in places and h),
    )


def _meaning(heading: str, file: str) -> tuple[str, Clock | None]:
    """Give what a heading says in lower case, and the clock that it names in brackets."""
    word = heading.strip().lower()
    found = _UNIT.fullmatch(word)
    if found is None or found[1] not in KNOWN:
        return word, None
    clock = clock_named(found[2])
    if clock is None and found[1] in {"entry", "exit", "start", "time"}:
        raise InputError(
            f"{file}, row 1, column {shown(heading)}: '{shown(found[2])}' is no clock; give cycles "
            "or days"
        )
    return found[1], clock


def _said(cells: Cells, said: str, option: str) -> int:
    """Give the place of the column with a heading that a person said."""
    places = [
        place
        for place, heading in enumerate(cells.headings)
        if heading.casefold() == said.strip().casefold()
    ]
    if len(places) != 1:
        found = "no column" if not places else "more than one column"
        headings = ", ".join(shown(heading) for heading in cells.headings[:12])
        raise InputError(
            f"{option} {shown(said)}: {found} of {cells.file} has this heading; there are "
            f"{headings}"
        )
    return places[0]


def _is_lives(found: Mapping[str, int], cells: Cells) -> bool:
    """Tell a table of lives from one of returns, and refuse what is neither."""
    if "exit" in found and "failed" in found:
        return True
    if {"id", "time", "event"} <= set(found):
        return False
    near_lives = len({"entry", "exit", "failed", "cause"} & set(found))
    near_returns = len({"start", "time", "event", "cost"} & set(found))
    needed = ("exit", "failed") if near_lives >= near_returns else ("id", "time", "event")
    headings = ", ".join(shown(heading) for heading in cells.headings[:12]) or "nothing"
    if not near_lives and not near_returns:
        raise InputError(
            f"{cells.file}, row 1 holds {headings}, not the headings of a table: {_FORMS}"
        )
    missing = ", ".join(what for what in needed if what not in found)
    raise InputError(
        f"{cells.file}, row 1 has no column {missing}; it holds {headings} (needed: {_FORMS})"
    )
