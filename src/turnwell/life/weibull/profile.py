"""Interval of one number of a life by its profile likelihood, calibrated for few failures.

The plain interval holds every psi whose signed root r of the log-likelihood ratio lies within the
normal quantile z of 0. With few failures r is neither centred nor of spread 1. It is centred by
half of the modified root's correction,

    r + ln(q / r) / (2 r),   q = slope_psi sqrt(j_lambda(psi) / det j) / stretch,

with the slope of the profile log-likelihood, the information on lambda at psi and the whole
information at the maximum; and z is widened by sqrt(1 + 1 / (2 failures)), the form of Bartlett's
factor. All of the correction would give the tail area of the posterior under the prior flat in ln
shape and ln scale, exact where watching stops at a failure; where it stops at an age it moves the
interval as far to one side as the plain one lies to the other. Both halves are measured, not
derived: docs/method-life-weibull.md has the table.

References
----------
Plain interval: [MEEKERESCOBAR1998], 8.3. Modified root: [DICICCIOMARTIN1993]. Factor:
[BARTLETT1937]. Exact cover under the flat prior: [LAWLESS2003], 5 and appendix E.
"""

from dataclasses import dataclass
from math import inf, log, sqrt
from typing import NamedTuple

from turnwell.life.weibull.likelihood import Likelihood, Terms
from turnwell.life.weibull.maximum import LOG_SHAPE_HIGH, LOG_SHAPE_LOW, Maximum, scale_for
from turnwell.life.weibull.rooting import falling_root
from turnwell.life.weibull.targets import Place, Target

__all__ = ["WIDENING", "Limits", "profile_limits"]

# How far from the maximum ends of a log age are searched; beyond it an end is open.
_FARTHEST = 60.0
_EDGE = 1e-6
# So near to the maximum r is normal as it stands, and ln(q / r) / r a ratio of rounding errors.
_NEAR = 1e-3
# How much of the modified root's correction is taken, and what one failure widens z squared by.
_SHARE = 0.5
WIDENING = 0.5


class Limits(NamedTuple):
    """Value of psi at the maximum, and ends of its interval; infinite where open."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class _Held:
    """The maximum over lambda while psi is held."""

    other: float
    value: float
    slope: float
    curve: float
    stretch: float


@dataclass(slots=True)
class _Search:
    """Search for one end; remembers where the last maximum over lambda lay."""

    likelihood: Likelihood
    maximum: Maximum
    target: Target
    is_calibrated: bool
    psi: float
    other: float
    tilt: float = 0.0

    def root(self, psi: float) -> tuple[float, float]:
        """Give the signed root at psi and its slope."""
        held = self._held(psi)
        centre = self.target.of(self.maximum.a, self.maximum.m)
        away = centre - psi
        if away == 0.0:
            return 0.0, -1.0
        side = 1.0 if away > 0.0 else -1.0
        r = side * sqrt(2.0 * max(self.maximum.terms.value - held.value, 0.0))
        if abs(r) < _NEAR:
            return r, -1.0
        slope = -held.slope / r
        if not self.is_calibrated or held.curve >= 0.0:
            return r, slope
        q = held.slope / held.stretch * sqrt(-held.curve / self.maximum.information)
        return (r + _SHARE * log(q / r) / r if q * r > 0.0 else r), slope

    def _held(self, psi: float) -> _Held:
        guess = self.other + self.tilt * (psi - self.psi)
        other, place, terms = self._best(psi, guess)
        along = terms.by_a * place.along_a + terms.by_m * place.along_m
        curve = (
            terms.by_aa * place.along_a**2
            + 2.0 * terms.by_am * place.along_a * place.along_m
            + terms.by_mm * place.along_m**2
            + terms.by_m * place.bend_m
        )
        if psi != self.psi:
            self.tilt = (other - self.other) / (psi - self.psi)
            self.psi, self.other = psi, other
        return _Held(
            other,
            # What the last, unmeasured part of the way to the maximum would add.
            terms.value - (0.5 * along * along / curve if curve < 0.0 else 0.0),
            terms.by_a * place.across_a + terms.by_m * place.across_m,
            curve,
            place.stretch,
        )

    def _best(self, psi: float, guess: float) -> tuple[float, Place, Terms]:
        if self.target.is_shape and self.likelihood.looks is None:
            other = scale_for(self.likelihood, psi)
            place = self.target.place(psi, other)
            return other, place, self.likelihood.at(place.a, place.m)
        place, terms = self.target.place(psi, guess), self.maximum.terms

        def along(other: float) -> tuple[float, float]:
            nonlocal place, terms
            place = self.target.place(psi, other)
            terms = self.likelihood.at(place.a, place.m)
            value = terms.by_a * place.along_a + terms.by_m * place.along_m
            slope = (
                terms.by_aa * place.along_a**2
                + 2.0 * terms.by_am * place.along_a * place.along_m
                + terms.by_mm * place.along_m**2
                + terms.by_m * place.bend_m
            )
            return value, slope

        low, high = (
            (self.maximum.m - _FARTHEST, self.maximum.m + _FARTHEST)
            if self.target.is_shape
            else (LOG_SHAPE_LOW, LOG_SHAPE_HIGH)
        )
        other = falling_root(along, guess, low, high, tolerance=1e-6)
        return other, place, terms


def profile_limits(
    likelihood: Likelihood,
    maximum: Maximum,
    target: Target,
    *,
    z: float,
    is_calibrated: bool,
) -> Limits:
    """Give the ends at which the signed root reaches z and -z.

    Parameters
    ----------
    z : float
        Normal quantile of the interval's level, > 0.
    is_calibrated : bool
        Whether the interval is calibrated for few failures.
    """
    if is_calibrated:
        z *= sqrt(1.0 + WIDENING / likelihood.failures)
    centre = target.of(maximum.a, maximum.m)
    reach = z * _spread(maximum, target)
    lowest, highest = (
        (LOG_SHAPE_LOW, LOG_SHAPE_HIGH)
        if target.is_shape
        else (centre - _FARTHEST, centre + _FARTHEST)
    )
    ends = []
    for side, low, high in ((1.0, lowest, centre), (-1.0, centre, highest)):
        other = maximum.m if target.is_shape else maximum.a
        search = _Search(likelihood, maximum, target, is_calibrated, centre, other)

        def wanting(
            psi: float, search: _Search = search, side: float = side
        ) -> tuple[float, float]:
            root, slope = search.root(psi)
            return root - side * z, slope

        end = falling_root(wanting, centre - side * reach, low, high, tolerance=1e-8)
        is_open = end < lowest + _EDGE or end > highest - _EDGE
        ends.append(-side * inf if is_open else end)
    return Limits(centre, min(ends[0], centre), max(ends[1], centre))


def _spread(maximum: Maximum, target: Target) -> float:
    """Give the standard error of psi by the information at the maximum."""
    other = maximum.m if target.is_shape else maximum.a
    place = target.place(target.of(maximum.a, maximum.m), other)
    terms = maximum.terms
    curve = (
        terms.by_aa * place.along_a**2
        + 2.0 * terms.by_am * place.along_a * place.along_m
        + terms.by_mm * place.along_m**2
    )
    # The information transforms with the square of the stretch.
    return sqrt(-curve / (maximum.information * place.stretch**2))
