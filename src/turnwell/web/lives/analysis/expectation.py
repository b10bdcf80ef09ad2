"""What the shop's own rates let one expect of each office's handpieces, and what came.

Every handpiece is expected to come back as often as all handpieces of its class in all offices. An
office's ratio of returns to that expectation is drawn toward the shop as far as chance explains it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.life import Shrunken, shrink
from turnwell.web.lives.records import ShopRecords, Tallies

__all__ = ["Expectation", "expectation_between"]


@dataclass(frozen=True, slots=True, eq=False)
class Expectation:
    """Returns and expected returns between two moments; n handpieces in m offices.

    Parameters
    ----------
    rates : array, shape (classes,)
        Returns a handpiece-year of each class, over all offices; 0 where it was never at risk.
    offices : array of int, shape (m,)
        Keys of the offices that had a handpiece at risk, rising.
    handpiece, place : array of int, shape (n,)
        Key of each handpiece, and the place of its office in `offices`.
    kind : array of int, shape (n,)
        Place of its class in `ShopRecords.class_keys`.
    years, counts, expected : array, shape (n,)
        At risk, returns, and returns expected.
    """

    rates: NDArray[np.float64]
    offices: NDArray[np.int64]
    handpiece: NDArray[np.int64]
    place: NDArray[np.intp]
    kind: NDArray[np.intp]
    years: NDArray[np.float64]
    counts: NDArray[np.int64]
    expected: NDArray[np.float64]

    def shrunken(self) -> Shrunken | None:
        """Draw the m offices toward the shop; None where nothing came back."""
        if not self.counts.any():
            return None
        return shrink(self.counts, self.expected, office=self.place)

    def place_of(self, office: int) -> int | None:
        """Give the place of an office by its key; None where it had nothing at risk."""
        place = int(np.searchsorted(self.offices, office))
        return place if place < self.offices.size and self.offices[place] == office else None

    def of(self, office: int) -> NDArray[np.bool_]:
        """Give which of the n handpieces are of an office."""
        place = self.place_of(office)
        mine: NDArray[np.bool_] = self.place == (-1 if place is None else place)
        return mine


def expectation_between(
    records: ShopRecords,
    from_s: int,
    to_s: int,
    *,
    cause: int | None = None,
    rates: NDArray[np.float64] | None = None,
) -> Expectation:
    """Compare every office with the shop between two moments.

    Parameters
    ----------
    from_s, to_s : int
        Seconds from 1970-01-01 UTC.
    cause : int or None
        Count the returns of one settled cause alone: its place in `ShopRecords.cause_keys`.
    rates : array, shape (classes,), or None
        Returns a handpiece-year of each class to expect by; those of this time where None.
    """
    tallies = records.tallies(from_s, to_s)
    kind = tallies.kind.astype(np.intp)
    counts = tallies.handpiece_returns
    if cause is not None:
        counts = _of_cause(records, tallies, from_s, to_s, cause)
    classes = len(records.class_keys)
    years = np.bincount(kind, tallies.handpiece_years, classes)
    returns = np.bincount(kind, counts, classes)
    if rates is None:
        rates = np.divide(returns, years, out=np.zeros(classes), where=years > 0.0)
    expected = tallies.handpiece_years * rates[kind]
    # A return within a stretch of no length met no risk that could be counted.
    counts = np.where(expected > 0.0, counts, 0)
    offices, place = np.unique(tallies.office, return_inverse=True)
    return Expectation(
        rates=rates,
        offices=offices,
        handpiece=tallies.handpiece,
        place=place,
        kind=kind,
        years=tallies.handpiece_years,
        counts=counts,
        expected=expected,
    )


def _of_cause(
    records: ShopRecords, tallies: Tallies, from_s: int, to_s: int, cause: int
) -> NDArray[np.int64]:
    """Count the returns of one cause for each handpiece in each office, in the tallies' order."""
    found = records.returns
    within = (found.cause == cause) & (found.moment_s > from_s) & (found.moment_s <= to_s)
    most = int(records.offices.pk.max(initial=0)) + 1
    keys = records.handpieces.pk[found.handpiece[within]] * most
    keys += records.offices.pk[found.office[within]]
    pairs = tallies.handpiece * most + tallies.office
    order = np.argsort(pairs)
    place = np.searchsorted(pairs, keys, sorter=order)
    return np.bincount(order[place], minlength=pairs.size).astype(np.int64)
