"""Which characters the shipped face can print; what it cannot becomes a question mark.

A paper with a character that no embedded font holds could not be written as PDF/A at all.

References
----------
[OPENTYPE-CMAP]: tables ``cmap`` of formats 4 and 12.
"""

import re
import unicodedata
from functools import cache
from struct import unpack_from

from turnwell.fonts import folder

__all__ = ["printable"]

LONGEST_WORD = 24
LONG_WORD = re.compile(rf"\S{{{LONGEST_WORD + 1},}}")
WHITE = {" ": " ", "\t": " ", "\n": "\n", "\N{NO-BREAK SPACE}": "\N{NO-BREAK SPACE}"}
ZERO_WIDTH_SPACE = "\u200b"


def printable(text: str) -> str:
    r"""Give a text as the face can print it, with places to break in words that would not fit.

    >>> printable("Łódź\x07 日本")
    'Łódź ??'
    """
    known = _characters()
    kept = []
    for character in unicodedata.normalize("NFC", text):
        if character in WHITE:
            kept.append(WHITE[character])
        elif unicodedata.category(character) in {"Cc", "Cf", "Co", "Cs", "Cn"}:
            continue
        else:
            kept.append(character if ord(character) in known else "?")
    return LONG_WORD.sub(_with_breaks, "".join(kept))


def _with_breaks(word: re.Match[str]) -> str:
    text = word.group()
    half = LONGEST_WORD // 2
    return ZERO_WIDTH_SPACE.join(text[at : at + half] for at in range(0, len(text), half))


@cache
def _characters() -> frozenset[int]:
    """Read what both weights of the face hold."""
    sets = [_characters_of(path.read_bytes()) for path in sorted(folder().glob("*.ttf"))]
    return frozenset.intersection(*sets)


def _characters_of(font: bytes) -> frozenset[int]:
    (tables,) = unpack_from(">H", font, 4)
    for number in range(tables):
        tag, _, start, _ = unpack_from(">4sLLL", font, 12 + 16 * number)
        if tag == b"cmap":
            return _read_cmap(font, start)
    raise ValueError("the font has no cmap table")


def _read_cmap(font: bytes, start: int) -> frozenset[int]:
    found: set[int] = set()
    (count,) = unpack_from(">H", font, start + 2)
    for number in range(count):
        platform, encoding, offset = unpack_from(">HHL", font, start + 4 + 8 * number)
        at = start + offset
        (form,) = unpack_from(">H", font, at)
        if (platform, encoding) == (3, 1) and form == 4:
            found |= _format_4(font, at)
        elif (platform, encoding) == (3, 10) and form == 12:
            found |= _format_12(font, at)
    return frozenset(found)


def _format_4(font: bytes, at: int) -> set[int]:
    """Read segments of 16 bit characters; one whose glyph is 0 is not held."""
    (doubled,) = unpack_from(">H", font, at + 6)
    count = doubled // 2
    ends = unpack_from(f">{count}H", font, at + 14)
    starts = unpack_from(f">{count}H", font, at + 16 + doubled)
    deltas = unpack_from(f">{count}H", font, at + 16 + 2 * doubled)
    offsets = unpack_from(f">{count}H", font, at + 16 + 3 * doubled)
    found = set()
    for segment, (first, last) in enumerate(zip(starts, ends, strict=True)):
        for character in range(first, min(last, 0xFFFE) + 1):
            glyph = character
            if offsets[segment]:
                place = at + 16 + 3 * doubled + 2 * segment
                (glyph,) = unpack_from(
                    ">H", font, place + offsets[segment] + 2 * (character - first)
                )
            if glyph and (glyph + deltas[segment]) & 0xFFFF:
                found.add(character)
    return found


def _format_12(font: bytes, at: int) -> set[int]:
    (count,) = unpack_from(">L", font, at + 12)
    found: set[int] = set()
    for number in range(count):
        first, last, _ = unpack_from(">LLL", font, at + 16 + 12 * number)
        found.update(range(first, last + 1))
    return found
