"""How much the handpieces of one office differ: some come back again and again.

Judged inside offices only, so that a bad office does not pass for bad handpieces: the likelihood of
the handpieces' counts, divided by that of the office's total. Where all handpieces of an office
were watched for as long, that is the Dirichlet-multinomial law, free of the office's rate; where
they were not, the rate is the observed one and the total's law is matched in mean and variance.

References
----------
The likelihood given the totals: [MOSIMANN1962]. A weak prior on the spread: [GELMAN2006].
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.life.estimate import Estimate

__all__ = ["HandpieceSpread", "handpiece_spread", "shares_of"]

# Scale of the half-normal prior on the spread; spreads up to 1 are usual for repairable machines.
PRIOR_SCALE = 1.0
LEAST_SPREAD, MOST_SPREAD = 0.02, 3.0
# Points of equal chance by which the uncertain spread is handed on.
POINTS = 7


@dataclass(frozen=True, slots=True, eq=False)
class HandpieceSpread:
    """Standard deviation of the handpieces' rates over their mean, and what is not known of it.

    Parameters
    ----------
    points : array, shape (p,)
        Equally likely values; one, 0, where no handpieces were told apart.
    estimate : Estimate
        Median and 95 % credible interval.
    """

    points: NDArray[np.float64]
    estimate: Estimate


def handpiece_spread(
    counts: NDArray[np.float64],
    expected: NDArray[np.float64],
    office: NDArray[np.intp],
    total: NDArray[np.float64],
) -> HandpieceSpread:
    """Estimate the spread between the handpieces of one office.

    Parameters
    ----------
    counts, expected, office : array, shape (rows,)
        Of each handpiece, and the number of its office.
    total : array, shape (offices,)
        Counts of the offices.
    """
    # An office with no return, or one handpiece, tells nothing of how its handpieces differ.
    at_risk = np.bincount(office, expected > 0.0, total.size)
    telling = (total > 0.0) & (at_risk > 1.0)
    if not np.any(at_risk > 1.0):
        return HandpieceSpread(np.zeros(1), Estimate(0.0, 0.0, 0.0))
    kept = telling[office] & (expected > 0.0)
    rows = (counts[kept], expected[kept], office[kept], total)
    wide = np.geomspace(LEAST_SPREAD, MOST_SPREAD, 16)
    chance = _log_chance(wide, *rows)
    likely = np.flatnonzero(chance > chance.max() - 12.0)
    first, last = max(likely[0] - 1, 0), min(likely[-1] + 1, wide.size - 1)
    near = np.linspace(wide[first], wide[last], 24)
    chance = _log_chance(near, *rows)
    shape = np.exp(chance - chance.max())
    low, median, high = shares_of(near, shape, np.array([0.025, 0.5, 0.975]))
    points = shares_of(near, shape, (np.arange(POINTS) + 0.5) / POINTS)
    return HandpieceSpread(points, Estimate(float(median), float(low), float(high)))


def shares_of(
    grid: NDArray[np.float64], chance: NDArray[np.float64], shares: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Give where stated shares of a chance on a grid lie; the chance need not add up to 1."""
    below = np.cumsum(chance) - chance / 2.0
    return np.asarray(np.interp(shares * chance.sum(), below, grid), dtype=np.float64)


def _log_chance(
    spreads: NDArray[np.float64],
    counts: NDArray[np.float64],
    expected: NDArray[np.float64],
    office: NDArray[np.intp],
    total: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Give the log-likelihood inside offices with the prior, for each spread."""
    risk = np.bincount(office, expected, total.size)
    squares = np.bincount(office, expected**2, total.size)
    seen = np.flatnonzero(risk > 0.0)
    rate = np.divide(total, risk, out=np.zeros_like(total), where=risk > 0.0)
    mean = rate[office] * expected
    share = squares[seen] / risk[seen] ** 2
    # How many handpieces came back more than 0, 1, 2 ... times: all their counts need.
    above = np.bincount(counts.astype(np.intp))[::-1].cumsum()[::-1][1:].astype(np.float64)
    found = [
        _of_handpieces(spread**2, counts, mean, above)
        - _of_totals(spread**2 * share, total[seen])
        - 0.5 * (spread / PRIOR_SCALE) ** 2
        for spread in spreads
    ]
    return np.array(found)


def _of_handpieces(
    variance: float,
    counts: NDArray[np.float64],
    mean: NDArray[np.float64],
    above: NDArray[np.float64],
) -> float:
    """Give the log-likelihood of the handpieces' counts, without what does not vary."""
    grown = above @ np.log1p(variance * np.arange(above.size))
    return float(grown - (counts + 1.0 / variance) @ np.log1p(variance * mean))


def _of_totals(variance: NDArray[np.float64], total: NDArray[np.float64]) -> float:
    """Give the log-likelihood of the offices' totals at their observed rates, likewise."""
    from scipy.special import gammaln

    shape = 1.0 / variance
    grown = gammaln(total + shape) - gammaln(shape) - total * np.log(shape)
    return float(np.sum(grown - (total + shape) * np.log1p(variance * total)))
