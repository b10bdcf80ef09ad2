"""An office's handpieces before and after a day, in one order, beside the whole shop."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from turnwell.life import Change, Estimate, ShopSpread, Spell, change, rate, spell
from turnwell.web.lives.analysis.expectation import Expectation, expectation_between
from turnwell.web.lives.records import ShopRecords, day_start_s
from turnwell.web.offices.models import Office

__all__ = ["Span", "Window", "Windows", "moment_of", "spell_before", "windows_of"]

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
    """An office's handpieces before and after a day, in one order.

    Parameters
    ----------
    before, after : Window
    shop : ShopSpread or None
        How much offices and handpieces of the shop differ; None where nothing came back before.
    rates : array, shape (classes,)
        By which both sides expect.
    """

    before: Window
    after: Window
    shop: ShopSpread | None
    rates: NDArray[np.float64]

    def change(self) -> Change | None:
        """Compare before with after; None where nothing had come back in any office before."""
        if self.shop is None:
            return None
        return change(
            self.before.counts,
            self.before.expected,
            self.after.counts,
            self.after.expected,
            shop=self.shop,
        )


def windows_of(
    records: ShopRecords,
    office: Office,
    span: Span,
    *,
    cause: int | None = None,
    shop: ShopSpread | None = None,
    rates: NDArray[np.float64] | None = None,
) -> Windows | None:
    """Count before and after a day; None where nothing was at risk on one of the sides.

    Parameters
    ----------
    cause : int or None
        Returns of one settled cause alone.
    shop : ShopSpread or None
        How much the shop differs, where that is known already; else that of the time before.
    rates : array, shape (classes,), or None
        By which both sides expect; those of the whole span where None.
    """
    first, day, last = (moment_of(on, office) for on in (span.start, span.day, span.stop))
    # One set of rates for both sides: with rates of its own each side would take on the noise of
    # the other offices, and a large office that got better would make a small one look worse.
    if rates is None:
        rates = expectation_between(records, first, last, cause=cause).rates
    earlier = expectation_between(records, first, day, cause=cause, rates=rates)
    later = expectation_between(records, day, last, cause=cause, rates=rates)
    before, after = _side_by_side(office.pk, earlier, later)
    if not before.expected.any() or not after.expected.any():
        return None
    if shop is None:
        shrunken = earlier.shrunken()
        shop = None if shrunken is None else shrunken.spread
    return Windows(before, after, shop, rates)


def spell_before(
    records: ShopRecords, office: Office, span: Span, windows: Windows
) -> Spell | None:
    """Say how unusual the stretch before a day was; None where nothing can be said."""
    first, day = (moment_of(on, office) for on in (span.start, span.day))
    bad = moment_of(span.day - SPELL, office)
    if windows.shop is None or bad <= first:
        return None
    seen, rest = _side_by_side(
        office.pk,
        expectation_between(records, bad, day, rates=windows.rates),
        expectation_between(records, first, bad, rates=windows.rates),
    )
    if not seen.expected.any():
        return None
    return spell(seen.counts, seen.expected, rest.counts, rest.expected, shop=windows.shop)


def moment_of(day: date, office: Office) -> int:
    """Give the moment a day begins on an office's wall, seconds from 1970-01-01 UTC."""
    return day_start_s((day - FIRST).days, office.time_zone)


def _side_by_side(office: int, *spans: Expectation) -> tuple[Window, ...]:
    """Take an office's part of some stretches of time, its handpieces in one order."""
    order = np.unique(np.concatenate([one.handpiece[one.of(office)] for one in spans]))
    return tuple(_window(one, office, order) for one in spans)


def _window(shop: Expectation, office: int, order: NDArray[np.int64]) -> Window:
    counts, expected = np.zeros(order.size), np.zeros(order.size)
    mine = shop.of(office)
    place = np.searchsorted(order, shop.handpiece[mine])
    counts[place] = shop.counts[mine]
    expected[place] = shop.expected[mine]
    return Window(counts, expected, float(shop.years[mine].sum()))
