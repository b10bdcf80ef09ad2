"""The cells of a text file's lines: by a mark between them, or by the columns of a roll."""

import csv
import re
from collections import Counter

import numpy as np

from turnwell.errors import UnreadableFileError
from turnwell.steam.reading.cells import CellKind, kind_of
from turnwell.steam.reading.commas import rejoined
from turnwell.steam.reading.grid import MAX_COLUMNS, Grid, place_of

__all__ = ["grid_of_lines"]

MARKS = {";": "semicolon", "\t": "tab", "|": "bar", ",": "comma"}
SAMPLE = 120
_UNIT_APART = re.compile(
    r"(\S*\d) ((?:°\s?)?(?:[CF]|[kMh]?Pa|m?bar|psi|mmHg|inHg|torr)(?:[ag]|\([ag]\))?|[AaPp][Mm])"
    r"(?= |$)"
)
_WORDS = re.compile(r"\S+")


def grid_of_lines(lines: list[str], name: str) -> Grid:
    """Tell the cells of lines apart by what gives the most columns of values.

    Raises
    ------
    UnreadableFileError
        If there are too many columns.
    CannotTellError
        If commas part columns and decimals alike.
    """
    sample = _spread([line for line in lines if line.strip()])
    best, form = 0.0, ""
    for mark in MARKS:
        if mark == "," and best >= 2.0:
            # Another mark already parts values; the comma is theirs.
            break
        score = _score([_cells(line, mark) for line in sample if mark in line], len(sample))
        if score > best + 0.01:
            best, form = score, mark
    joined = [_joined(line) for line in sample]
    # A mark that parts values is meant; only a comma may stand in the numbers of a roll.
    apart = [[word for word in line.split() if not word.endswith(",")] for line in joined]
    if form in {"", ","} and _score(apart, len(sample)) >= max(best, 1.0):
        return _roll(lines)
    if not form:
        return Grid([[line] for line in lines], "one column")
    rows = _split(lines, form)
    if form == "," and not any('"' in line for line in sample):
        rows = rejoined(rows, name)
    widest = max(map(len, rows))
    if widest > MAX_COLUMNS:
        raise UnreadableFileError(
            f"{place_of(name)} has {widest:,} columns, at most {MAX_COLUMNS} are read; save the "
            "columns of time, temperature and pressure alone"
        )
    return Grid(rows, MARKS[form])


def _joined(line: str) -> str:
    """Put a unit to its number; what stands after it keeps its place."""
    return _UNIT_APART.sub(r" \1\2", line)


def _spread(lines: list[str]) -> list[str]:
    """Give lines from all over the file."""
    if len(lines) <= SAMPLE:
        return lines
    return [lines[at] for at in np.linspace(0, len(lines) - 1, SAMPLE).astype(int).tolist()]


def _score(rows: list[list[str]], count: int) -> float:
    """Give how many cells a line hold a value, in lines of the usual width."""
    if not rows:
        return 0.0
    width = Counter(map(len, rows)).most_common(1)[0][0]
    if width < 2:
        return 0.0
    valued = {CellKind.NUMBER, CellKind.CLOCK, CellKind.DATE, CellKind.MOMENT}
    values = sum(kind_of(cell) in valued for row in rows if len(row) == width for cell in row[:40])
    return values / count


def _cells(line: str, mark: str) -> list[str]:
    """Split one line; an open quote ends with its line."""
    if '"' not in line:
        return line.split(mark)
    if line.count('"') % 2:
        return line.replace('"', "").split(mark)
    try:
        return next(csv.reader([line], delimiter=mark), [])
    except csv.Error:
        return line.replace('"', "").split(mark)


def _split(lines: list[str], mark: str) -> list[list[str]]:
    return [line.split(mark) if '"' not in line else _cells(line, mark) for line in lines]


def _roll(lines: list[str]) -> Grid:
    """Split a roll where its value lines have blanks above one another, else at each blank."""
    tidy = [_joined(line.expandtabs(8)) for line in lines]
    valued = [line for line in tidy if sum(c.isdigit() for c in line) >= 3 and len(line) < 400]
    if not valued:
        return Grid([line.split() for line in tidy], "blanks")
    sample = _spread(valued)
    width = Counter(len(_WORDS.findall(line)) for line in sample).most_common(1)[0][0]
    usual = [line for line in sample if len(_WORDS.findall(line)) >= width]
    spans = _spans(usual)
    if len(spans) < width or len(usual) < 3:
        return Grid([line.split() for line in tidy], "blanks")
    starts = [start for start, _ in spans]
    stops = [*starts[1:], 10_000]
    rows = [
        _by_words(line, spans)
        if any(" " not in line[start - 1 : start + 1] for start in starts[1:] if start < len(line))
        else [line[a:b].strip() for a, b in zip(starts, stops, strict=True)]
        if line.strip()
        else []
        for line in tidy
    ]
    return Grid(rows, "columns", spans=tuple(spans), lines=tidy)


def _by_words(line: str, spans: list[tuple[int, int]]) -> list[str]:
    """Give each word whole to the column it stands over most, where one is wider than its own."""
    cells = [""] * len(spans)
    for word in _WORDS.finditer(line):
        begin, end = word.span()
        over = [min(stop, end) - max(start, begin) for start, stop in spans]
        nearest = over.index(max(over))
        cells[nearest] = f"{cells[nearest]} {word.group()}".strip()
    return cells


def _spans(lines: list[str]) -> list[tuple[int, int]]:
    """Give begin and end of each stretch in which some line has a mark."""
    length = max(map(len, lines), default=0)
    if not length:
        return []
    marks = np.array([list(line.ljust(length)) for line in lines]) != " "
    inked = np.concatenate([[False], np.mean(marks, axis=0) > 0.02, [False]]).astype(int)
    edges = np.flatnonzero(np.diff(inked))
    spans = list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
    return [(0 if index == 0 else start, stop) for index, (start, stop) in enumerate(spans)]
