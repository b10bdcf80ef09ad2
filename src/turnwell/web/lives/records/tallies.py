"""Exact times at risk and numbers of returns between two moments, for all offices at once."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.web.lives.records.moments import YEAR_S
from turnwell.web.lives.records.stretches import Stretches
from turnwell.web.lives.records.tables import Whole

__all__ = ["Tallies", "tallies_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Tallies:
    """Times at risk and returns between two moments, after the first and up to the second.

    Parameters
    ----------
    years : array, shape (offices, classes)
        Handpiece-years at risk, of 365.25 days; rows and columns as in the tables.
    returns : array of int, shape (offices, classes)
    handpiece, office, kind : array of int, shape (n,)
        Each handpiece in each office it was at risk in: primary keys, and the place of the class.
    handpiece_years : array, shape (n,)
    handpiece_returns : array of int, shape (n,)
    """

    years: NDArray[np.float64]
    returns: Whole
    handpiece: Whole
    office: Whole
    kind: NDArray[np.int16]
    handpiece_years: NDArray[np.float64]
    handpiece_returns: Whole

    def expected(self, rates: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give the returns that each of the n would have at the rate of its class.

        Parameters
        ----------
        rates : array, shape (classes,)
            Returns a handpiece-year.
        """
        return self.handpiece_years * rates[self.kind]


def tallies_of(
    stretches: Stretches,
    handpieces: Whole,
    offices: Whole,
    classes: int,
    *,
    from_s: ArrayLike,
    to_s: ArrayLike,
) -> Tallies:
    """Add up what lies between two moments.

    Parameters
    ----------
    handpieces, offices : array of int
        Primary keys, in the order of the tables.
    from_s, to_s : int, or array of int, shape (offices,)
        Seconds from 1970-01-01 UTC; one for all, or one for each office.
    """
    after, until = _for_each(from_s, stretches), _for_each(to_s, stretches)
    lasted = np.minimum(stretches.stop_s, until) - np.maximum(stretches.start_s, after)
    is_return = stretches.ends_in_return & (stretches.stop_s > after) & (stretches.stop_s <= until)
    rows = np.flatnonzero((lasted > 0) | is_return)
    years = np.maximum(lasted[rows], 0) / YEAR_S
    returned = is_return[rows]
    office, kind = stretches.office[rows], stretches.kind[rows].astype(np.intp)
    cell, shape = office * classes + kind, (offices.size, classes)
    pairs, first, pair = np.unique(
        stretches.handpiece[rows] * offices.size + office, return_index=True, return_inverse=True
    )
    return Tallies(
        years=np.bincount(cell, years, offices.size * classes).astype(np.float64).reshape(shape),
        returns=np.bincount(cell[returned], minlength=offices.size * classes).reshape(shape),
        handpiece=handpieces[pairs // max(offices.size, 1)],
        office=offices[pairs % max(offices.size, 1)],
        kind=stretches.kind[rows][first],
        handpiece_years=np.bincount(pair, years, pairs.size).astype(np.float64),
        handpiece_returns=np.bincount(pair[returned], minlength=pairs.size),
    )


def _for_each(moment_s: ArrayLike, stretches: Stretches) -> Whole:
    """Give a moment for each stretch, from one for all or one for each office."""
    moments = np.asarray(moment_s, dtype=np.int64)
    return moments[stretches.office] if moments.ndim else np.full(stretches.count, moments)
