"""The round: offices beside one another, and the returns to expect in the next quarter."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from turnwell.life import ComingReturns, Estimate, Funnel, coming_returns, funnel
from turnwell.measure import Interval, Reading
from turnwell.pictures import Beyond, FunnelLimits, FunnelOffice, FunnelPicture
from turnwell.web.lives.analysis.expectation import Expectation
from turnwell.web.lives.records import YEAR_DAYS, ShopRecords
from turnwell.words import Message

__all__ = ["QUARTER_DAYS", "OfficeStanding", "Standings", "standings_of"]

QUARTER_DAYS = 91.3125
# Counts at which the limits of the funnel are drawn.
DRAWN_AT = 80
# Returns in the last year from which on its rates are carried on alone; our choice.
ENOUGH_LATELY = 30
BEYOND = {0.95: Beyond.OF_95, 0.998: Beyond.OF_998}


@dataclass(frozen=True, slots=True)
class OfficeStanding:
    """One office beside the others.

    Parameters
    ----------
    office : int
        Primary key.
    returns : int
    expected : float
    ratio : Estimate
        Returns over those expected, drawn toward the shop.
    chance_above : float
        Chance that it truly has more than expected.
    beyond : Beyond
        Which limits of the funnel it lies beyond, on either side.
    coming : Estimate
        Returns in the next quarter, with the predictive interval.
    """

    office: int
    returns: int
    expected: float
    ratio: Estimate
    chance_above: float
    beyond: Beyond
    coming: Estimate


@dataclass(frozen=True, slots=True, eq=False)
class Standings:
    """All offices, those most likely above expectation first.

    Parameters
    ----------
    offices : tuple of OfficeStanding
    funnel : Funnel
    coming : Reading
        Returns of all offices in the next quarter.
    """

    offices: tuple[OfficeStanding, ...]
    funnel: Funnel
    coming: Reading

    def picture(self, names: dict[int, str], *, by: str) -> FunnelPicture:
        """Give the funnel to be drawn.

        Parameters
        ----------
        names : dict of int to str
            Of every office by its key.
        by : str
            What the counts are of, with their period.
        """
        expected = self.funnel.expected
        at = np.geomspace(expected.min() * 0.8, expected.max() * 1.1, DRAWN_AT)
        widened = _drawn(self.funnel, at) if self.funnel.is_over_dispersed else None
        return FunnelPicture(
            offices=tuple(
                FunnelOffice(names[one.office], one.returns, one.expected, one.beyond)
                for one in self.offices
            ),
            limits=_drawn(replace(self.funnel, is_over_dispersed=False), at),
            widened=widened,
            by=by,
        )


def standings_of(
    records: ShopRecords, expectation: Expectation, lately: Expectation
) -> Standings | None:
    """Compare the offices in a period and look a quarter ahead; None where nothing came back.

    Parameters
    ----------
    expectation : Expectation
        Of the period.
    lately : Expectation
        Of the last year: its rates are carried on where enough came back in it, since handpieces
        that age together come back more often than they did.
    """
    shrunken = expectation.shrunken()
    if shrunken is None:
        return None
    # An office whose classes never came back anywhere has nothing to be held against.
    held = np.flatnonzero(shrunken.expected > 0.0)
    found = funnel(shrunken.counts[held], shrunken.expected[held])
    rates = lately.rates if lately.counts.sum() >= ENOUGH_LATELY else expectation.rates
    coming = coming_returns(shrunken, _ahead(records, expectation.offices, rates))
    above = shrunken.above(1.0)
    beyond = _beyond(found)
    standings = [
        OfficeStanding(
            office=int(expectation.offices[place]),
            returns=int(shrunken.counts[place]),
            expected=float(shrunken.expected[place]),
            ratio=shrunken.office(place),
            chance_above=float(above[place]),
            beyond=beyond[row],
            coming=coming.office(place),
        )
        for row, place in enumerate(held.tolist())
    ]
    standings.sort(key=lambda one: -one.chance_above)
    return Standings(tuple(standings), found, _coming(coming))


def _ahead(
    records: ShopRecords, offices: NDArray[np.int64], rates: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Give the returns expected of each office's handpieces at work now in the next quarter."""
    stretches = records.stretches
    at_work = (stretches.stop_s == records.now_s) & ~stretches.ends_in_return
    office = records.offices.pk[stretches.office[at_work]]
    # One that came under observation after the period has no office among these.
    known = np.isin(office, offices)
    share = rates[stretches.kind[at_work]][known] * (QUARTER_DAYS / YEAR_DAYS)
    place = np.searchsorted(offices, office[known])
    ahead: NDArray[np.float64] = np.bincount(place, share, offices.size).astype(np.float64)
    # Something must be at risk; where nothing is at work nothing is expected either.
    return ahead if ahead.any() else np.full(ahead.size, 1e-9)


def _coming(found: ComingReturns) -> Reading:
    return found.all_offices.reading(
        "coming_returns",
        "returns",
        interval=Interval.PREDICTIVE,
        why=Message("lives.round.coming"),
    )


def _beyond(found: Funnel) -> list[Beyond]:
    """Tell which limits each office lies beyond; a count at the exact quantile lies inside."""
    outside = [Beyond.NEITHER] * found.counts.size
    for limits in found.limits:
        above = (found.counts > limits.highest) & (found.ratio > limits.high)
        below = (found.counts < limits.lowest) & (found.ratio < limits.low)
        for row in np.flatnonzero(above | below).tolist():
            outside[row] = BEYOND[limits.level]
    return outside


def _drawn(found: Funnel, at: NDArray[np.float64]) -> FunnelLimits:
    near, far = found.limits_at(at)
    return FunnelLimits.of(at, near.low, near.high, far.low, far.high)
