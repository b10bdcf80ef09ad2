"""The handpieces of an office that come back most, and what their returns cost."""

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from turnwell.web.handpieces.models import Handpiece
from turnwell.web.handpieces.names import cause_name
from turnwell.web.lives.analysis.expectation import Expectation
from turnwell.web.lives.records import Returns, ShopRecords

__all__ = ["OftenBack", "Spent", "often_back", "returns_between", "spent_on"]

MOST_SHOWN = 6
FEWEST_RETURNS = 2
CAUSES_NAMED = 2
CENTS = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class OftenBack:
    """A handpiece that came back more than once, beside what its class let expect.

    Parameters
    ----------
    handpiece : Handpiece
    returns : int
    expected : float
    years : float
        At risk.
    causes : str
    spent : Decimal or None
        None where no price is known.
    """

    handpiece: Handpiece
    returns: int
    expected: float
    years: float
    causes: str
    spent: Decimal | None


@dataclass(frozen=True, slots=True)
class Spent:
    """What returns cost, as agreed.

    Parameters
    ----------
    currency : str
        Of most of them; empty where no price is known.
    amount : Decimal
    priced, returns : int
        Returns with a price in that currency, of all.
    costs : tuple of float
        Of the priced ones.
    """

    currency: str
    amount: Decimal
    priced: int
    returns: int
    costs: tuple[float, ...]


def returns_between(records: ShopRecords, office: int, from_s: int, to_s: int) -> Returns:
    """Give the returns of an office between two moments."""
    found = records.returns
    mine = found.office == records.office_place(office)
    return found.chosen(mine & (found.moment_s > from_s) & (found.moment_s <= to_s))


def often_back(
    records: ShopRecords, expectation: Expectation, office: int, returns: Returns
) -> tuple[OftenBack, ...]:
    """Give the handpieces with the most returns, the most first."""
    rows = np.flatnonzero(expectation.of(office) & (expectation.counts >= FEWEST_RETURNS))
    order = np.lexsort((expectation.years[rows], -expectation.counts[rows]))
    rows = rows[order][:MOST_SHOWN]
    keys = expectation.handpiece[rows].tolist()
    found = Handpiece.objects.with_place().in_bulk(keys)
    whose = records.handpieces.pk[returns.handpiece]
    return tuple(
        OftenBack(
            handpiece=found[key],
            returns=int(expectation.counts[row]),
            expected=float(expectation.expected[row]),
            years=float(expectation.years[row]),
            causes=_causes(records, returns.cause[whose == key]),
            spent=_amount(returns.cost[whose == key]),
        )
        for row, key in zip(rows.tolist(), keys, strict=True)
        if key in found
    )


def spent_on(records: ShopRecords, returns: Returns) -> Spent:
    """Add up what returns cost, in the currency of most of them."""
    known = returns.currency[returns.currency >= 0]
    if not known.size:
        return Spent("", Decimal(0), 0, returns.count, ())
    usual = int(np.bincount(known).argmax())
    costs = returns.cost[(returns.currency == usual) & np.isfinite(returns.cost)]
    return Spent(
        currency=records.currencies[usual],
        amount=_amount(costs) or Decimal(0),
        priced=int(costs.size),
        returns=returns.count,
        costs=tuple(costs.tolist()),
    )


def _causes(records: ShopRecords, codes: NDArray[np.int16]) -> str:
    """Name the commonest causes in words."""
    counted = Counter(code for code in codes.tolist() if code >= 0)
    named = [
        cause_name(records.cause_keys[code]) + (f" ({times} times)" if times > 1 else "")
        for code, times in counted.most_common(CAUSES_NAMED)
    ]
    return "; ".join(
        name if not at else name[:1].lower() + name[1:] for at, name in enumerate(named)
    )


def _amount(costs: NDArray[np.float64]) -> Decimal | None:
    known = costs[np.isfinite(costs)]
    return Decimal(float(known.sum())).quantize(CENTS) if known.size else None
