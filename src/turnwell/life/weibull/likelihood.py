"""Log-likelihood of a Weibull life with its slopes and curvatures, in ln shape and ln scale.

Survival to age t is exp(-(t/scale)^shape). A failure at a known age adds the log density there, a
unit still running the log survival, a failure between two looks the log of what survival lost
between them; late entry at age v takes off the log survival to v.

References
----------
[KLEINMOESCHBERGER2003], 3.4 and 3.5; [LAWLESS2003], 2.4 and 5.
"""

from dataclasses import dataclass
from math import exp, log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from turnwell.life.lives import Lives
from turnwell.life.weibull.looks import Looks, looks_of

__all__ = ["Exposure", "Likelihood", "Terms", "likelihood_of"]

# Beyond this exponent a hazard is as good as endless; exp overflows at 709.
_STEEPEST = 700.0


class Terms(NamedTuple):
    """Log-likelihood and its derivatives: a for ln shape, m for ln scale."""

    value: float
    by_a: float
    by_m: float
    by_aa: float
    by_am: float
    by_mm: float


class Exposure(NamedTuple):
    """Sum of age^shape watched, and its first two derivatives in shape."""

    total: float
    first: float
    second: float


@dataclass(frozen=True, slots=True, eq=False)
class Likelihood:
    """What the lives say about shape and scale.

    Ages are divided by the largest, so that no power of them overflows; `unit` gives them back.

    Parameters
    ----------
    unit : float
        Natural log of the largest age.
    log_ages : array, shape (k,)
        Ln of each age up to which, or from which, a unit was watched, less `unit`; none above 0.
    powers : array, shape (3, k)
        Sign of each (+1 the end of a watch, -1 its start), times `log_ages` to the 0, 1 and 2.
    exact : int
        Failures at a known age.
    exact_sum : float
        Sum of their log ages, less `unit` each.
    failures : int
    has_passed : bool
        True where at least one unit is known to have passed some age.
    looks : Looks or None
        Failures between two looks.
    """

    unit: float
    log_ages: NDArray[np.float64]
    powers: NDArray[np.float64]
    exact: int
    exact_sum: float
    failures: int
    has_passed: bool
    looks: Looks | None

    def exposure(self, shape: float) -> Exposure:
        """Give the sum of age^shape watched."""
        return Exposure(*(self.powers @ np.exp(shape * self.log_ages)).tolist())

    def at(self, a: float, m: float) -> Terms:
        """Give the terms at ln shape `a` and ln scale `m`, the latter less `unit`.

        The value leaves out what no parameter changes; `constant` adds it.
        """
        b = exp(a)
        total, first, second = self.exposure(b)
        fall = exp(min(-b * m, _STEEPEST))
        hazard = fall * total
        by_b_hazard = fall * (first - m * total)
        by_bb_hazard = fall * (second - 2.0 * m * first + m * m * total)
        by_b = self.exact * (1.0 / b - m) + self.exact_sum - by_b_hazard
        by_bb = -self.exact / (b * b) - by_bb_hazard
        terms = Terms(
            value=self.exact * (a - b * m) + b * self.exact_sum - hazard,
            by_a=b * by_b,
            by_m=b * (hazard - self.exact),
            by_aa=b * by_b + b * b * by_bb,
            by_am=b * (hazard - self.exact + b * by_b_hazard),
            by_mm=-b * b * hazard,
        )
        if self.looks is None:
            return terms
        return Terms(*(terms + self.looks.at(b, m)).tolist())

    def values(self, a: float, m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give the value at ln shape `a` and many ln scales, shape (j,)."""
        b = exp(a)
        hazard = np.exp(np.minimum(-b * m, _STEEPEST)) * self.exposure(b).total
        value: NDArray[np.float64] = self.exact * (a - b * m) + b * self.exact_sum - hazard
        return value if self.looks is None else value + self.looks.values(b, m)

    @property
    def constant(self) -> float:
        """What turns the value into the log-likelihood of the ages as given."""
        return -self.exact_sum - self.exact * self.unit


def likelihood_of(lives: Lives) -> Likelihood:
    """Gather what the likelihood needs from lives.

    Examples
    --------
    >>> lives = Lives.observed([4, 6, 7, 8, 9], [1, 1, 0, 1, 1], entry=[0, 0, 2, 3, 5])
    >>> likelihood_of(lives).exposure(1.0).total * 9  # 34 watched in all, less 10 before entry
    24.0
    """
    failed = lives.is_failed
    exact = failed & (lives.high == lives.low)
    between = failed & ~exact
    ends = lives.low[~between]
    starts = lives.entry[lives.entry > 0.0]
    ages = np.concatenate([ends, starts])
    largest = float(lives.exit.max())
    log_ages = np.log(ages / largest)
    sign = np.ones(ages.size)
    sign[ends.size :] = -1.0
    exact_ages = lives.low[exact]
    return Likelihood(
        unit=log(largest),
        log_ages=log_ages,
        powers=np.vstack([sign, sign * log_ages, sign * log_ages * log_ages]),
        exact=int(exact_ages.size),
        exact_sum=float(np.sum(np.log(exact_ages / largest))),
        failures=lives.failures,
        has_passed=bool(np.any(lives.low > 0.0)),
        looks=looks_of(lives.chosen(between), largest=largest) if between.any() else None,
    )
