"""Reads numbers as people type them, and refuses what is none."""

import math
import re

from turnwell.errors import InputError

__all__ = ["read_number", "shown_number"]

SPACES = str.maketrans({" ": None, "\u00a0": None, "\u2009": None, "\u202f": None, "'": None})
PLAIN = re.compile(r"[-+]?\d{1,15}(\.\d{0,15})?|[-+]?\.\d{1,15}")
GROUPED = re.compile(r"[-+]?[1-9]\d{0,2}(,\d{3})+(\.\d+)?")
DECIMAL_COMMA = re.compile(r"[-+]?\d{0,15},\d{1,15}")


def read_number(typed: str, *, is_grouped: bool = False) -> float:
    """Give the number a person typed, with a decimal point or a decimal comma.

    Parameters
    ----------
    typed : str
        What stands in the field.
    is_grouped : bool
        True where numbers run to thousands, as speeds do: "400,000" is then four hundred thousand.
        Elsewhere one comma before three digits can be read two ways and is refused.

    Raises
    ------
    InputError
        If it is no number, is not finite, or can be read two ways.

    Examples
    --------
    >>> read_number("2.5"), read_number("2,5"), read_number("400,000", is_grouped=True)
    (2.5, 2.5, 400000.0)
    >>> read_number("1,500")
    Traceback (most recent call last):
    turnwell.errors.InputError: 1,500 can be read two ways; write 1500 or 1.500
    """
    text = typed.strip().translate(SPACES)
    if GROUPED.fullmatch(text):
        whole = text.replace(",", "")
        if not is_grouped and text.count(",") == 1 and "." not in text:
            raise InputError(
                f"{text} can be read two ways; write {whole} or {text.replace(',', '.')}"
            )
        return float(whole)
    if DECIMAL_COMMA.fullmatch(text):
        text = text.replace(",", ".")
    if not PLAIN.fullmatch(text):
        raise InputError(f"{_short(typed)} is not a number; write digits, such as 35 or 2.4")
    value = float(text)
    if not math.isfinite(value):
        raise InputError(f"{_short(typed)} is too large to be a measured value")
    return value


def shown_number(value: float) -> str:
    """Give a number as it is typed into a field again: six figures, no trailing zeros.

    >>> shown_number(35.00000001), shown_number(0.0625), shown_number(400000.0)
    ('35', '0.0625', '400000')
    """
    return f"{value:.6f}".rstrip("0").rstrip(".") if abs(value) < 1e6 else f"{value:.0f}"


def _short(typed: str) -> str:
    """Give what was typed, cut to what fits in a sentence."""
    text = typed.strip().replace("\x00", "\ufffd")
    return f"“{text[:20]}…”" if len(text) > 20 else f"“{text}”"
