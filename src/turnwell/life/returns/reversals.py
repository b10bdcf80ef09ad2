"""Reverse arrangements: in how many pairs of gaps the later one is the longer.

References
----------
[MANN1945]; expectation and variance [NISTHANDBOOK], 8.2.3.4. Without a trend every order of the
gaps is as likely; the number of orders with each count is the one of inversions, by convolution of
even distributions on 0 to j - 1.
"""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from turnwell.life.lives import Histories

__all__ = ["Reversals", "reversals_of"]

# Up to here the exact distribution is used; beyond, the normal one is as good.
EXACT_GAPS = 12
EXACT_UNITS = 30


@dataclass(frozen=True, slots=True)
class Reversals:
    """Pairs of gaps of one unit of which the later is longer, all units together.

    Parameters
    ----------
    count, ties : int
        Pairs in which it is longer, and in which both are as long.
    expected : float
        Pairs in which it is longer without a trend.
    p : float
        Two-sided, twice the smaller tail; ties never speak for a trend.
    is_exact : bool
    """

    count: int
    ties: int
    expected: float
    p: float
    is_exact: bool


def reversals_of(histories: Histories) -> Reversals | None:
    """Count the reverse arrangements; None where no unit has two gaps.

    A gap reaches from the start of the watch or the return before to a return; the open one at the
    end is not counted.
    """
    order = np.lexsort((histories.at, histories.unit))
    unit, at = histories.unit[order], histories.at[order]
    is_first = np.diff(unit, prepend=-1) > 0
    before = np.where(is_first, histories.start[unit], np.concatenate([[0.0], at[:-1]]))
    gaps = at - before
    sizes = np.bincount(unit, minlength=histories.count).astype(np.float64)
    sizes = sizes[sizes > 1.0]
    if sizes.size == 0:
        return None
    count, ties = _pairs(unit, gaps, int(sizes.max()))
    is_exact = bool(sizes.max() <= EXACT_GAPS and sizes.size <= EXACT_UNITS)
    expected = float(np.sum(sizes * (sizes - 1.0)) / 4.0)
    if is_exact:
        few, many = _exact_tails(sizes.astype(np.intp), count + ties, count)
    else:
        spread = sqrt(float(np.sum(sizes * (sizes - 1.0) * (2.0 * sizes + 5.0)) / 72.0))
        # Half a pair further: counts are whole numbers, the normal law is not.
        few = _normal_tail((count + ties + 0.5 - expected) / spread)
        many = _normal_tail((expected - count + 0.5) / spread)
    return Reversals(count, ties, expected, min(2.0 * min(few, many), 1.0), is_exact)


def _pairs(unit: NDArray[np.intp], gaps: NDArray[np.float64], longest: int) -> tuple[int, int]:
    """Count the pairs whose later gap is longer, and those that tie."""
    longer = ties = 0
    for lag in range(1, longest):
        same = unit[lag:] == unit[:-lag]
        earlier, later = gaps[:-lag][same], gaps[lag:][same]
        longer += int(np.count_nonzero(later > earlier))
        ties += int(np.count_nonzero(later == earlier))
    return longer, ties


def _exact_tails(sizes: NDArray[np.intp], most: int, least: int) -> tuple[float, float]:
    """Give the chance of at most so many pairs, and of at least so many."""
    chance = np.ones(1)
    for size in sizes:
        for places in range(2, int(size) + 1):
            chance = np.convolve(chance, np.full(places, 1.0 / places))
    return float(chance[: most + 1].sum()), float(chance[least:].sum())


def _normal_tail(statistic: float) -> float:
    from scipy.special import ndtr

    return float(ndtr(statistic))
