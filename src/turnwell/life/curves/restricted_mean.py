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
from turnwell.life.tails import normal_reach, student_reach

__all__ = ["restricted_mean"]

# Logarithm of a factor beyond which a share is 0 or 1 to all digits.
LARGEST = 700.0


def restricted_mean(
    lives: Lives, until: float, *, level: float = 0.95, start: float | None = None
) -> Estimate:
    """Estimate the mean time from start to failure, or to an age where that comes first.

    With more than one office the interval is that over offices (Student's t, offices - 1 degrees)
    where it is wider than that of independent lives.

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
    survival = risk.survival
    edges = np.minimum(np.concatenate([[risk.start], risk.time, [risk.end]]), until)
    areas = np.concatenate([[1.0], survival]) * np.diff(edges)
    mean = float(areas.sum())
    beyond = np.cumsum(areas[::-1])[::-1][1:]
    whole = until - risk.start
    low, high = _limits(mean / whole, _reach(risk, beyond, level) / whole)
    return Estimate(mean, whole * low, whole * high, level)


def _limits(share: float, reach: float) -> tuple[float, float]:
    """Give the limits of a mean as share of the stretch, on the scale of ln(-ln share)."""
    if share >= 1.0 or reach == 0.0:
        return share, share
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
