"""Parts of the week made ready for the week table, on page and paper alike."""

from collections.abc import Iterable

from turnwell.pictures import WeekPart
from turnwell.steam.months import Cell
from turnwell.words import Message, text_of

__all__ = ["week_parts"]


def week_parts(cells: Iterable[Cell]) -> tuple[WeekPart, ...]:
    """Give half-days or hours of the week in the order of the table: by part of the day, by day."""
    ordered = sorted(cells, key=lambda cell: (cell.hour or 0, cell.afternoon, cell.weekday))
    return tuple(
        WeekPart(
            cell.weekday, _part_named(cell), cell.share.short, cell.share.runs, cell.stands_out
        )
        for cell in ordered
    )


def _part_named(cell: Cell) -> str:
    if cell.hour is None:
        return text_of(f"pictures.weektable.{'from_noon' if cell.afternoon else 'until_noon'}")
    ends = {"start": f"{cell.hour:02d}", "stop": f"{cell.hour + 1:02d}"}
    return text_of(Message("pictures.weektable.hour", dict(ends)))
