"""What failures between two looks add to the log-likelihood of a Weibull life.

With u and w the cumulative hazards at the two looks, a failure between them has the chance
exp(-u) - exp(-w) = exp(-u) (1 - exp(-(w - u))).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.life.lives import Lives

__all__ = ["Looks", "looks_of", "looks_of_each"]

# Exponents between which cumulative hazards and their differences stay normal numbers.
_STEEPEST = 690.0
_LEAST = 1e-140


@dataclass(frozen=True, slots=True, eq=False)
class Looks:
    """Pairs of looks with at least one failure between them.

    Parameters
    ----------
    log_low, log_high : array, shape (k,)
        Ln of the age at the earlier look (-inf: it had failed before the first look) and at the
        later one, less that of the largest age.
    times : array, shape (k,)
        How many failed between these two looks.
    """

    log_low: NDArray[np.float64]
    log_high: NDArray[np.float64]
    times: NDArray[np.float64]

    def at(self, b: float, m: float) -> NDArray[np.float64]:
        """Give value and derivatives at shape `b` and ln scale `m`, in the order of `Terms`."""
        return self.each(b, m) @ self.times

    def values(self, b: float, m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give the value at shape `b` and many ln scales, shape as `m`."""
        u, _ = _hazard(self.log_low[:, np.newaxis], b, m)
        w, _ = _hazard(self.log_high[:, np.newaxis], b, m)
        gap = np.clip(w - u, _LEAST, _STEEPEST)
        return np.asarray(self.times @ (np.log(-np.expm1(-gap)) - u), dtype=np.float64)

    def each(self, b: float, m: float) -> NDArray[np.float64]:
        """Give the same of one failure in each pair, shape (6, k)."""
        u, z = _hazard(self.log_low, b, m)
        w, y = _hazard(self.log_high, b, m)
        gap = np.clip(w - u, _LEAST, _STEEPEST)
        k = 1.0 / np.expm1(gap)
        bend = -k * (1.0 + k)
        value = -u + np.log(-np.expm1(-gap))
        # How each hazard moves: u changes by u z with ln shape, by -b u with ln scale.
        u_a, w_a, u_m, w_m = u * z, w * y, -b * u, -b * w
        gap_a, gap_m = w_a - u_a, w_m - u_m
        by_a = -u_a + k * gap_a
        by_m = -u_m + k * gap_m
        u_aa, w_aa = u_a * (1.0 + z), w_a * (1.0 + y)
        u_am, w_am = u_m * (1.0 + z), w_m * (1.0 + y)
        u_mm, w_mm = -b * u_m, -b * w_m
        by_aa = -u_aa + k * (w_aa - u_aa) + bend * gap_a * gap_a
        by_am = -u_am + k * (w_am - u_am) + bend * gap_a * gap_m
        by_mm = -u_mm + k * (w_mm - u_mm) + bend * gap_m * gap_m
        return np.stack([value, by_a, by_m, by_aa, by_am, by_mm])


def looks_of(lives: Lives, *, largest: float) -> Looks:
    """Gather the pairs of looks of lives that failed between two, ages over the largest."""
    each = looks_of_each(lives, largest=largest)
    pairs = np.stack([each.log_low, each.log_high], axis=1)
    unlike, times = np.unique(pairs, axis=0, return_counts=True)
    return Looks(unlike[:, 0], unlike[:, 1], times.astype(np.float64))


def looks_of_each(lives: Lives, *, largest: float) -> Looks:
    """Give the same, a pair for each life.

    What failed after its entry did not fail before it, whenever the earlier look was.
    """
    low = np.maximum(lives.low, lives.entry) / largest
    with np.errstate(divide="ignore"):
        return Looks(np.log(low), np.log(lives.high / largest), np.ones(low.size))


def _hazard(
    log_age: NDArray[np.float64], b: float, m: float | NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give the cumulative hazard and its log; a log of 0 stands in where the hazard is 0."""
    z = np.minimum(b * (log_age - m), _STEEPEST)
    is_nothing = z < -_STEEPEST
    z = np.where(is_nothing, 0.0, z)
    return np.where(is_nothing, 0.0, np.exp(z)), z
