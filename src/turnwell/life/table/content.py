"""The text of a file's bytes, or a sentence on why it is no table of text.

What a file is, is told by its content and never by its name.
"""

import codecs
import re
from dataclasses import dataclass

from turnwell.errors import UnreadableFileError

__all__ = ["LATIN_1", "MAX_BYTES", "Content", "shown", "text_of_bytes"]

# A million rows of six columns have about half of this.
MAX_BYTES = 100_000_000
MOST_SHOWN = 40
# Reads any bytes: what a file is taken for that is no UTF-8.
LATIN_1 = "Latin-1"

ADVICE = "save the table as CSV and give that file"

# How files begin that are given by mistake, from their open descriptions.
_BEGINNINGS = (
    (b"%PDF", "a PDF"),
    (b"PK\x03\x04", "a spreadsheet or another packed file"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet or a document of an old form"),
    (b"\x1f\x8b", "a compressed file"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"{\\rtf", "a word-processor document"),
)
_MARKUP = re.compile(r"\s*<(!doctype|html|\?xml|table|svg)", re.IGNORECASE)
_CONTROL = re.compile("[\x00-\x08\x0b\x0e-\x1f]")
_BOMS = (
    (codecs.BOM_UTF8, "UTF-8"),
    (codecs.BOM_UTF16_LE, "UTF-16-LE"),
    (codecs.BOM_UTF16_BE, "UTF-16-BE"),
)


@dataclass(frozen=True, slots=True)
class Content:
    """The text of a file, lines parted by a line feed, and the alphabet it was read in."""

    text: str
    encoding: str


def text_of_bytes(content: bytes, name: str) -> Content:
    """Give the text of a file.

    Parameters
    ----------
    content : bytes
        At most `MAX_BYTES`.
    name : str
        What sentences call it.

    Raises
    ------
    UnreadableFileError
        If it holds nothing, too much, or no text.
    """
    if len(content) > MAX_BYTES:
        raise UnreadableFileError(
            f"{shown(name)} has more than {MAX_BYTES / 1e6:.0f} MB, at most so much is read; "
            "leave out the columns that are not needed, or cut it in two"
        )
    for mark, what in _BEGINNINGS:
        if content.startswith(mark):
            raise UnreadableFileError(f"{shown(name)} is {what}, no table of text; {ADVICE}")
    read = _decoded(content, name)
    text = read.text
    if not text.strip():
        raise UnreadableFileError(f"{shown(name)} is empty; {ADVICE}")
    wrong = _CONTROL.search(text)
    if wrong:
        line = text.count("\n", 0, wrong.start()) + 1
        raise UnreadableFileError(
            f"{shown(name)} holds a sign that no text has (code {ord(wrong.group())}, row {line}); "
            f"{ADVICE}"
        )
    if _MARKUP.match(text):
        raise UnreadableFileError(
            f"{shown(name)} is a web page or markup, no table of text; {ADVICE}"
        )
    return read


def shown(text: str) -> str:
    r"""Give a name or a cell as a sentence shows it: short, and without what upsets a terminal.

    >>> shown(" run\n1.csv ")
    'run?1.csv'
    """
    printable = "".join(mark if mark.isprintable() else "?" for mark in text[:2000].strip())
    if len(printable) <= MOST_SHOWN:
        return printable
    return f"{printable[: MOST_SHOWN // 2]}...{printable[-MOST_SHOWN // 2 + 3 :]}"


def _decoded(content: bytes, name: str) -> Content:
    """Decode by the mark at the beginning, else as UTF-8, else as Latin-1."""
    for mark, encoding in _BOMS:
        if content.startswith(mark):
            try:
                text = content.removeprefix(mark).decode(encoding)
            except UnicodeDecodeError as error:
                raise UnreadableFileError(
                    f"{shown(name)} claims to be {encoding} text and breaks off at byte "
                    f"{error.start + len(mark) + 1:,}; {ADVICE}"
                ) from error
            return Content(_one_line_end(text), encoding)
    try:
        return Content(_one_line_end(content.decode("utf-8")), "UTF-8")
    except UnicodeDecodeError:
        return Content(_one_line_end(content.decode("latin-1")), LATIN_1)


def _one_line_end(text: str) -> str:
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    return text
