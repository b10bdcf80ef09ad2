"""Mean age reached up to a bound: the area under the product-limit curve.

A mean without a bound cannot be had from lives most of which still run. The limits lie on the scale
on which those of the curve do: even to both sides they would cover too seldom at few failures.

References
----------
[KLEINMOESCHBERGER2003], 4.5. Variance over offices: [LIANG1986].
"""

from math import exp, log

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.life.clusters import Influence
from turnwell.life.curves.risk import Risk, risk_of
from turnwell.life.estimate import Estimate
from turnwell.life.lives import Lives
from turnwell.life.tails import normal_reach, student_reach, tail_of

__all__ = ["restricted_mean"]

# Logarithm of a factor beyond which a share is 0 or 1 to all digits.
LARGEST = 700.0


def restricted_mean(
    lives: Lives, until: float, *, level: float = 0.95, start: float | None = None
) -> Estimate:
    """Estimate the mean time from start to failure, or to an age where that comes first.

    With more than one office the interval is that over offices (Student's t, offices - 1 degrees)
    where it is wider than that of independent lives. Where nothing failed before the bound the
    lower limit is that of no failure among the lives watched all the way.

    Parameters
    ----------
    lives : Lives
        Each failure's age known.
    until : float
        The bound, after start and not beyond the last age of observation.
    level : float
    start : float or None
        Age to count from; the first entry where None.

    Raises
    ------
    InputError
        If nothing was under observation at the bound, or a failure lies between two looks.

    Examples
    --------
    >>> restricted_mean(Lives.observed([2, 4, 8, 8], [1, 1, 0, 0]), 8).value
    5.5
    """
    risk = risk_of(lives, start=start)
    if not risk.start < until <= risk.end:
        raise InputError(
            f"until is {until:g}, but lives were under observation from {risk.start:g} to "
            f"{risk.end:g}; choose an age between"
        )
    whole = until - risk.start
    if risk.time.size == 0 or risk.time[0] >= until:
        return Estimate(whole, whole * _least_share(risk, until, level), whole, level)
    edges = np.minimum(np.concatenate([[risk.start], risk.time, [risk.end]]), until)
    areas = np.concatenate([[1.0], risk.survival]) * np.diff(edges)
    mean = float(areas.sum())
    beyond = np.cumsum(areas[::-1])[::-1][1:]
    reach = _reach(risk, beyond, level)
    if reach == 0.0:
        return Estimate(mean, mean, mean, level)
    low, high = _limits(mean / whole, reach / whole)
    return Estimate(mean, whole * low, whole * high, level)


def _least_share(risk: Risk, until: float, level: float) -> float:
    """Give the least share that passes the bound where none failed before it [CLOPPER1934].

    The mean is no less than that share of the stretch, were all others to fail at its start.
    """
    is_whole = (risk.lives.entry <= risk.start) & (risk.lives.low >= until)
    count = int(np.count_nonzero(is_whole))
    return tail_of(level) ** (1.0 / count) if count else 0.0


def _limits(share: float, reach: float) -> tuple[float, float]:
    """Give the limits of a mean as share of the stretch, on the scale of ln(-ln share)."""
    factor = exp(min(reach / (share * -log(share)), LARGEST))
    return share**factor, share ** (1.0 / factor)


def _reach(risk: Risk, beyond: NDArray[np.float64], level: float) -> float:
    """Give how far the interval reaches; beyond is the area after each age of failure."""
    left = risk.at_risk - risk.failures
    # Where all fail no area is left that could change.
    each = np.divide(beyond, left, out=np.zeros_like(left), where=left > 0.0)
    variance = float(np.sum(beyond * each * risk.failures / risk.at_risk))
    reach = normal_reach(level) * float(np.sqrt(variance))
    if risk.lives.offices < 2:
        return reach
    clusters = risk.clusters(risk.lives.office)
    influence = Influence(jump=each[risk.step], slope=each * risk.failures / risk.at_risk)
    squares = float(np.sum(clusters.totals(influence) ** 2))
    spread = np.sqrt(squares * clusters.count / (clusters.count - 1.0))
    return max(reach, student_reach(level, clusters.count - 1) * float(spread))
