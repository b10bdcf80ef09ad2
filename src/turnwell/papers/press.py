"""The press: a template, its data and its pictures become one PDF.

Data reach a template as JSON, never as markup. Fonts are the shipped face and the book face that
comes with the typesetter; the machine's own are not looked at, so that a paper is the same
everywhere. Written as PDF/A-2a and PDF/UA-1, with the time stamp it is given.
"""

import json
import warnings
from collections.abc import Mapping
from datetime import datetime
from importlib import resources
from io import BytesIO
from typing import Any

import segno

from turnwell.errors import InputError
from turnwell.fonts import FAMILY, folder
from turnwell.papers.coverage import printable

__all__ = ["day_words", "printed", "qr_code"]

STANDARDS = ["a-2a", "ua-1"]
BOOK_FACE = "Libertinus Serif"


def printed(
    template: str,
    content: Mapping[str, Any],
    pictures: Mapping[str, str],
    *,
    issued_at: datetime,
    language: str,
) -> bytes:
    """Print a paper.

    Parameters
    ----------
    template : str
        Name of a file of ``templates``, without its ending.
    content : mapping
        JSON values; every text is cut to what the face can print.
    pictures : mapping of file name to SVG text
        The content names them.
    issued_at : datetime
        With its zone; the file's time stamp.
    language : str
        Of the texts, for a reader's voice.

    Returns
    -------
    bytes
        The PDF; the same values give the same bytes.

    Raises
    ------
    InputError
        If the time has no zone.
    """
    # A compiler of its own for each call: one shared by threads refuses the second caller.
    import typst

    if issued_at.tzinfo is None:
        raise InputError(f"the time of issue {issued_at} has no time zone")
    data = _printable(dict(content)) | {"language": language, "faces": [FAMILY, BOOK_FACE]}
    data["date"] = {"year": issued_at.year, "month": issued_at.month, "day": issued_at.day}
    files: dict[str, bytes] = {
        "main.typ": _template(template),
        "common.typ": _template("common"),
        "data.json": json.dumps(data, ensure_ascii=False, allow_nan=False).encode(),
    } | {name: svg.encode() for name, svg in pictures.items()}
    # The stub does not know that a folder may be given in memory.
    made, complaints = typst.compile_with_warnings(  # type: ignore[call-overload]
        files,
        format="pdf",
        font_paths=[str(folder())],
        ignore_system_fonts=True,
        pdf_standards=STANDARDS,
        timestamp=int(issued_at.timestamp()),
    )
    for complaint in complaints:
        warnings.warn(f"{template}: {complaint.message}", stacklevel=2)
    return bytes(made)


def qr_code(carries: str) -> str:
    """Draw a QR code as SVG text, without its quiet zone: the paper around it is white."""
    drawn = BytesIO()
    segno.make_qr(carries, error="m").save(
        drawn, kind="svg", xmldecl=False, border=0, omitsize=True, nl=False
    )
    return drawn.getvalue().decode()


def day_words(day: Any) -> str:
    """Write a date as papers show it.

    >>> from datetime import date
    >>> day_words(date(2026, 5, 1))
    '1 May 2026'
    """
    return f"{day.day} {day:%B} {day.year}"


def _template(name: str) -> bytes:
    return resources.files("turnwell.papers").joinpath("templates", f"{name}.typ").read_bytes()


def _printable(value: Any) -> Any:
    """Cut every text of nested JSON values to what the face can print."""
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, Mapping):
        return {key: _printable(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_printable(inner) for inner in value]
    return value
