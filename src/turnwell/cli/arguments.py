"""Numbers of the command line: how they are read, and what is refused of them."""

import argparse
from collections.abc import Callable
from math import isfinite

__all__ = ["MOST_JOBS", "at_least_zero", "count", "list_of", "number", "positive"]

MOST_JOBS = 60  # as many workers as every system can wait for at once


def number(text: str) -> float:
    """Read a finite number; commas between thousands are left out."""
    try:
        value = float(text.replace(",", ""))
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number") from None
    if not isfinite(value) or abs(value) > 1e9:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number that can be used")
    return value


def positive(text: str) -> float:
    """Read a number above 0."""
    value = number(text)
    if value <= 0.0:
        raise argparse.ArgumentTypeError(f"{text!r} must be above 0")
    return value


def at_least_zero(text: str) -> float:
    """Read a number that is not below 0."""
    value = number(text)
    if value < 0.0:
        raise argparse.ArgumentTypeError(f"{text!r} must be 0 or more")
    return value


def count(text: str) -> int:
    """Read a whole number from 1 to `MOST_JOBS`."""
    whole = int(text) if text.isdecimal() else 0
    if not 1 <= whole <= MOST_JOBS:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no count; give a number from 1 to {MOST_JOBS}"
        )
    return whole


def list_of(one: Callable[[str], float]) -> Callable[[str], tuple[float, ...]]:
    """Make a reader of numbers with commas between them."""

    def read(text: str) -> tuple[float, ...]:
        return tuple(one(part) for part in text.split(","))

    return read
