"""Spread of a fit whose lives are alike within an office: a sandwich over offices.

Each office in turn is left out and the fit moved by one Newton step; the moves' squares, times
(offices - 1) / offices, are the covariance of ln shape and ln scale. Leaving out makes up for the
fit having leaned towards each office it saw, which a plain sandwich of few offices does not.
Intervals reach as far as Student's t with offices - 1 degrees of freedom.

References
----------
[LIANG1986] for the sandwich; [BELLMCCAFFREY2002] for leaving out and for t.
"""

from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from numpy.typing import NDArray

from turnwell.life.lives import Lives
from turnwell.life.tails import student_reach
from turnwell.life.weibull.likelihood import Likelihood
from turnwell.life.weibull.looks import looks_of_each
from turnwell.life.weibull.maximum import Maximum

__all__ = ["OfficeSpread", "office_spread"]


@dataclass(frozen=True, slots=True)
class OfficeSpread:
    """Covariance of ln shape (a) and ln scale (m) over offices.

    Parameters
    ----------
    by_aa, by_am, by_mm : float
    offices : int
    reach : float
        Standard errors to either side at the level of the fit.
    """

    by_aa: float
    by_am: float
    by_mm: float
    offices: int
    reach: float

    def half_width(self, turn_a: float, turn_m: float) -> float:
        """Give the half width of what moves by these with ln shape and ln scale."""
        variance = (
            turn_a**2 * self.by_aa + 2.0 * turn_a * turn_m * self.by_am + turn_m**2 * self.by_mm
        )
        return self.reach * sqrt(max(variance, 0.0))


def office_spread(
    lives: Lives, likelihood: Likelihood, maximum: Maximum, *, level: float
) -> OfficeSpread | None:
    """Give the spread over offices.

    Returns
    -------
    OfficeSpread or None
        None with one office, or where fewer than two failures are left without one of them: then
        there is nothing to hold that one against.
    """
    present = np.bincount(lives.office) > 0
    count = int(np.count_nonzero(present))
    if count < 2:
        return None
    failures = np.bincount(lives.office[lives.is_failed])
    if lives.failures - int(failures.max()) < 2:
        return None
    sums = _office_sums(lives, maximum.a, maximum.m + likelihood.unit)
    by_a, by_m, by_aa, by_am, by_mm = sums[:, present]
    left_aa, left_am, left_mm = (one - one.sum() for one in (by_aa, by_am, by_mm))
    bend = left_aa * left_mm - left_am**2
    if np.any(left_aa <= 0.0) or np.any(bend <= 0.0):
        return None
    move_a = (left_mm * by_a - left_am * by_m) / bend
    move_m = (left_aa * by_m - left_am * by_a) / bend
    share = (count - 1) / count
    return OfficeSpread(
        by_aa=share * float(move_a @ move_a),
        by_am=share * float(move_a @ move_m),
        by_mm=share * float(move_m @ move_m),
        offices=count,
        reach=student_reach(level, count - 1),
    )


def _office_sums(lives: Lives, a: float, m: float) -> NDArray[np.float64]:
    """Give slopes and curvatures of the log-likelihood of each office's lives, shape (5, k)."""
    b = exp(a)
    count = int(lives.office.max()) + 1
    failed = lives.is_failed
    exact = failed & (lives.high == lives.low)
    between = failed & ~exact
    late = lives.entry > 0.0
    ends = slice(None) if not between.any() else ~between
    u, uz, uzz = _hazards(lives.low[ends], lives.office[ends], b, m, count)
    if late.any():
        started = _hazards(lives.entry[late], lives.office[late], b, m, count)
        u, uz, uzz = u - started[0], uz - started[1], uzz - started[2]
    whose = lives.office[exact]
    failures = np.bincount(whose, minlength=count)
    z = np.bincount(whose, weights=b * (np.log(lives.low[exact]) - m), minlength=count)
    sums = np.stack(
        [
            failures + z - uz,
            b * (u - failures),
            z - uz - uzz,
            b * (u + uz - failures),
            -b * b * u,
        ]
    )
    if between.any():
        looks = looks_of_each(lives.chosen(between), largest=1.0)
        whose = lives.office[between]
        sums += [np.bincount(whose, one, minlength=count) for one in looks.each(b, m)[1:]]
    return sums


def _hazards(
    ages: NDArray[np.float64], office: NDArray[np.intp], b: float, m: float, count: int
) -> NDArray[np.float64]:
    """Give sums over offices of u, u z and u z^2, u the cumulative hazard at an age, z its log."""
    z = b * (np.log(ages) - m)
    u = np.exp(z)
    uz = u * z
    return np.stack([np.bincount(office, one, minlength=count) for one in (u, uz, uz * z)])
