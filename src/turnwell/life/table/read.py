"""From a file's bytes to lives or returns, or to one sentence on why not."""

from dataclasses import replace

from turnwell.life.lives import Clock
from turnwell.life.table.cells import cells_of
from turnwell.life.table.content import LATIN_1, Content, shown, text_of_bytes
from turnwell.life.table.headings import KNOWN, Layout, layout_of
from turnwell.life.table.lives_table import LivesTable, lives_table
from turnwell.life.table.returns_table import ReturnsTable, returns_table
from turnwell.words import Message

__all__ = ["read_table"]

MOST_NAMED = 12


def read_table(
    content: bytes,
    name: str = "table",
    *,
    clock: Clock | None = None,
    group: str | None = None,
    office: str | None = None,
) -> LivesTable | ReturnsTable:
    r"""Read a table of lives or of returns.

    Parameters
    ----------
    content : bytes
        Of a CSV file: row 1 holds the headings ``id, entry, exit, failed, cause, group, office`` of
        lives, or ``id, start, time, event, cost, group, office`` of returns, in any order and case.
        ``entry``, ``cause``, ``start``, ``cost``, ``group`` and ``office`` may be missing, and
        ``id`` of lives. Cells are parted by commas, semicolons or tabs.
    name : str
        What sentences call it.
    clock : Clock or None
        What ages are counted in; where None, as the table says, else days.
    group, office : str or None
        Heading of the column to take as group or office, where it is another.

    Raises
    ------
    UnreadableFileError
        If it is no table of text.
    InputError
        At the first thing that cannot be read or contradicts another; the sentence names row,
        column and value, and says what to do.

    Examples
    --------
    >>> table = read_table(b"id,exit,failed\nA,120,1\nB,300,0\n", "two.csv")
    >>> table.lives.count, table.lives.failures
    (2, 1)
    """
    read = text_of_bytes(content, name)
    cells = cells_of(read.text, name, KNOWN)
    layout = layout_of(cells, group=group, office=office)
    said = None if clock is None else Clock(clock)
    table: LivesTable | ReturnsTable
    if layout.is_lives:
        table = lives_table(layout, cells.file, said)
    else:
        table = returns_table(layout, cells.file, said)
    return replace(table, notes=(*_notes(read, layout), *table.notes))


def _notes(read: Content, layout: Layout) -> list[Message]:
    """Say what was left out, and an alphabet that may not be the file's."""
    notes = []
    if layout.ignored:
        named = ", ".join(shown(heading) for heading in layout.ignored[:MOST_NAMED])
        more = len(layout.ignored) - MOST_NAMED
        names = named if more <= 0 else f"{named} and {more} more"
        notes.append(Message("life_table.ignored", {"names": names}))
    if read.encoding == LATIN_1:
        notes.append(Message("life_table.latin"))
    return notes
