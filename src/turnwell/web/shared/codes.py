"""Short codes that a label carries: a letter for the kind, five random characters, one check.

The alphabet is Crockford's base 32 (no I, L, O, U), so that a code can be read aloud and typed with
gloves on; what is typed in their stead is understood. The check character makes a sum over all six
come to nought, each weighted by another power of 2 in the field of 32 elements. No product of two
elements other than nought is nought there, so any single wrong character and any swap of two
different ones is caught.
"""

import secrets
from collections.abc import Sequence

from turnwell.errors import InputError

__all__ = ["code_shown", "new_code", "read_code"]

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
KINDS = "HJ"
LENGTH = 5
FIELD = 0b100101  # x^5 + x^2 + 1, which makes 2 a generator of the field's 31 other elements
MISREAD = str.maketrans({"O": "0", "I": "1", "L": "1", " ": None, "-": None})


def new_code(kind: str, number: int | None = None) -> str:
    """Give a code of a kind: ``"H"`` for a handpiece, ``"J"`` for a job.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    number : int or None
        0 <= number < 32**5; random when None.

    Examples
    --------
    >>> new_code("H", 1_234_567)
    'H15NM7J'
    """
    if kind not in KINDS or len(kind) != 1:
        raise InputError(f"code kind is {kind!r}, must be one of {', '.join(KINDS)}")
    if number is None:
        number = secrets.randbelow(32**LENGTH)
    digits = [ALPHABET[number // 32**place % 32] for place in reversed(range(LENGTH))]
    return f"{kind}{''.join(digits)}{_check_of(digits)}"


def read_code(typed: str) -> str | None:
    """Give the code that was typed or scanned, or None when it is none.

    >>> read_code("h 15nm7-j"), read_code("H15NM7P")
    ('H15NM7J', None)
    """
    folded = typed.strip().upper().translate(MISREAD)
    if len(folded) != LENGTH + 2 or folded[0] not in KINDS:
        return None
    if any(character not in ALPHABET for character in folded[1:]):
        return None
    return folded if folded[-1] == _check_of(folded[1:-1]) else None


def _check_of(characters: Sequence[str]) -> str:
    """Give the check character: the one that makes the weighted sum nought."""
    total = 0
    for character in characters:
        total = (total ^ ALPHABET.index(character)) << 1
        if total & 0b100000:
            total ^= FIELD
    return ALPHABET[total]


def code_shown(code: str) -> str:
    """Give a code as people read it.

    >>> code_shown("H15NM7J")
    'H 15NM7-J'
    """
    return f"{code[0]} {code[1:-1]}-{code[-1]}"
