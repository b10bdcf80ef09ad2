"""An office's handpieces before and after a day, in one order, beside the whole shop."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from turnwell.life import Change, Estimate, Spell, change, rate, spell
from turnwell.web.lives.analysis.expectation import Expectation, expectation_between
from turnwell.web.lives.records import ShopRecords, day_start_s
from turnwell.web.offices.models import Office

__all__ = ["SPELL", "Span", "Window", "Windows", "moment_of", "windows_of"]

# The stretch before a visit that may have brought it about.
SPELL = timedelta(days=91)
FIRST = date(1970, 1, 1)


@dataclass(frozen=True, slots=True)
class Span:
    """A day and how far is looked back and ahead of it."""

    start: date
    day: date
    stop: date


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """Returns and expected returns of each of an office's handpieces, and their years together."""

    counts: NDArray[np.float64]
    expected: NDArray[np.float64]
    years: float

    @property
    def count(self) -> int:
        """Returns of them all."""
        return int(self.counts.sum())

    @property
    def rate(self) -> Estimate:
        """Returns a handpiece and year."""
        return rate(self.count, self.years)


@dataclass(frozen=True, slots=True, eq=False)
class Windows:
    """What was counted around a day, and the shop before it."""

    before: Window
    after: Window
    bad: Window
    rest: Window
    shop: Expectation

    def change(self) -> Change | None:
        """Compare before with after; None where nothing had come back in any office before."""
        if self.shop.shrunken is None:
            return None
        return change(
            self.before.counts,
            self.before.expected,
            self.after.counts,
            self.after.expected,
            shop=self.shop.shrunken.spread,
        )

    def spell(self) -> Spell | None:
        """Say how unusual the stretch before the day was; None where nothing can be said."""
        if self.shop.shrunken is None or not self.bad.expected.any():
            return None
        return spell(
            self.bad.counts,
            self.bad.expected,
            self.rest.counts,
            self.rest.expected,
            shop=self.shop.shrunken.spread,
        )


def windows_of(
    records: ShopRecords, office: Office, span: Span, *, cause: int | None = None
) -> Windows | None:
    """Count before and after a day; None where nothing was at risk on one of the sides.

    Parameters
    ----------
    cause : int or None
        Returns of one settled cause alone.
    """
    first, day, last = (moment_of(on, office) for on in (span.start, span.day, span.stop))
    bad = max(moment_of(span.day - SPELL, office), first)
    shop = expectation_between(records, first, day, cause=cause)
    later = expectation_between(records, day, last, cause=cause)
    spell_ = expectation_between(records, bad, day, cause=cause)
    rest = expectation_between(records, first, bad, cause=cause) if bad > first else None
    found = [one for one in (shop, later, spell_, rest) if one is not None]
    order = np.unique(np.concatenate([one.handpiece[one.of(office.pk)] for one in found]))
    before, after = (_window(one, office.pk, order) for one in (shop, later))
    if not before.expected.any() or not after.expected.any():
        return None
    return Windows(
        before,
        after,
        _window(spell_, office.pk, order),
        _window(rest, office.pk, order),
        shop,
    )


def moment_of(day: date, office: Office) -> int:
    """Give the moment a day begins on an office's wall, seconds from 1970-01-01 UTC."""
    return day_start_s((day - FIRST).days, office.time_zone)


def _window(shop: Expectation | None, office: int, order: NDArray[np.int64]) -> Window:
    """Take an office's part of the shop, its handpieces in the order given."""
    counts, expected = np.zeros(order.size), np.zeros(order.size)
    if shop is None:
        return Window(counts, expected, 0.0)
    mine = shop.of(office)
    place = np.searchsorted(order, shop.handpiece[mine])
    counts[place] = shop.counts[mine]
    expected[place] = shop.expected[mine]
    return Window(counts, expected, float(shop.years[mine].sum()))
