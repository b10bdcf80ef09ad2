"""Lines whose commas part the columns and mark the decimals at once: `0,0,134,2,304,1`.

Where whole and tenths of one number stand in two cells, the second jumps by as much as the first
moves, the other way: 133,9 and 134,0. Two measurements do not.
"""

import re
from collections import Counter

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import CannotTellError
from turnwell.steam.reading.cells import CellKind, kind_of
from turnwell.steam.reading.grid import place_of

__all__ = ["rejoined"]

Array = NDArray[np.float64]
_WHOLE = re.compile(r"\s*[+-]?\d{1,4}$")
_TENTHS = re.compile(r"\d{1,3}$")
_POINT = re.compile(r"\s*[+-]?\d*\.\d+\s*$")
SAMPLE = 60
MOST_ROWS = 600
FEWEST_ROWS = 8
# Shares of rows: whole numbers lose their ",0" where rows differ in width.
USUAL = 0.9
# Tenths against whole: -1 where they are one number, 0 or more where they are two.
JOINED_BELOW, APART_ABOVE = -0.6, -0.25
SURE = 4.0


def rejoined(rows: list[list[str]], name: str) -> list[list[str]]:
    """Put whole and tenths of a number together again, where they are certain.

    Parameters
    ----------
    rows : list of list of str
        Of lines parted at each comma.
    name : str
        Of the file, for the sentence.

    Returns
    -------
    list of list of str
        With a point in the numbers that were parted; the same where none was.

    Raises
    ------
    CannotTellError
        If the numbers may be parted and it is not certain which.
    """
    sample = rows[:: max(1, len(rows) // SAMPLE)]
    if any(_POINT.match(cell) for row in sample if _holds_values(row) for cell in row):
        return rows
    valued = [row for row in rows if len(row) > 1 and _holds_values(row)]
    if len(valued) < FEWEST_ROWS or any(_POINT.match(cell) for row in valued for cell in row):
        return rows
    width, usual = Counter(map(len, valued)).most_common(1)[0]
    body = [row for row in valued if len(row) == width]
    body = body[:: max(1, len(body) // MOST_ROWS)]
    if usual < USUAL * len(valued):
        if np.mean([all(map(_WHOLE.match, row[1:])) for row in valued]) > USUAL:
            raise _unclear(name)
        return rows
    whole = [all(_WHOLE.match(row[at]) for row in body) for at in range(width)]
    headed = _headings_wide(rows, valued[0])
    pairs = _pairs(body, whole)
    if headed == width or not pairs:
        return rows
    joined = _chosen(pairs, None if headed is None else width - headed, name)
    return [_joined(row, joined) if len(row) == width else row for row in rows]


def _holds_values(row: list[str]) -> bool:
    kinds = [kind_of(cell) for cell in row[:40]]
    return sum(kind in {CellKind.NUMBER, CellKind.CLOCK, CellKind.MOMENT} for kind in kinds) > 1


def _headings_wide(rows: list[list[str]], first: list[str]) -> int | None:
    """Give the cells of the line of words just above the values, None where there is none."""
    for row in reversed(rows[: next(at for at, row in enumerate(rows) if row is first)]):
        if any(cell.strip() for cell in row):
            return len(row) if len(row) > 1 else None
    return None


def _pairs(body: list[list[str]], whole: list[bool]) -> dict[int, float | None]:
    """Give, for each cell that may be followed by its tenths, how the two move together."""
    found: dict[int, float | None] = {}
    for at in range(len(whole) - 1):
        if not whole[at]:
            continue
        tenths = [row[at + 1] for row in body]
        if not all(map(_TENTHS.match, tenths)):
            continue
        length, count = Counter(map(len, tenths)).most_common(1)[0]
        if count < USUAL * len(tenths):
            continue
        moves = _together([row[at] for row in body], tenths, length)
        if moves is not None or len(set(tenths)) == 1:
            found[at] = moves
    return found


def _together(whole: list[str], tenths: list[str], length: int) -> float | None:
    """Give the slope of the whole's steps over those of the tenths, None where none is sure."""
    sign = np.where([cell.strip().startswith("-") for cell in whole], -1.0, 1.0)
    steps = np.diff(np.array(whole, dtype=float))
    jumps = np.diff(sign * np.array(tenths, dtype=float)) / 10.0**length
    # Where a value runs, its tenths are as good as drawn; where it creeps, they tell.
    near = (np.abs(steps) <= 3.0) & (sign[1:] == sign[:-1]) & (jumps != 0.0)
    if np.count_nonzero(near) < FEWEST_ROWS:
        return None
    steps, jumps = steps[near], jumps[near]
    power = float(np.sum(jumps**2))
    slope = float(np.sum(steps * jumps)) / power
    error = float(np.std(steps - slope * jumps)) / np.sqrt(power)
    return slope if slope > APART_ABOVE or slope < -SURE * error else JOINED_BELOW / 2


def _chosen(pairs: dict[int, float | None], wanted: int | None, name: str) -> set[int]:
    """Give the cells whose tenths follow; refuse where that is not certain."""
    sure = {at for at, slope in pairs.items() if slope is not None and slope < JOINED_BELOW}
    maybe = {at for at, slope in pairs.items()
             if slope is None or APART_ABOVE > slope >= JOINED_BELOW} - sure  # fmt: skip
    if any(at + 1 in sure for at in sure):
        raise _unclear(name)
    # The tenths of a number are not the whole of another.
    maybe -= {at + 1 for at in sure} | {at - 1 for at in sure}
    open_ = {at for at in maybe if pairs[at] is not None}
    if wanted is None:
        if open_ or (sure and len(pairs) == 0):
            raise _unclear(name)
        return sure | ({at for at in maybe if at == 0} if sure else set())
    if len(sure) == wanted:
        return sure
    if len(sure) + len(maybe) == wanted and not any(at + 1 in maybe for at in maybe):
        return sure | maybe
    raise _unclear(name)


def _joined(row: list[str], joined: set[int]) -> list[str]:
    cells, at = [], 0
    while at < len(row):
        if at in joined and row[at].strip():
            cells.append(f"{row[at].strip()}.{row[at + 1].strip()}")
            at += 2
        else:
            cells.append(row[at])
            at += 1
    return cells


def _unclear(name: str) -> CannotTellError:
    return CannotTellError(
        f"in {place_of(name)} commas part the columns and seem to mark the decimals, too; save it "
        "with semicolons between the columns, or with decimal points"
    )
