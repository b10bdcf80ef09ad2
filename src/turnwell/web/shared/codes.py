"""Short codes that a label carries: a letter for the kind, five random characters, one check.

The alphabet is Crockford's base 32 (no I, L, O, U), so that a code can be read aloud and typed with
gloves on; what is typed in their stead is understood. The check character is the value of the five
taken as a number, modulo 31: any single wrong character and most swaps are caught.
"""

import secrets

from turnwell.errors import InputError

__all__ = ["code_shown", "new_code", "read_code"]

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
KINDS = "HJ"
LENGTH = 5
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
    'H15NM7N'
    """
    if kind not in KINDS or len(kind) != 1:
        raise InputError(f"code kind is {kind!r}, must be one of {', '.join(KINDS)}")
    if number is None:
        number = secrets.randbelow(32**LENGTH)
    digits = [ALPHABET[number // 32**place % 32] for place in reversed(range(LENGTH))]
    return f"{kind}{''.join(digits)}{ALPHABET[number % 31]}"


def read_code(typed: str) -> str | None:
    """Give the code that was typed or scanned, or None when it is none.

    >>> read_code("h 15nm7-n"), read_code("H15NM7P")
    ('H15NM7N', None)
    """
    folded = typed.strip().upper().translate(MISREAD)
    if len(folded) != LENGTH + 2 or folded[0] not in KINDS:
        return None
    if any(character not in ALPHABET for character in folded[1:]):
        return None
    number = 0
    for character in folded[1:-1]:
        number = number * 32 + ALPHABET.index(character)
    return folded if folded[-1] == ALPHABET[number % 31] else None


def code_shown(code: str) -> str:
    """Give a code as people read it.

    >>> code_shown("H15NM7N")
    'H 15NM7-N'
    """
    return f"{code[0]} {code[1:-1]}-{code[-1]}"
