"""Rates of return: size and power before and after a visit, coverage of shrunken rates, time.

    python -m benchmarks life_rates

Shops are drawn with known spreads; each figure holds what was measured and what was aimed at.
"""

import time
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from tests.life.rates.shop import Shop, draw

from turnwell.life.rates import Change, change, funnel, shrink

QUARTERS_BEFORE, QUARTERS_AFTER = 8, 4
RUNS = 600


@dataclass(frozen=True, slots=True)
class Visit:
    """A simulated shop whose office with the worst last quarter is visited.

    Parameters
    ----------
    offices : int
    handpieces : tuple of int
        Fewest and most of an office.
    between_offices, between_handpieces : float
        True spreads.
    rate : float
        Returns of a handpiece a year.
    factor : float
        What the visit multiplies the returns by.
    window : str
        Compared with the year after: the last "quarter" alone, or the whole "history".
    """

    offices: int = 50
    handpieces: tuple[int, int] = (5, 60)
    between_offices: float = 0.4
    between_handpieces: float = 1.0
    rate: float = 0.5
    factor: float = 1.0
    window: str = "quarter"


def visited(case: Visit, rng: np.random.Generator) -> Change:
    """Draw a shop, visit the office with the worst last quarter, compare."""
    shop = draw(
        rng,
        offices=case.offices,
        handpieces=case.handpieces,
        between_offices=case.between_offices,
        between_handpieces=case.between_handpieces,
        rate=case.rate,
    )
    quarters = [shop.returns(rng, share=0.25) for _ in range(QUARTERS_BEFORE)]
    after = shop.returns(rng, share=QUARTERS_AFTER / 4, factor=case.factor)
    history = np.sum(quarters, axis=0)
    known = shrink(history, QUARTERS_BEFORE / 4 * shop.expected, office=shop.office)
    own = shop.office == worst(shop, quarters[-1])
    is_quarter = case.window == "quarter"
    before = quarters[-1] if is_quarter else history
    share = 0.25 if is_quarter else QUARTERS_BEFORE / 4
    return change(
        before[own],
        share * shop.expected[own],
        after[own],
        QUARTERS_AFTER / 4 * shop.expected[own],
        shop=known.spread,
    )


def worst(shop: Shop, counts: np.ndarray) -> int:
    """Give the office whose count lies most standard deviations over the expected one."""
    expected = shop.totals(shop.expected) / 4
    return int(np.argmax((shop.totals(counts) - expected) / np.sqrt(expected)))


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    yield from sizes()
    yield from powers()
    yield from coverage()
    yield from times()


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}


SHOPS = (
    Visit(offices=10),
    Visit(offices=50),
    Visit(offices=200),
    Visit(offices=10, between_offices=0.0),
    Visit(offices=50, between_handpieces=0.0),
    Visit(offices=50, between_offices=0.6, between_handpieces=0.7, rate=0.2),
    Visit(offices=50, between_offices=0.3, between_handpieces=0.5, rate=2.0),
    Visit(offices=50, handpieces=(5, 8)),
)


def sizes() -> Iterator[dict[str, str]]:
    """How often a change is claimed where nothing changed, 5 % nominal."""
    for window in ("quarter", "history"):
        for number, shop in enumerate(SHOPS):
            case = replace(shop, window=window)
            found = [visited(case, np.random.default_rng([number, run])) for run in range(RUNS)]
            claimed = np.mean([one.p < 0.05 for one in found])
            plain = np.mean([one.plain is not None and one.plain.p < 0.05 for one in found])
            held = np.mean([one.factor.low <= 1.0 <= one.factor.high for one in found])
            yield row(
                f"size, {described(case)}",
                f"{100 * claimed:.1f} %, plain ratio {100 * plain:.1f} %, "
                f"covers {100 * held:.1f} %",
                "6 % at most",
            )


def powers() -> Iterator[dict[str, str]]:
    """How often a fall is claimed where the visit had one."""
    for handpieces, rate in (((5, 60), 0.5), ((20, 60), 0.5), ((40, 60), 1.0)):
        for factor in (0.5, 0.3):
            for window in ("quarter", "history"):
                case = Visit(handpieces=handpieces, rate=rate, factor=factor, window=window)
                found = [visited(case, np.random.default_rng([99, run])) for run in range(200)]
                claimed = np.mean([one.p < 0.05 and one.factor.value < 1.0 for one in found])
                held = np.mean([one.factor.low <= factor <= one.factor.high for one in found])
                yield row(
                    f"power, returns times {factor}, {described(case)}",
                    f"{100 * claimed:.0f} %, covers {100 * held:.1f} %",
                    "to know",
                )


def described(case: Visit) -> str:
    low, high = case.handpieces
    return (
        f"{case.window}, {case.offices} offices of {low} to {high}, spreads "
        f"{case.between_offices:g} and {case.between_handpieces:g}, {case.rate:g} a year"
    )


def coverage() -> Iterator[dict[str, str]]:
    """How often intervals of shrunken rates and of the spreads hold the truth."""
    for offices in (3, 5, 10, 40, 200):
        for spread, own in ((0.4, 0.8), (0.4, 0.0), (0.1, 1.0)):
            rng = np.random.default_rng([offices, 7])
            inside, between, within = [], [], []
            for _ in range(max(20, 1_500 // offices)):
                shop = draw(rng, offices=offices, between_offices=spread, between_handpieces=own)
                found = shrink(shop.returns(rng), shop.expected, office=shop.office)
                truth = shop.office_rate
                inside += list((found.low <= truth) & (truth <= found.high))
                between.append(_holds(found.spread.between_offices, spread))
                within.append(_holds(found.spread.between_handpieces, own))
            yield row(
                f"coverage, {offices} offices, spreads {spread:g} and {own:g}",
                f"rates {100 * np.mean(inside):.1f} %, spreads {100 * np.mean(between):.0f} % "
                f"and {100 * np.mean(within):.0f} %",
                "93 to 97 %",
            )


def _holds(estimate, truth: float) -> bool:
    return estimate.low <= truth <= estimate.high


def times() -> Iterator[dict[str, str]]:
    """Time on 200 offices of 100 handpieces."""
    rng = np.random.default_rng(1)
    shop = draw(rng, offices=200, handpieces=(100, 100))
    counts = shop.returns(rng)
    found = shrink(counts, shop.expected, office=shop.office)
    taken = quickest(lambda: shrink(counts, shop.expected, office=shop.office))
    yield row("shrink, 200 offices, 20,000 handpieces", f"{1e3 * taken:.0f} ms", "50 ms")
    total, expected = found.counts, found.expected
    taken = quickest(lambda: funnel(total, expected))
    yield row("funnel, 200 offices", f"{1e3 * taken:.1f} ms", "5 ms")
    own = shop.office == 0
    risk = shop.expected[own]
    taken = quickest(lambda: change(counts[own], risk, counts[own], risk, shop=found.spread))
    yield row("change, 100 handpieces", f"{1e3 * taken:.0f} ms", "20 ms")


def quickest(call, repeats: int = 5) -> float:
    taken = []
    for _ in range(repeats):
        begin = time.perf_counter()
        call()
        taken.append(time.perf_counter() - begin)
    return min(taken)
