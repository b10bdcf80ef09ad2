"""What an office's handpieces may do in another window, given what they did in one.

A handpiece that came back often is likely to again, and so is an office; how likely, the shop's
spreads say. Given the office's rate, each handpiece's proneness is gamma distributed after its own
count, so that its next count is negative binomial; the office's sum is taken as negative binomial
with the same mean and variance, and the office's rate and the shop's spreads are integrated over.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError
from turnwell.life.rates.observed import (
    checked_counts,
    checked_expected,
    refuse_returns_without_risk,
)
from turnwell.life.rates.predictive import MOST_SHAPE, Predictive
from turnwell.life.rates.spread import ShopSpread, gamma_on_grid

__all__ = ["Window", "outlook"]

# Logarithms of the office's rate over the shop's level at which it is integrated: fine where
# offices lie, wider apart toward nothing.
FINE = np.arange(-3.0, 3.0, 0.04)
COARSE = -3.0 - np.cumsum(0.04 * 1.15 ** np.arange(1, 32))
RATES = np.concatenate([COARSE[::-1], FINE])
# Parts of less weight than this, beside the heaviest, are left out.
LEAST_WEIGHT = 1e-7


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """One stretch of time of an office, handpiece by handpiece.

    Parameters
    ----------
    counts : array, shape (n,)
        Returns of each handpiece in the stretch.
    expected : array, shape (n,)
        What the shop's rates of its class give for the time it was at risk; 0 where it was not.
    """

    counts: NDArray[np.float64]
    expected: NDArray[np.float64]

    @classmethod
    def of(cls, counts: ArrayLike, expected: ArrayLike) -> "Window":
        """Take a window, checked.

        Raises
        ------
        InputError
            If shapes differ, a number is out of range, or a return meets no risk.
        """
        seen, risk = checked_counts(counts), checked_expected(expected)
        if seen.ndim != 1 or seen.shape != risk.shape:
            raise InputError(
                f"counts has shape {seen.shape}, expected {risk.shape}; give both a handpiece"
            )
        refuse_returns_without_risk(seen, risk)
        return cls(seen, risk)

    @property
    def count(self) -> int:
        """Returns of all handpieces."""
        return int(self.counts.sum())

    @property
    def risk(self) -> float:
        """Expected count of all handpieces."""
        return float(self.expected.sum())


def outlook(shop: ShopSpread, seen: Window, ahead: ArrayLike) -> Predictive:
    """Give the distribution of an office's count in another window.

    Parameters
    ----------
    shop : ShopSpread
        Level and spreads, from `turnwell.life.shrink` of the whole shop with this office in it.
    seen : Window
        What is known of the office; nothing where all expected counts are 0.
    ahead : array, shape (n,)
        Expected counts of the same handpieces in the other window, at the shop's rates; a handpiece
        of one window only has 0 in the other.

    Notes
    -----
    Office and handpieces are taken to stay what they were.

    Examples
    --------
    >>> from turnwell.life import shrink
    >>> shop = shrink([3, 5, 2, 14, 4, 6], [5.0] * 6).spread
    >>> print(outlook(shop, Window.of([3, 1], [2.0, 2.0]), [1.0, 1.0]).interval())
    2.11281 (0 to 6)
    """
    risk = checked_expected(ahead)
    if risk.shape != seen.expected.shape:
        raise InputError(f"ahead has {risk.size} handpieces, the window {seen.expected.size}")
    if not risk.any():
        raise InputError("nothing is at risk ahead; give expected counts >= 0, one > 0 at least")
    level = float(shop.weight @ shop.level)
    rates = level * np.exp(RATES)
    parts = [
        _parts(shop, shop.handpiece == spread, rates, seen, risk)
        for spread in np.unique(shop.handpiece)
    ]
    mean, shape, weight = (
        np.concatenate([getattr(part, name) for part in parts])
        for name in ("mean", "shape", "weight")
    )
    kept = weight > LEAST_WEIGHT * weight.max()
    return Predictive(mean[kept], shape[kept], weight[kept] / weight[kept].sum())


def _parts(
    shop: ShopSpread,
    rows: NDArray[np.bool_],
    rates: NDArray[np.float64],
    seen: Window,
    ahead: NDArray[np.float64],
) -> Predictive:
    """Give one part for each rate of the office; the rows share one spread of handpieces."""
    # A spread of nearly nothing stands for none; the gamma's shape stays finite.
    own = 1.0 / max(float(shop.handpiece[rows][0]) ** 2, 1.0 / MOST_SHAPE)
    mean = np.multiply.outer(rates, seen.expected)
    log_chance = np.log(rates) * seen.count - np.log1p(mean / own) @ (seen.counts + own)
    likely = np.exp(log_chance - log_chance.max())
    prior = gamma_on_grid(rates, shop.level[rows], shop.office[rows])
    weight = likely * (prior @ (shop.weight[rows] / (likely @ prior)))
    # Proneness of each handpiece after its count: mean and variance over rates and handpieces.
    proneness = (own + seen.counts) / (own + mean)
    later = rates * (proneness @ ahead)
    extra = rates**2 * ((proneness / (own + mean)) @ ahead**2)
    return Predictive(later, later**2 / extra, weight)
