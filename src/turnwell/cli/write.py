"""Puts results down: whole files that replace nothing unasked, lines that any terminal can show."""

import os
import sys
import textwrap
from collections.abc import Iterable
from pathlib import Path
from typing import TextIO

from turnwell.errors import InputError

__all__ = ["WIDTH", "encodable", "folded", "print_lines", "refuse_taken", "write_whole"]

WIDTH = 80
_INDENT = "  "
# How a sign is written where the terminal's alphabet lacks it.
_PLAIN = str.maketrans(
    {
        "−": "-",
        "–": "-",
        "±": "+/-",
        "×": "x",
        "·": "*",
        "°": " deg",
        "²": "^2",
        "³": "^3",
        "≤": "<=",
        "≥": ">=",
        "→": "->",
        "…": "...",
        "ω": "omega",
        "α": "alpha",
        "µ": "u",
        "μ": "u",
        "’": "'",
        "“": '"',
        "”": '"',
        "\u202f": " ",
        "\u00a0": " ",
    }
)


def print_lines(lines: Iterable[str], *, stream: TextIO | None = None) -> None:
    """Print lines folded to `WIDTH` columns, in signs that the stream can carry.

    Parameters
    ----------
    lines : iterable of str
        A line's own indentation is kept where it is folded.
    stream : text file or None
        Standard output when None.
    """
    target = sys.stdout if stream is None else stream
    for line in lines:
        print(encodable("\n".join(folded(line)), target.encoding), file=target)


def folded(line: str, width: int = WIDTH) -> list[str]:
    """Break a line at spaces; what has no space, such as a path, stays whole.

    Examples
    --------
    >>> folded("  one two three", width=10)
    ['  one two', '    three']
    """
    indent = line[: len(line) - len(line.lstrip())]
    return textwrap.wrap(
        line,
        width,
        subsequent_indent=indent + _INDENT,
        break_long_words=False,
        break_on_hyphens=False,
        drop_whitespace=True,
    ) or [""]


def encodable(text: str, encoding: str | None) -> str:
    r"""Give a text in signs that an encoding has; the text itself where it has them all.

    Parameters
    ----------
    text : str
    encoding : str or None
        Of the stream it goes to; None, as of a text buffer, takes everything.

    Examples
    --------
    >>> encodable("5 −1 rad/s²", "cp1252"), encodable("5 −1 rad/s²", "ascii")
    ('5 -1 rad/s²', '5 -1 rad/s^2')
    >>> encodable("日", "ascii")
    '\\u65e5'
    """
    if encoding is None or _fits(text, encoding):
        return text
    plain = "".join(sign if _fits(sign, encoding) else sign.translate(_PLAIN) for sign in text)
    return plain.encode(encoding, "backslashreplace").decode(encoding)


def _fits(text: str, encoding: str) -> bool:
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True


def refuse_taken(path: Path, *, force: bool) -> None:
    """Refuse a path that cannot be written to, before any work is done for it.

    Raises
    ------
    InputError
        If the folder is not there, or the file is and `force` is False.
    """
    if not path.parent.is_dir():
        raise InputError(f"the folder {path.parent} is not there; make it first")
    if path.is_dir():
        raise InputError(f"{path} is a folder; give the name of a file")
    if path.exists() and not force:
        raise InputError(f"{path} is there already; give another name, or --force to replace it")


def write_whole(path: Path, content: bytes) -> None:
    """Write a file that appears under its name only when all of it is on disk.

    Raises
    ------
    InputError
        If the disk is full, or the folder cannot be written.
    """
    part = path.with_name(f".turnwell-{os.getpid()}.part")
    try:
        with part.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise InputError(f"{path} cannot be written: {error.strerror or error}") from error
