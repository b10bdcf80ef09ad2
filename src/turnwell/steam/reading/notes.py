"""What stands around the rows of a table: words of a stage on a line of their own, and the day."""

import re
from datetime import date

from turnwell.steam.reading.cells import DATE, CellKind
from turnwell.steam.reading.clock import day_of
from turnwell.steam.reading.table import Table

__all__ = ["day_above", "stage_words"]

_DATE = re.compile(rf"(?<![\d.:/-]){DATE}(?![\d.:/-])")
_LETTERS = re.compile(r"[^\W\d_]{3,}")
# Days of other things than the run.
_OTHER_DAY = re.compile(
    r"calib|kalib|servic|valid|version|build|expir|next|due|wartung|revis", re.IGNORECASE
)
LONGEST_WORDS = 40
MOST_DIFFERENT = 30


def stage_words(table: Table) -> tuple[str, ...] | None:
    """Give each row the words of the last line of words before it, "" before the first.

    A printer prints the name of a stage once, where it begins. None where fewer than two different
    ones stand between the rows.

    Parameters
    ----------
    table : Table

    Returns
    -------
    tuple of str or None
        One for each row of the table.
    """
    words = {row: words for row, words in table.notes if _is_stage(words, table)}
    if not 2 <= len(set(words.values())) <= MOST_DIFFERENT:
        return None
    found, current = [], ""
    for row in range(len(table.columns[0])):
        current = words.get(row, current)
        found.append(current)
    return tuple(found)


def _is_stage(words: str, table: Table) -> bool:
    """Tell a stage's name from figures, rules and the headings of another page."""
    headed = " ".join(table.headings).casefold()
    few = len(words) <= LONGEST_WORDS and _LETTERS.search(words) is not None
    return few and sum(mark.isdigit() for mark in words) <= 4 and words.casefold() not in headed


def day_above(table: Table) -> date | None:
    """Give the day written above the table, where all dates there say the same one.

    None where day and month may change places.
    """
    if CellKind.DATE in table.kinds or CellKind.MOMENT in table.kinds:
        return None
    days = set()
    for line in table.preamble:
        if _OTHER_DAY.search(line):
            continue
        for match in _DATE.finditer(line):
            if any(len(part) == 4 for part in match.groups()):
                days.add(day_of(match.groups(), match.group()))
    return next(iter(days)) if len(days) == 1 else None
