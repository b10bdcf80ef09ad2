"""How much handpieces and offices of a shop differ, with what is not known of it.

Every method that shrinks an office toward its shop rests on three numbers: the shop's own level,
the spread between offices, and the spread between the handpieces of one office. They are estimated
here and handed on as weighted points, so that what they leave open stays in every interval.

References
----------
Gamma-distributed proneness between units: [GREENWOODYULE1920], [CLAYTONKALDOR1987]. Weak priors on
spreads, not on precisions: [GELMAN2006].
"""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from turnwell.life.estimate import Estimate
from turnwell.life.rates.handpieces import handpiece_spread, shares_of
from turnwell.life.rates.predictive import log_negative_binomial

__all__ = [
    "ShopSpread",
    "concentration",
    "gamma_on_grid",
    "most_likely_spread",
    "shop_spread",
    "totals_of",
]

# Scale of the half-normal priors on both spreads. At 1, offices that differ by e-fold are nothing
# unusual: weak beside any shop's counts, and it keeps a shop of three offices from a spread of 10.
PRIOR_SCALE = 1.0
LEAST_SPREAD, MOST_SPREAD = 0.02, 3.0
# Points of equal chance by which the uncertain spread between offices is handed on.
OFFICE_POINTS = 9
# Three-point Gauss-Hermite rule for the level, whose logarithm is nearly normal.
LEVEL_POINTS = np.array([-sqrt(3.0), 0.0, sqrt(3.0)])
LEVEL_WEIGHTS = np.array([1.0, 4.0, 1.0]) / 6.0


@dataclass(frozen=True, slots=True, eq=False)
class ShopSpread:
    """Weighted points of what a shop may be like.

    Parameters
    ----------
    level : array, shape (h,)
        Mean over offices of observed over expected.
    office : array, shape (h,)
        Standard deviation of the offices' rates over their mean.
    handpiece : array, shape (h,)
        Standard deviation of the handpieces' rates in one office over their mean; 0 where no counts
        of single handpieces were given.
    weight : array, shape (h,)
        Adds up to 1.
    between_offices, between_handpieces : Estimate
        Medians and 95 % credible intervals of the two spreads.
    """

    level: NDArray[np.float64]
    office: NDArray[np.float64]
    handpiece: NDArray[np.float64]
    weight: NDArray[np.float64]
    between_offices: Estimate
    between_handpieces: Estimate

    def variance_of(self, concentration: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give the relative variance of offices' rates with the luck of their handpieces.

        Parameters
        ----------
        concentration : array, shape (n,)
            Of each office, from `concentration`.

        Returns
        -------
        array, shape (h, n)
        """
        handpieces = np.multiply.outer(self.handpiece**2, concentration)
        return np.asarray((1.0 + self.office[:, None] ** 2) * (1.0 + handpieces) - 1.0)


def totals_of(
    values: NDArray[np.float64], office: NDArray[np.intp], offices: int
) -> NDArray[np.float64]:
    """Give the sum of each office's rows, shape (offices,)."""
    return np.asarray(np.bincount(office, values, offices), dtype=np.float64)


def concentration(
    expected: NDArray[np.float64], office: NDArray[np.intp], offices: int
) -> NDArray[np.float64]:
    """Give Σe² / (Σe)² of each office: 1 for one handpiece, 1/n for n alike, shape (offices,).

    The average proneness of an office's handpieces varies by this much of the spread between them.
    """
    total = totals_of(expected, office, offices)
    squares = totals_of(expected**2, office, offices)
    return np.divide(squares, total**2, out=np.zeros(offices), where=total > 0.0)


def gamma_on_grid(
    grid: NDArray[np.float64], level: NDArray[np.float64], spread: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Give gamma distributions of stated mean and relative spread on a grid, shape (g, h)."""
    shape = spread**-2.0
    log_density = np.outer(np.log(grid), shape) - np.outer(grid, shape / level)
    density = np.exp(log_density - log_density.max(axis=0))
    density *= np.gradient(np.log(grid))[:, None]
    return np.asarray(density / density.sum(axis=0), dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class _LevelFit:
    """The level that fits best under given spreads, shape (..., spreads)."""

    level: NDArray[np.float64]
    # Standard deviation of its logarithm.
    sd: NDArray[np.float64]
    # Log-likelihood of the spreads, the level integrated out.
    evidence: NDArray[np.float64]


def shop_spread(
    counts: NDArray[np.float64],
    expected: NDArray[np.float64],
    office: NDArray[np.intp],
    offices: int,
) -> ShopSpread:
    """Estimate level and spreads from the counts of handpieces; see `turnwell.life.shrink`.

    Parameters
    ----------
    counts, expected, office : array, shape (rows,)
        Of each handpiece (or office, where no handpiece is known), its office's number.
    offices : int
        How many offices.
    """
    total = totals_of(counts, office, offices)
    risk = totals_of(expected, office, offices)
    handpiece = handpiece_spread(counts, expected, office, total)
    variance = np.multiply.outer(handpiece.points**2, concentration(expected, office, offices))
    grid = _office_grid(total, risk, variance)
    fit = _level_fit(total, risk, _joint(grid, variance[:, None]))
    chance = np.exp(fit.evidence - fit.evidence.max() - 0.5 * (grid / PRIOR_SCALE) ** 2)
    parts = [_points(grid, fit, chance, row) for row in range(handpiece.points.size)]
    weight = np.concatenate([part.weight for part in parts])
    low, median, high = shares_of(grid, chance.sum(axis=0), np.array([0.025, 0.5, 0.975]))
    return ShopSpread(
        np.concatenate([part.level for part in parts]),
        np.concatenate([part.office for part in parts]),
        np.repeat(handpiece.points, OFFICE_POINTS * LEVEL_POINTS.size),
        weight / weight.sum(),
        Estimate(float(median), float(low), float(high)),
        handpiece.estimate,
    )


def most_likely_spread(
    total: NDArray[np.float64], risk: NDArray[np.float64], variance: NDArray[np.float64]
) -> float:
    """Give the spread between offices at which the counts are most likely; 0 for none.

    Parameters
    ----------
    total, risk, variance : array, shape (offices,)
        Counts, expected counts, relative variance by the luck of the handpieces.
    """
    from scipy.optimize import minimize_scalar

    def misfit(spread: float) -> float:
        joint = _joint(np.array([spread]), variance)
        level = _level_fit(total, risk, joint).level
        return -float(log_negative_binomial(total, level[:, None] * risk, joint).sum())

    found = minimize_scalar(misfit, bounds=(0.0, MOST_SPREAD), method="bounded")
    return float(found.x) if found.x > LEAST_SPREAD and found.fun < misfit(0.0) else 0.0


def _joint(spread: NDArray[np.float64], variance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Give the relative variance of offices' rates, with the luck of their handpieces."""
    return np.asarray((1.0 + spread[..., None] ** 2) * (1.0 + variance) - 1.0)


def _office_grid(
    total: NDArray[np.float64], risk: NDArray[np.float64], variance: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Give even points over the spreads between offices that the counts do not rule out."""
    wide = np.geomspace(LEAST_SPREAD, MOST_SPREAD, 24)
    evidence = _level_fit(total, risk, _joint(wide, np.median(variance, axis=0))).evidence
    likely = np.flatnonzero(evidence > evidence.max() - 12.0)
    first, last = max(likely[0] - 1, 0), min(likely[-1] + 1, wide.size - 1)
    return np.linspace(wide[first], wide[last], 40)


def _level_fit(
    total: NDArray[np.float64], risk: NDArray[np.float64], joint: NDArray[np.float64]
) -> _LevelFit:
    """Fit the level under each relative variance, shape (..., offices), by its score."""
    level = np.full(joint.shape[:-1], total.sum() / risk.sum())
    for _ in range(6):
        weight = 1.0 / (1.0 + level[..., None] * risk * joint)
        level = (weight @ total) / (weight @ risk)
    mean = level[..., None] * risk
    # A flat prior on the logarithm of the level: the integral by its curvature.
    sd = 1.0 / np.sqrt(np.sum(mean / (1.0 + mean * joint), axis=-1))
    fit = log_negative_binomial(total, mean, joint).sum(axis=-1)
    return _LevelFit(level, sd, fit + np.log(sd))


@dataclass(frozen=True, slots=True, eq=False)
class _Points:
    level: NDArray[np.float64]
    office: NDArray[np.float64]
    weight: NDArray[np.float64]


def _points(
    grid: NDArray[np.float64], fit: _LevelFit, chance: NDArray[np.float64], row: int
) -> _Points:
    """Give points of equal chance over the spread between offices, each with its levels."""
    spread = shares_of(grid, chance[row], (np.arange(OFFICE_POINTS) + 0.5) / OFFICE_POINTS)
    middle = np.interp(spread, grid, fit.level[row])
    sd = np.interp(spread, grid, fit.sd[row])
    level = middle[:, None] * np.exp(sd[:, None] * LEVEL_POINTS)
    weight = np.broadcast_to(LEVEL_WEIGHTS * chance[row].sum(), level.shape)
    return _Points(level.ravel(), np.repeat(spread, LEVEL_POINTS.size), weight.ravel())
