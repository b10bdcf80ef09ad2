"""Names of upright lines over a plot: in rows, so that none lies on another or on a line."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from turnwell.pictures.gutters import LEFT, RIGHT, Layout

__all__ = ["DayMark", "MarkName", "mark_names"]

GAP = 10.0
CLEAR = 4.0
# With long words so many rows, with short ones so many.
LONG_ROWS = 2
SHORT_ROWS = 4
# What part of the words lies left of their line, the best first.
SIDES = (0.5, 0.0, 1.0)
# Beyond so many places tried, the fullest found so far is good enough.
MOST_TRIES = 400


@dataclass(frozen=True, slots=True)
class DayMark:
    """An upright line, so many parts of the width across, and its words: in full, and short."""

    part: float
    words: str
    short: str


@dataclass(frozen=True, slots=True)
class MarkName:
    """Where a line's words stand.

    Parameters
    ----------
    part : float
        Of the line.
    text : str
    row : int
        0 is next to the plot.
    side : float
        What part of the words lies left of the line: 0 where they begin at it, 0.5, or 1.
    """

    part: float
    text: str
    row: int
    side: float

    def ends(self, layout: Layout) -> tuple[float, float]:
        """Give where the words begin and end at a layout's least width, in pixels."""
        wide = layout.width(self.text)
        start = self.part * layout.least_px - self.side * wide
        return start, start + wide


def mark_names(marks: Sequence[DayMark], layout: Layout) -> tuple[MarkName, ...]:
    """Place the words of lines: in full where all have room, else short, else as many as have.

    Parameters
    ----------
    marks : sequence of DayMark
        From left to right.
    layout : Layout
        Words are placed for its least width; wider, they only move apart.
    """
    full = _placed([(mark.part, mark.words) for mark in marks], layout, LONG_ROWS)
    if len(full) == len(marks):
        return full
    return _placed([(mark.part, mark.short) for mark in marks], layout, SHORT_ROWS)


class _Search:
    """Tries places for words from left to right, and goes back where one has none."""

    def __init__(self, words: Sequence[tuple[float, str]], layout: Layout, rows: int) -> None:
        self.words, self.layout, self.rows = words, layout, rows
        self.fullest: tuple[MarkName, ...] = ()
        self.tries = MOST_TRIES

    def go_on(self, names: tuple[MarkName, ...], number: int) -> bool:
        """Place the words from a number on; True once all have found room."""
        if len(names) > len(self.fullest):
            self.fullest = names
        if number == len(self.words):
            return len(names) == number
        self.tries -= 1
        for name in self._places(*self.words[number]):
            if self.tries <= 0:
                break
            if _is_free(name, names, self.layout) and self.go_on((*names, name), number + 1):
                return True
        return self.tries > 0 and self.go_on(names, number + 1)

    def _places(self, part: float, text: str) -> Iterator[MarkName]:
        """Give places for words: the lowest row first, and there centred on their line first."""
        wide, at = self.layout.width(text), part * self.layout.least_px
        for row in range(self.rows):
            for side in SIDES:
                start = at - side * wide
                if start >= -LEFT and start + wide <= self.layout.least_px + RIGHT:
                    yield MarkName(part, text, row, side)


def _placed(words: Sequence[tuple[float, str]], layout: Layout, rows: int) -> tuple[MarkName, ...]:
    search = _Search(words, layout, rows)
    search.go_on((), 0)
    return search.fullest


def _is_free(name: MarkName, names: Sequence[MarkName], layout: Layout) -> bool:
    """Tell whether words touch neither other words of their row nor a line that goes higher."""
    start, stop = name.ends(layout)
    at = name.part * layout.least_px
    for other in names:
        other_start, other_stop = other.ends(layout)
        other_at = other.part * layout.least_px
        if other.row == name.row and start < other_stop + GAP:
            return False
        if other.row > name.row and start - CLEAR < other_at < stop + CLEAR:
            return False
        if other.row < name.row and other_start - CLEAR < at < other_stop + CLEAR:
            return False
    return True
