"""The whole chain on simulated shops whose truth is known: coverage, calibration, size and power.

    python -m benchmarks life_shops

Shops are those of `tests.life.shops`: handpieces seen late in life, some known by a failure only,
frail ones coming back more, retiring, ageing. What the methods assume (gamma rates, Poisson
returns) holds in the first of them and is bent in the others. Each figure holds what was measured
and what was aimed at; a share of n trials is itself uncertain by its standard error.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
from tests.life.shops import DAYS_A_YEAR, Law, Plan, Shop, simulated_shop

from benchmarks._shop_lives import curves, lives, warranties
from benchmarks._shops import SHOPS, USUAL, expected_of, holds, row, share
from turnwell.life import (
    Change,
    Window,
    change,
    effectiveness,
    outlook,
    shrink,
)
from turnwell.life.forecast import coming_returns

RUNS = 300
SPELL_DAYS = 120.0
VISITED_ON = 730.0
# Beta belief about the share of returns that an action prevents.
PRIOR = (3.0, 3.0)


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    yield from sizes()
    yield from powers()
    yield from actions()
    yield from offices()
    yield from quarters()
    yield from lives()
    yield from warranties()
    yield from curves()


def visited(
    plan: Plan, rng: np.random.Generator, *, prevented: float = 0.0, since: float = 0.0
) -> Change:
    """Visit the office with the worst spell on a day; compare its year after with what was before.

    Parameters
    ----------
    prevented : float
        Share of that office's returns that the visit takes away from that day on.
    since : float
        First day of what was before: 0 for the whole book.
    """
    shop = simulated_shop(plan, rng)
    office = shop.worst_spell(VISITED_ON, SPELL_DAYS)
    shop = without(shop, office, VISITED_ON, prevented, rng)
    history = shop.counts(0.0, VISITED_ON)
    known = shrink(history.count, expected_of(history), office=history.office)
    before = shop.counts(since, VISITED_ON)
    after = shop.counts(VISITED_ON, VISITED_ON + DAYS_A_YEAR)
    own = shop.office == office
    return change(
        before.count[own],
        expected_of(before)[own],
        after.count[own],
        expected_of(after)[own],
        shop=known.spread,
    )


def without(
    shop: Shop, office: int, day: float, prevented: float, rng: np.random.Generator
) -> Shop:
    """Take away a share of an office's returns after a day; exact where returns are Poisson."""
    is_prevented = (
        (shop.office[shop.unit] == office)
        & (shop.day > day)
        & (rng.random(shop.unit.size) < prevented)
    )
    kept = ~is_prevented
    return replace(shop, unit=shop.unit[kept], day=shop.day[kept], cause=shop.cause[kept])


def trials(number: int, runs: int, what: Callable[[np.random.Generator], Change]) -> list[Change]:
    return [what(np.random.default_rng([number, run])) for run in range(runs)]


def sizes() -> Iterator[dict[str, str]]:
    """How often a change is claimed though nothing changed, the office chosen for its spell."""
    for what, since in (("all before", 0.0), ("the spell", VISITED_ON - SPELL_DAYS)):
        for number, (name, plan) in enumerate(SHOPS.items()):
            found = trials(number, RUNS, lambda rng, p=plan, s=since: visited(p, rng, since=s))
            claimed = share([one.is_changed for one in found])
            plain = share([one.plain is not None and one.plain.p < 0.05 for one in found])
            yield row(
                f"visit for a spell, after against {what}, {name}: claims",
                f"{claimed}, plain ratio {plain}",
                "6 %",
            )


def powers() -> Iterator[dict[str, str]]:
    """How often a true fall is claimed, and whether its interval holds it."""
    for name in ("as assumed", "ageing"):
        for prevented in (0.5, 0.75):
            plan = replace(SHOPS[name], handpieces=25.0)
            found = trials(77, 150, lambda rng, p=prevented, q=plan: visited(q, rng, prevented=p))
            claimed = share([one.is_changed and one.factor.value < 1.0 for one in found])
            held = share([holds(one.factor, 1.0 - prevented) for one in found])
            yield row(
                f"{prevented:.0%} prevented, {name}: claims", f"{claimed}, covers {held}", "95 %"
            )


def actions() -> Iterator[dict[str, str]]:
    """Whether the share that an action prevents is known as well as it is said to be.

    The true share is drawn from the prior in each shop; offices are trained at days of their own.
    Held against the rates of offices that were not trained, and of all of them.
    """
    for name, is_whole in (("offices not trained", False), ("all offices", True)):
        inside, narrower, bias = [], [], []
        for run in range(120):
            rng = np.random.default_rng([12, run])
            truth = float(rng.beta(*PRIOR))
            plan = replace(USUAL, offices=30, trained=0.3, prevented=truth, rate_a_year=1.0)
            shop = simulated_shop(plan, rng)
            found = effectiveness(*PRIOR, trainings(shop, is_whole=is_whole)).estimate()
            inside.append(holds(found, truth))
            bias.append(found.value - truth)
            narrower.append(found.high - found.low)
        prior = effectiveness(*PRIOR).estimate()
        yield row(
            f"share prevented, nine offices trained, against {name}: covers",
            f"{share(inside)}, mean error {np.mean(bias):+.3f}, width {np.mean(narrower):.2f} of "
            f"{prior.high - prior.low:.2f}",
            "93 to 97 %",
        )


def trainings(shop: Shop, *, is_whole: bool) -> Iterator[Change]:
    """Compare each trained office's returns of the first cause before and after its training."""
    untrained = np.isinf(shop.trained_on)[shop.office]
    held = np.ones_like(untrained) if is_whole else untrained
    for office in np.flatnonzero(np.isfinite(shop.trained_on)).tolist():
        day = float(shop.trained_on[office])
        before = shop.counts(0.0, day, cause=0)
        after = shop.counts(day, shop.plan.days, cause=0)
        own = shop.office == office
        risks = [
            counts.exposure_days * (counts.count[held].sum() / counts.exposure_days[held].sum())
            for counts in (before, after)
        ]
        known = shrink(before.count, risks[0], office=before.office)
        if risks[1][own].any():
            yield change(
                before.count[own],
                risks[0][own],
                after.count[own],
                risks[1][own],
                shop=known.spread,
            )


def offices() -> Iterator[dict[str, str]]:
    """Whether intervals of office rates hold the truth, and chances of exceeding are earned."""
    for number, (name, plan) in enumerate(SHOPS.items()):
        inside: list[bool] = []
        chance: list[np.ndarray] = []
        above: list[np.ndarray] = []
        for run in range(150):
            shop = simulated_shop(plan, np.random.default_rng([number, run]))
            counts = shop.counts(0.0, plan.days)
            found = shrink(counts.count, expected_of(counts), office=counts.office)
            truth = true_ratios(shop)
            inside += list((found.low <= truth) & (truth <= found.high))
            chance.append(found.above(1.25))
            above.append(truth > 1.25)
        said, was = np.concatenate(chance), np.concatenate(above)
        sure = said > 0.8
        earned = (
            f"{share(list(was[sure]))}, said {100 * said[sure].mean():.1f} %" if sure.any() else ""
        )
        yield row(f"office rate, {name}: covers", share(inside), "93 to 97 %")
        yield row(f"said 80 % and more to be 1.25 x, {name}: is", earned, "as said")


def true_ratios(shop: Shop) -> np.ndarray:
    """Give each office's true rate over the rate of all returns seen.

    What handpieces of one office share is its factor; what they are like on average here is that
    of all the book knows, for the frail become known sooner. A factor on the hazard of lives from
    repair to repair shortens them by its root.
    """
    root = 1.0 / shop.plan.shape if shop.plan.law is Law.RENEWAL else 1.0
    factor, frailty = shop.office_factor**root, shop.frailty**root
    weight = (shop.stop - shop.start) * frailty
    return factor * np.sum(weight) / np.sum(weight * factor[shop.office])


def quarters() -> Iterator[dict[str, str]]:
    """Whether the next quarter's returns lie in their predictive intervals, office and shop."""
    for number, (name, plan) in enumerate(SHOPS.items()):
        inside, above, whole = [], [], []
        for run in range(60):
            rng = np.random.default_rng([number, run])
            shop = simulated_shop(plan, rng)
            whole.append(shop_quarter(shop))
            for hit in next_quarter(shop):
                inside.append(hit == 0)
                above.append(hit > 0)
        yield row(
            f"next quarter of an office, {name}: inside",
            f"{share(inside)}, over {100 * np.mean(above):.1f} %",
            "95 % or more: counts are whole",
        )
        yield row(f"next quarter of the shop, {name}: inside", share(whole), "95 % or more")


def shop_quarter(shop: Shop) -> bool:
    """Say whether the returns of all offices in the last quarter lie in their interval."""
    day = shop.plan.days - 91.0
    seen, ahead = shop.counts(0.0, day), shop.counts(day, shop.plan.days)
    rate_a_day = seen.count.sum() / seen.exposure_days.sum()
    known = shrink(seen.count, expected_of(seen), office=seen.office)
    risk = ahead.by_office().exposure_days * rate_a_day
    return holds(coming_returns(known, risk).all_offices, float(ahead.count.sum()))


def next_quarter(shop: Shop) -> Iterator[int]:
    """Give for each office whether its next quarter lies under, in (0) or over its interval."""
    day = shop.plan.days - 91.0
    seen, ahead = shop.counts(0.0, day), shop.counts(day, shop.plan.days)
    risk = expected_of(seen)
    known = shrink(seen.count, risk, office=seen.office)
    rate_a_day = seen.count.sum() / seen.exposure_days.sum()
    for office in range(shop.plan.offices):
        own = shop.office == office
        if not ahead.exposure_days[own].any():
            continue
        window = Window.of(seen.count[own], risk[own])
        found = outlook(known.spread, window, ahead.exposure_days[own] * rate_a_day).interval()
        count = int(ahead.count[own].sum())
        yield int(count > found.high) - int(count < found.low)
