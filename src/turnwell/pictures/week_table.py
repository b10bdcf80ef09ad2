"""The week table: in which parts of the week drying is cut short, with counts and shades.

A table of words on page and paper alike: the shade only repeats what the counts say, and too few
runs are never shaded.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from turnwell.errors import InputError
from turnwell.words import Message, text_of

__all__ = ["FEWEST_RUNS", "WeekPart", "WeekRow", "WeekTable", "week_table"]

DAYS = 7
# Under so many runs a share of them says nothing: it is written, and not shaded.
FEWEST_RUNS = 4
# Shares from which on a part of the week is shaded one step deeper.
STEPS = (0.05, 0.25, 0.5, 0.75)


@dataclass(frozen=True, slots=True)
class WeekPart:
    """A part of the week: runs with drying cut short, and all of them.

    Parameters
    ----------
    weekday : int
        0 is Monday.
    part : str
        Of the day, in words: ``"from noon"``, ``"16 to 17"``.
    short, runs : int
        0 <= short <= runs, runs > 0.
    stands_out : bool
        More often than in the rest of the week, after all comparisons are counted.

    Raises
    ------
    InputError
        If day or counts cannot be.
    """

    weekday: int
    part: str
    short: int
    runs: int
    stands_out: bool = False

    def __post_init__(self) -> None:
        if not 0 <= self.weekday < DAYS or not 0 <= self.short <= self.runs or self.runs < 1:
            raise InputError(
                f"day {self.weekday} with {self.short} of {self.runs} runs cannot be; count again"
            )

    @property
    def is_few(self) -> bool:
        """True where the runs are too few for their share to say anything."""
        return self.runs < FEWEST_RUNS

    @property
    def shade(self) -> int:
        """How deep it is shaded, 0 to 4; 0 too where its runs are few.

        >>> [WeekPart(4, "from noon", short, 20).shade for short in (0, 1, 10, 20)]
        [0, 1, 3, 4]
        """
        if self.is_few:
            return 0
        return sum(self.short / self.runs >= step for step in STEPS)

    def says(self, language: str = "en") -> str:
        """Give the counts in words."""
        counts = {"short": self.short, "runs": self.runs}
        return text_of(Message("pictures.weektable.of", dict(counts)), language)


@dataclass(frozen=True, slots=True)
class WeekRow:
    """One part of the day on every day of the table; None where nothing ran."""

    part: str
    cells: tuple[WeekPart | None, ...]


@dataclass(frozen=True, slots=True)
class WeekTable:
    """A week ready to be written.

    Parameters
    ----------
    weekdays : tuple of int
        The days on which anything ran, Monday is 0.
    rows : tuple of WeekRow
    """

    weekdays: tuple[int, ...]
    rows: tuple[WeekRow, ...]

    def days(self, language: str = "en") -> tuple[str, ...]:
        """Give the names of the days."""
        return tuple(text_of(f"steam_trend.day.{day}", language) for day in self.weekdays)

    def short_days(self, language: str = "en") -> tuple[str, ...]:
        """Give the names of the days where room is scarce."""
        return tuple(text_of(f"pictures.weektable.day.{day}", language) for day in self.weekdays)


def week_table(parts: Sequence[WeekPart]) -> WeekTable | None:
    """Lay parts of the week out, a row a part of the day in the order given; None for none."""
    if not parts:
        return None
    weekdays = tuple(sorted({one.weekday for one in parts}))
    cells = {(one.part, one.weekday): one for one in parts}
    rows = (
        WeekRow(part, tuple(cells.get((part, day)) for day in weekdays))
        for part in dict.fromkeys(one.part for one in parts)
    )
    return WeekTable(weekdays, tuple(rows))
