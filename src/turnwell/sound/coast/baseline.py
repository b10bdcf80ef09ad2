"""The limit that a handpiece's own earlier coast-downs set."""

from math import sqrt
from statistics import fmean, stdev

from turnwell.measure import Basis, Budget, Limit, Part

__all__ = ["baseline_limit"]


def baseline_limit(baseline_s: tuple[float, ...]) -> Limit | None:
    """Give the two-sided limit that earlier coast-downs of the same handpiece set.

    The 95 % prediction interval for one more value; too long is a fault too, since more is drawn
    back into the head while it stops. None with fewer than three earlier values.

    >>> limit = baseline_limit((2.0, 2.1, 1.9))
    >>> round(limit.low, 2), round(limit.high, 2)
    (1.5, 2.5)
    """
    if len(baseline_s) < 3:
        return None
    spread = Part("repeatability", stdev(baseline_s), len(baseline_s) - 1.0)
    factor = Budget(0.0, (spread,)).coverage_factor()
    half = factor * spread.standard * sqrt(1.0 + 1.0 / len(baseline_s))
    middle = fmean(baseline_s)
    # A thousandth of a second is finer than any rotor repeats.
    low, high = round(max(middle - half, 0.0), 3), round(middle + half, 3)
    return Limit(low, high, "own earlier coast-downs", Basis.OWN)
