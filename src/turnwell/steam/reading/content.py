"""The text of a file's bytes, or a sentence on why it is no table of text.

What a file is, is told by its content and never by its name.
"""

import codecs
import re

from turnwell.errors import UnreadableFileError
from turnwell.steam.reading.grid import (
    MAX_BYTES,
    MAX_CELL_CHARACTERS,
    MAX_ROWS,
    place_of,
)

__all__ = ["ADVICE", "lines_of", "refuse_by_size"]

ADVICE = "save the record as CSV, plain text, .xlsx or .ods and give that file"

# How files begin that are renamed by mistake, from their open descriptions.
BEGINNINGS = (
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"BM", "a picture"),
    (b"II*\x00", "a picture"),
    (b"MM\x00*", "a picture"),
    (b"%PDF", "a PDF"),
    (b"PK", "a zip archive"),
    (b"\x1f\x8b", "a compressed archive"),
    (b"7z\xbc\xaf", "a compressed archive"),
    (b"Rar!", "a compressed archive"),
    (b"BZh", "a compressed archive"),
    (b"\xfd7zXZ", "a compressed archive"),
    (b"RIFF", "a sound or a film"),
    (b"ID3", "a sound or a film"),
    (b"OggS", "a sound or a film"),
    (b"fLaC", "a sound or a film"),
    (b"\x1a\x45\xdf\xa3", "a sound or a film"),
    (b"MZ", "a program"),
    (b"\x7fELF", "a program"),
    (b"{\\rtf", "a word-processor document"),
)
SHORT_BEGINNINGS = (b"BM", b"MZ", b"PK")
MARKUP = re.compile(r"\s*<(!doctype|html|\?xml|table|svg)", re.IGNORECASE)
CONTROL = re.compile("[\x01-\x08\x0e-\x1a\x1c-\x1f]")
BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


def refuse_by_size(content: bytes, name: str) -> None:
    """Refuse a file that is empty or larger than a record can be.

    Raises
    ------
    UnreadableFileError
        If it holds nothing or more than `MAX_BYTES`.
    """
    if len(content) > MAX_BYTES:
        raise UnreadableFileError(
            f"{place_of(name)} has more than {MAX_BYTES / 1e6:.0f} MB, at most so much is read; "
            "cut it into one file for each run"
        )
    if not content.strip(b" \t\r\n\x00\xef\xbb\xbf\xff\xfe"):
        raise UnreadableFileError(f"{place_of(name)} is empty; {ADVICE}")


def lines_of(content: bytes, name: str) -> list[str]:
    """Give the lines of a text file, in whatever usual encoding it is.

    Raises
    ------
    UnreadableFileError
        If it is no text, or its lines are too many or too long.
    """
    refuse_by_size(content, name)
    _refuse_by_beginning(content, name)
    text = _text(content, name)
    marks = text.count("\n") + text.count("\r")
    if marks > 2 * MAX_ROWS + 2000:
        raise _too_many(name, marks)
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = text.replace("\f", " ").replace("\xa0", " ").split("\n")
    if len(lines) > MAX_ROWS + 1000:
        raise _too_many(name, len(lines))
    longest = max(map(len, lines))
    if longest > MAX_CELL_CHARACTERS:
        raise UnreadableFileError(
            f"{place_of(name)} has a line of {longest:,} characters, no row of a record is so "
            f"long; {ADVICE}"
        )
    return lines


def _too_many(name: str, lines: int) -> UnreadableFileError:
    return UnreadableFileError(
        f"{place_of(name)} has about {lines:,} lines, at most {MAX_ROWS:,} are read; cut it into "
        "one file for each run"
    )


def _refuse_by_beginning(content: bytes, name: str) -> None:
    for mark, what in BEGINNINGS:
        # Two letters may begin a text as well; then no control character follows them.
        if content.startswith(mark) and (mark not in SHORT_BEGINNINGS or b"\x00" in content[:64]):
            raise UnreadableFileError(f"{place_of(name)} is {what}, not a record; {ADVICE}")
    if content[4:8] == b"ftyp":
        raise UnreadableFileError(f"{place_of(name)} is a sound or a film, not a record; {ADVICE}")


def _text(content: bytes, name: str) -> str:
    """Decode by the mark at the beginning, else UTF-8, else the usual one of Windows."""
    encoding = _encoding(content)
    try:
        text = content.decode(encoding).removeprefix("\ufeff")
    except UnicodeDecodeError:
        if encoding != "utf-8":
            raise UnreadableFileError(
                f"{place_of(name)} is broken: it claims to be {encoding.upper()} text and is not; "
                f"{ADVICE}"
            ) from None
        text = content.decode("cp1252", errors="replace").removeprefix("ï»¿")
    if "\x00" in text:
        raise UnreadableFileError(
            f"{place_of(name)} holds zero bytes, so it is no text, or a broken one; {ADVICE}"
        )
    sample = text[:20_000]
    if 20 * len(CONTROL.findall(sample)) > len(sample):
        raise UnreadableFileError(f"{place_of(name)} is no text; {ADVICE}")
    if MARKUP.match(sample):
        raise UnreadableFileError(f"{place_of(name)} is a web page or markup, no table; {ADVICE}")
    return text


def _encoding(content: bytes) -> str:
    for mark, encoding in BOMS:
        if content.startswith(mark):
            return encoding
    # Plain letters in two bytes each have a zero in every other place.
    sample = content[: min(len(content), 2000) // 2 * 2]
    high, low = sample[::2].count(0), sample[1::2].count(0)
    if low > 0.3 * len(sample) and high < 0.02 * len(sample):
        return "utf-16-le"
    if high > 0.3 * len(sample) and low < 0.02 * len(sample):
        return "utf-16-be"
    return "utf-8"
