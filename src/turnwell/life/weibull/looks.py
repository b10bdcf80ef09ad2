"""What failures between two looks add to the log-likelihood of a Weibull life.

With u and w the cumulative hazards at the two looks, a failure between them has the chance
exp(-u) - exp(-w) = exp(-u) (1 - exp(-(w - u))).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Looks", "looks_of"]

# Exponents between which cumulative hazards and their differences stay normal numbers.
_STEEPEST = 690.0
_LEAST = 1e-300


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

    def at(self, b: float, m: float) -> tuple[float, float, float, float, float, float]:
        """Give value and derivatives at shape `b` and ln scale `m`, in the order of `Terms`."""
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
        sums = np.stack([value, by_a, by_m, by_aa, by_am, by_mm]) @ self.times
        return tuple(float(one) for one in sums)  # type: ignore[return-value]  # six of them


def looks_of(low: NDArray[np.float64], high: NDArray[np.float64], largest: float) -> Looks | None:
    """Gather pairs of looks; None where there is none."""
    if low.size == 0:
        return None
    pairs, times = np.unique(np.stack([low, high], axis=1), axis=0, return_counts=True)
    with np.errstate(divide="ignore"):
        log_low = np.log(pairs[:, 0] / largest)
    return Looks(log_low, np.log(pairs[:, 1] / largest), times.astype(np.float64))


def _hazard(
    log_age: NDArray[np.float64], b: float, m: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give the cumulative hazard and its log; a log of 0 stands in where the hazard is 0."""
    z = np.minimum(b * (log_age - m), _STEEPEST)
    is_nothing = z < -_STEEPEST
    z = np.where(is_nothing, 0.0, z)
    return np.where(is_nothing, 0.0, np.exp(z)), z
