"""How far a sensor's bound carries: one error that a whole record shares."""

from math import hypot

from turnwell.measure import common_error

__all__ = ["TWO_SIDED_95", "half_width"]

# Normal quantile of a two-sided 95 % interval; written out because this core needs no scipy.
TWO_SIDED_95 = 1.959964


def half_width(*bounds: float) -> float:
    """Half of the 95 % interval that independent errors, each within ± its bound, leave.

    The same value is added to every row, so the interval does not shrink with more rows.

    >>> round(half_width(0.5), 3), round(half_width(0.5, 0.2), 3)
    (0.566, 0.609)
    """
    return TWO_SIDED_95 * hypot(*(common_error(bound).standard for bound in bounds))
