"""How many standard errors an interval reaches to either side."""

__all__ = ["normal_reach", "student_reach"]


def normal_reach(level: float) -> float:
    """Give the standard errors on either side of a normal interval of that coverage.

    >>> round(normal_reach(0.95), 4)
    1.96
    """
    from scipy.special import ndtri

    return float(ndtri(0.5 + level / 2.0))


def student_reach(level: float, degrees: float) -> float:
    """Give the same for Student's t; degrees > 0.

    >>> round(student_reach(0.95, 9), 3)
    2.262
    """
    from scipy.special import stdtrit

    return float(stdtrit(degrees, 0.5 + level / 2.0))
