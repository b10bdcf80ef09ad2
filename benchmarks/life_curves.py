"""Curves of lives and of returns: how often intervals cover and tests are wrong, and their time.

    python -m benchmarks life_curves

Lives and returns come from the generators of the tests, whose truth is written down. A share of
1,000 runs has a standard error of 0.7 points at 95 %, and as much at 5 %; of 300 runs 1.3 points.
"""

import time
from collections.abc import Callable, Iterator
from math import exp

import numpy as np
from tests.life.curves.shop import lives_of
from tests.life.returns.shop import histories_of

from turnwell.errors import CannotTellError
from turnwell.life import (
    Estimate,
    Histories,
    Lives,
    cumulative_incidence,
    difference,
    log_rank,
    mean_cumulative,
    power_law,
    product_limit,
    restricted_mean,
    trend,
)

CLAIMED = "93 to 97 %"
SIZE = "5 %"
# Of the lives drawn with these, seven of ten still run at the end of their watch.
CENSORING = 1_000.0


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    yield from times()
    for count in (20, 100, 1_000):
        yield from lives_cover(count)
    for offices in (6, 12, 40):
        yield from offices_cover(offices)
    for offices in (6, 12, 40):
        yield from log_rank_size(offices)
    for count in (20, 100, 1_000):
        yield from returns_cover(count)
    yield from difference_size()
    for count in (1, 20, 100):
        yield from power_law_cover(count)
    for count in (1, 5, 30):
        yield from trend_size(count)


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}


def runs_of(count: int) -> int:
    return 300 if count >= 1_000 else 1_000


def quickest(action: Callable[[], object]) -> float:
    """Give the least of seven times, in milliseconds."""
    taken = []
    for _ in range(7):
        begun = time.perf_counter()
        action()
        taken.append(time.perf_counter() - begun)
    return 1e3 * min(taken)


def times() -> Iterator[dict[str, str]]:
    rng = np.random.default_rng(1)
    lives = lives_of(rng, 100_000, censoring=CENSORING)
    offices = lives_of(rng, 100_000, censoring=CENSORING, offices=200)
    taken = quickest(lambda: product_limit(lives))
    yield row("product limit, 100,000 lives", f"{taken:.1f} ms", "20 ms")
    taken = quickest(lambda: product_limit(offices))
    yield row("the same over 200 offices", f"{taken:.1f} ms", "")
    taken = quickest(lambda: cumulative_incidence(offices))
    yield row("incidence of three causes, 200 offices", f"{taken:.1f} ms", "")
    returns = histories_of(rng, 20_000, mean=9.2, offices=200)
    parts = [returns.chosen(np.arange(returns.count) % 2 == one) for one in (0, 1)]
    named: dict[str, Callable[[], object]] = {
        "mean returns": lambda: mean_cumulative(returns),
        "mean returns over 200 offices": lambda: mean_cumulative(returns, by_office=True),
        "difference of two halves": lambda: difference(*parts),
        "power law": lambda: power_law(returns),
        "trend": lambda: trend(returns),
    }
    for name, action in named.items():
        what = f"{name}, 20,000 units, {returns.returns} returns"
        yield row(what, f"{quickest(action):.1f} ms", "tens of ms")


def share(held: list[bool]) -> str:
    return f"{100.0 * float(np.mean(held)):.1f} % of {len(held)}"


def covers(estimate: Estimate, truth: float) -> bool:
    return estimate.low <= truth <= estimate.high


def survival(age: float, likeness: float = 0.0) -> float:
    """Give the true share of `lives_of` that runs on past an age."""
    hazard = (age / 1_000.0) ** 1.5
    return (1.0 + likeness * hazard) ** (-1.0 / likeness) if likeness else exp(-hazard)


def mean_until(age: float, likeness: float = 0.0) -> float:
    ages = np.linspace(0.0, age, 2_001)
    return float(np.trapezoid([survival(one, likeness) for one in ages], ages))


def lives_cover(count: int) -> Iterator[dict[str, str]]:
    rng = np.random.default_rng(count)
    held: dict[str, list[bool]] = {}
    censored = []
    for _ in range(runs_of(count)):
        lives = lives_of(rng, count, censoring=CENSORING, entry=0.0)
        censored.append(1.0 - lives.failures / count)
        curve, incidence = product_limit(lives), cumulative_incidence(lives)
        for age in (150.0, 400.0, 650.0):
            if age > curve.end:
                continue
            past = survival(age)
            held.setdefault(f"share past {age:g}", []).append(covers(curve.at(age), past))
            # A failure is of each cause, or of none that was settled, one time in three.
            of_cause = covers(incidence.at(age, 0), (1.0 - past) / 3.0)
            held.setdefault(f"share of a cause by {age:g}", []).append(of_cause)
        if curve.end >= 650.0:
            mean = covers(restricted_mean(lives, 650.0), mean_until(650.0))
            held.setdefault("mean until 650", []).append(mean)
        third = 1_000.0 * (-np.log(2.0 / 3.0)) ** (1.0 / 1.5)
        held.setdefault("age by which a third failed", []).append(
            covers(curve.quantile(1.0 / 3.0), float(third))
        )
    running = f"{100.0 * float(np.mean(censored)):.0f} % censored"
    for name, each in held.items():
        yield row(f"{name}, {count} lives, {running}", share(each), CLAIMED)


def offices_cover(offices: int) -> Iterator[dict[str, str]]:
    rng = np.random.default_rng(offices)
    past = survival(400.0, 0.3)
    held: dict[str, list[bool]] = {}
    for _ in range(runs_of(offices)):
        lives = lives_of(
            rng, 25 * offices, censoring=CENSORING, entry=0.0, offices=offices, likeness=0.3
        )
        alone = Lives.observed(lives.exit, lives.is_failed)
        for name, one in (("as if independent", alone), ("over offices", lives)):
            held.setdefault(name, []).append(covers(product_limit(one).at(400.0), past))
        of_cause = covers(cumulative_incidence(lives).at(400.0, 0), (1.0 - past) / 3.0)
        held.setdefault("of a cause, over offices", []).append(of_cause)
        mean = covers(restricted_mean(lives, 400.0), mean_until(400.0, 0.3))
        held.setdefault("mean, over offices", []).append(mean)
        returns = histories_of(rng, 25 * offices, offices=offices, likeness=0.3)
        for by_office in (False, True):
            found = mean_cumulative(returns, by_office=by_office)
            key = "mean returns over offices" if by_office else "mean returns over units"
            if found.end >= 500.0:
                truth = 2.0 * (500.0 - found.start) / 700.0
                held.setdefault(key, []).append(covers(found.at(500.0), truth))
    for name, each in held.items():
        aim = "" if name in {"as if independent", "mean returns over units"} else CLAIMED
        yield row(f"{name}, {offices} offices that differ by 55 %", share(each), aim)


def log_rank_size(offices: int) -> Iterator[dict[str, str]]:
    rng = np.random.default_rng(offices)
    for likeness in (0.0, 0.3):
        wrong: dict[str, list[bool]] = {"lives": [], "over offices": [], "within offices": []}
        for _ in range(runs_of(offices)):
            lives = lives_of(
                rng, 25 * offices, censoring=CENSORING, offices=offices, likeness=likeness
            )
            whole = [lives.chosen(lives.office % 2 == one) for one in (0, 1)]
            found = log_rank(whole)
            wrong["lives"].append(found.p < 0.05)
            if found.over_offices_p is not None:
                wrong["over offices"].append(found.over_offices_p < 0.05)
            mixed = [lives.chosen(np.arange(lives.count) % 2 == one) for one in (0, 1)]
            within = log_rank(mixed, strata=[one.office for one in mixed])
            wrong["within offices"].append(within.p < 0.05)
        for name, each in wrong.items():
            what = f"log-rank {name} wrong, {offices} offices, likeness {likeness:g}"
            yield row(what, share(each), "" if name == "lives" and likeness else SIZE)


def returns_cover(count: int) -> Iterator[dict[str, str]]:
    rng = np.random.default_rng(count)
    for name, kind in {
        "returns": {"mean": 2.0},
        "few returns": {"mean": 0.5},
        "returns, units differ": {"mean": 2.0, "spread": 1.0},
    }.items():
        held: dict[float, list[bool]] = {}
        for _ in range(runs_of(count)):
            curve = mean_cumulative(histories_of(rng, count, **kind))
            for age in (150.0, 350.0, 600.0):
                if curve.start <= age <= curve.end:
                    truth = kind["mean"] * (age - curve.start) / 700.0
                    held.setdefault(age, []).append(covers(curve.at(age), truth))
        for age, each in held.items():
            yield row(f"mean {name} by {age:g}, {count} units", share(each), CLAIMED)
    cost = exp(4.0 + 0.7**2 / 2.0)
    held_cost = []
    for _ in range(runs_of(count)):
        curve = mean_cumulative(histories_of(rng, count, cost=True))
        if curve.end >= 600.0:
            truth = cost * 2.0 * (600.0 - curve.start) / 700.0
            held_cost.append(covers(curve.at(600.0), truth))
    yield row(f"mean cost by 600, {count} units", share(held_cost), CLAIMED)


def difference_size() -> Iterator[dict[str, str]]:
    rng = np.random.default_rng(5)
    for counts in ((20, 20), (10, 40), (100, 100)):
        for mean, spread in ((0.5, 0.0), (2.0, 0.0), (2.0, 1.0)):
            wrong, held = [], []
            for _ in range(1_000):
                groups = [histories_of(rng, count, mean=mean, spread=spread) for count in counts]
                found = difference(*groups)
                wrong.append(found.p < 0.05)
                if found.end >= 500.0:
                    held.append(covers(found.at(500.0), 0.0))
            kind = f"{counts[0]} against {counts[1]} units, mean {mean:g}, spread {spread:g}"
            yield row(f"difference wrongly found, {kind}", share(wrong), SIZE)
            yield row(f"difference by 500, {kind}", share(held), CLAIMED)


def power_law_cover(count: int) -> Iterator[dict[str, str]]:
    rng = np.random.default_rng(count)
    mean = 12.0 if count == 1 else 2.0
    truth = mean * ((900.0 / 700.0) ** 1.5 - (700.0 / 700.0) ** 1.5)
    for spread in (0.0, 1.0) if count > 1 else (0.0,):
        held: dict[str, list[bool]] = {}
        for _ in range(400 if count > 1 else 1_000):
            returns = histories_of(rng, count, mean=mean, shape=1.5, spread=spread)
            if returns.returns < 4:
                continue
            try:
                law = power_law(returns)
            except CannotTellError:
                held.setdefault("a shape is given", []).append(False)
                continue
            held.setdefault("a shape is given", []).append(True)
            held.setdefault("shape by likelihood", []).append(covers(law.shape, 1.5))
            if law.robust_shape is not None:
                held.setdefault("shape over units", []).append(covers(law.robust_shape, 1.5))
            held.setdefault("expected 700 to 900", []).append(
                covers(law.expected(700.0, 900.0), truth)
            )
            if law.fits is not None:
                held.setdefault("law kept", []).append(law.fits)
        for name, each in held.items():
            aim = {"law kept": "95 %", "a shape is given": ""}.get(name, CLAIMED)
            yield row(f"power law, {name}, {count} units, spread {spread:g}", share(each), aim)


def trend_size(count: int) -> Iterator[dict[str, str]]:
    rng = np.random.default_rng(count)
    for name, kind in {
        "steady": {},
        "units differ": {"spread": 1.0},
        "in bunches": {"bunch": 1.5},
    }.items():
        wrong: dict[str, list[bool]] = {}
        for _ in range(1_000):
            returns = histories_of(rng, count, mean=6.0 if count == 1 else 2.0, **kind)
            if returns.returns < 3:
                continue
            for test, p in _tests(returns).items():
                wrong.setdefault(test, []).append(p < 0.05)
        for test, each in wrong.items():
            aim = SIZE if name != "in bunches" or test == "the one to act on" else ""
            yield row(f"trend wrongly found, {test}, {count} units, {name}", share(each), aim)


def _tests(returns: Histories) -> dict[str, float]:
    found = trend(returns)
    named = {
        "Laplace": found.laplace_p,
        "over units": found.robust_laplace_p,
        "chi-square": found.chi2_p,
        "reversals": found.reversals_p,
        "the one to act on": found.p,
    }
    return {name: p for name, p in named.items() if p is not None}
