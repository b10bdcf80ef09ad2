"""What one cell looks like, and the numbers of a whole column of cells."""

import re
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

__all__ = ["CLOCK", "DATE", "CellKind", "decimal_mark_of", "kind_of", "numbers_of", "unit_of"]

DATE = r"(\d{1,4})[-./](\d{1,2}|[A-Za-z]{3,9})[-./](\d{1,4})"
CLOCK = (
    r"(\d{1,3})[:hH](\d{1,2})(?:[:mM](\d{1,2})(?:[.,](\d{1,9}))?)?s?"
    r"\s*([AaPp]\.?[Mm]\.?)?(?:Z|[+-]\d\d:?\d\d)?"
)
_UNIT = r"(?:\s*[^\W\d_(°\"%][^\d\s]*(?: \(?[a-z]+\)?)?|\s*[°%\"(][^\d]*)?"
_NUMBER = re.compile(r"[+-\u2212]?\s?(?:\d[\d.,']*(?: \d{3}[.,\d]*)*|[.,]\d+)" + _UNIT + r"\s*$")
_LEADING = re.compile(r"[+\-\u2212]?\s?(?:\d[\d.,']*(?: \d{3}[.,\d]*)*|[.,]\d+)")
_DATE = re.compile(DATE + r"$")
_CLOCK = re.compile(CLOCK + r"$")
_MOMENT = re.compile(DATE + r"(?:[T ,]\s*)" + CLOCK + r"$")
_SIGNS = re.compile(r"[+\-\u2212]?\d")


class CellKind(StrEnum):
    """What a cell looks like."""

    BLANK = "blank"
    NUMBER = "number"
    CLOCK = "clock"
    DATE = "date"
    MOMENT = "moment"
    TEXT = "text"


def kind_of(cell: str) -> CellKind:
    """Tell what a cell looks like.

    >>> [kind_of(cell).value for cell in ("134,2 °C", "12:04:31", "1.2.2024 12:04", "DRY", " ")]
    ['number', 'clock', 'moment', 'text', 'blank']
    """
    cell = cell.strip()
    if not cell:
        return CellKind.BLANK
    for pattern, kind in (
        (_CLOCK, CellKind.CLOCK),
        (_DATE, CellKind.DATE),
        (_MOMENT, CellKind.MOMENT),
    ):
        if pattern.match(cell):
            return kind
    return CellKind.NUMBER if _SIGNS.match(cell) and _NUMBER.match(cell) else CellKind.TEXT


def decimal_mark_of(cells: list[str], *, otherwise: str | None = None) -> str:
    """Tell the decimal mark of numbers: "," or "."; `otherwise` or a point where nothing tells.

    >>> decimal_mark_of(["134,2", "1.013,25"]), decimal_mark_of(["1,013.2", "9.5"])
    (',', '.')
    """
    counts = {",": 0, ".": 0}
    grouped = {",": 0, ".": 0}
    for cell in cells:
        found = _LEADING.match(cell.strip())
        number = found.group().lstrip("+-\u2212 ") if found else ""
        mark = max(",.", key=number.rfind)
        if mark not in number:
            continue
        whole, _, rest = number.rpartition(mark)
        # Three digits behind one to three others may be thousands.
        if len(rest) == 3 and 1 <= len(whole) <= 3 and int(whole if whole.isdigit() else 0):
            grouped[mark] += 1
        else:
            counts[mark] += 1
    if any(counts.values()):
        return max(".,", key=counts.__getitem__)
    return otherwise or max(".,", key=grouped.__getitem__)


def unit_of(cell: str) -> str | None:
    """Give the unit written behind a number, "" where there is none; None of what is no number.

    >>> unit_of("-12,5 inHg"), unit_of("7"), unit_of("###")
    ('inHg', '', None)
    """
    cell = cell.strip()
    found = _LEADING.match(cell)
    if found is None or not any(mark.isdigit() for mark in found.group()):
        return None
    return cell[found.end() :].strip()


def numbers_of(cells: tuple[str, ...], *, decimal_mark: str = ".") -> NDArray[np.float64]:
    """Read a column of numbers at once; NaN where a cell holds none.

    Examples
    --------
    >>> numbers_of(("134,2 °C", "", "1.013,5"), decimal_mark=",").tolist()
    [134.2, nan, 1013.5]
    """
    text = "\n".join(cells)
    if decimal_mark == ",":
        text = text.replace(".", "").replace(",", ".")
    elif "," in text:
        text = text.replace(",", "")
    if "\u2212" in text:
        text = text.replace("\u2212", "-")
    quick = text.split("\n")
    first = next((cell.strip() for cell in quick if cell.strip()), "")
    unit = first[len(found.group()) :].strip() if (found := _LEADING.match(first)) else ""
    if unit and not any(mark.isdigit() for mark in unit):
        quick = text.replace(unit, "").split("\n")
    try:
        values = np.fromiter(map(float, quick), np.float64, len(quick))
    except ValueError:
        values = np.fromiter(map(_number, quick), np.float64, len(quick))
    values[~np.isfinite(values)] = np.nan
    return values


def _number(cell: str) -> float:
    """Read one cell that may carry a unit or grouped thousands."""
    try:
        return float(cell)
    except ValueError:
        cell = cell.strip()
        if not _NUMBER.match(cell) or not _SIGNS.match(cell):
            return float("nan")
        found = _LEADING.match(cell)
        try:
            return float(re.sub(r"[ ']", "", found.group())) if found else float("nan")
        except ValueError:
            return float("nan")
