"""How much chance an interval leaves out on either side, and how many standard errors it reaches.

Every level of coverage is checked here, and here only.
"""

from turnwell.errors import InputError

__all__ = ["checked_level", "normal_reach", "student_reach", "tail_of"]


def checked_level(level: float) -> float:
    """Give back a level of coverage, or refuse one that does not lie between 0 and 1."""
    if not 0.0 < level < 1.0:
        raise InputError(f"level is {level}, must lie between 0 and 1")
    return level


def tail_of(level: float) -> float:
    """Give the chance that a central interval of that coverage leaves out on either side.

    >>> round(tail_of(0.95), 6)
    0.025
    """
    return (1.0 - checked_level(level)) / 2.0


def normal_reach(level: float) -> float:
    """Give the standard errors on either side of a normal interval of that coverage.

    >>> round(normal_reach(0.95), 4)
    1.96
    """
    from scipy.special import ndtri

    return float(-ndtri(tail_of(level)))


def student_reach(level: float, degrees: float) -> float:
    """Give the same for Student's t; degrees > 0.

    >>> round(student_reach(0.95, 9), 3)
    2.262
    """
    from scipy.special import stdtrit

    return float(-stdtrit(degrees, tail_of(level)))
