"""Lives, warranties and curves of simulated shops: whether intervals hold the truth."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from tests.life.shops import DAYS_A_YEAR, Law, Plan, Shop, simulated_shop

from benchmarks._shops import SHOPS, USUAL, WARRANTY_DAYS, WORN, holds, row, share
from turnwell.errors import CannotTellError
from turnwell.life import Estimate, mean_cumulative, power_law, weibull_fit, weibull_grid
from turnwell.life.forecast import ReturnCost, UnderWarranty, warranty_forecast


def lives() -> Iterator[dict[str, str]]:
    """Whether intervals of Weibull lives hold the truth, late entry and offices alike or not."""
    for name, plan in (
        ("all alike", WORN),
        ("six offices", replace(WORN, offices=6)),
        ("a book of one year", replace(WORN, days=DAYS_A_YEAR, offices=25)),
    ):
        for what, of in (
            ("first lives", Shop.first_lives),
            ("after repair", Shop.lives_after_repair),
        ):
            shape, scale, median, censored = [], [], [], []
            for run in range(250):
                found = of(simulated_shop(plan, np.random.default_rng([5, run])))
                if found.failures < 3:
                    continue
                fit = weibull_fit(found)
                censored.append(1.0 - found.failures / found.count)
                shape.append(holds(fit.shape, plan.shape))
                scale.append(holds(fit.scale, plan.scale_days))
                median.append(holds(fit.median_life, plan.scale_days * np.log(2.0) ** 0.5))
            yield row(
                f"Weibull of {what}, {name}, {np.mean(censored):.0%} censored: covers",
                f"shape {share(shape)}, scale {share(scale)}, median {share(median)}",
                "93 to 97 %",
            )
    yield from clustered_lives()


def clustered_lives() -> Iterator[dict[str, str]]:
    """Whether the robust interval holds the median of lives that are alike within an office.

    The truth is what a very large shop's fit goes to: with factors on the hazard the lives of all
    offices together are no longer Weibull.
    """
    plan = replace(WORN, offices=30, office_spread=0.3)
    large = simulated_shop(replace(plan, offices=6_000), np.random.default_rng(9))
    limit = weibull_fit(large.lives_after_repair()).median_life.value
    plain, robust = [], []
    for run in range(200):
        fit = weibull_fit(
            simulated_shop(plan, np.random.default_rng([6, run])).lives_after_repair()
        )
        over_offices = fit.robust_quantile(0.5)
        plain.append(holds(fit.median_life, limit))
        if over_offices is not None:
            robust.append(holds(over_offices, limit))
    yield row(
        "median life, offices unlike: covers",
        f"robust {share(robust)}, plain {share(plain)}",
        "93 to 97 % robust",
    )


def cover_ahead(plan: Plan, rng: np.random.Generator) -> tuple[int, Estimate] | None:
    """Give the returns under warranty in the last quarter, and what was forecast of them.

    What came back in the quarter and was repaired again counts once, as the forecast has it.
    """
    shop = simulated_shop(plan, rng)
    day = plan.days - 91.0
    book = shop.until(day)
    try:
        life = weibull_grid(book.lives_after_repair())
    except CannotTellError:
        return None
    units = np.arange(shop.office.size)
    last = np.full(shop.office.size, -np.inf)
    earlier = shop.day <= day
    np.maximum.at(last, shop.unit[earlier], shop.day[earlier])
    last = np.where(shop.from_repair & np.isinf(last) & (shop.start <= day), shop.start, last)
    covered = (day - last < WARRANTY_DAYS) & (shop.stop > day)
    if not covered.any():
        return None
    age = day - last[covered]
    # A handpiece that is retired meanwhile comes back no more: its cover ends there.
    cover = np.minimum(WARRANTY_DAYS - age, shop.stop[covered] - day)
    group = UnderWarranty.of(age, cover, life, cost=ReturnCost(90.0))
    later = (shop.day > day) & (shop.day <= last[shop.unit] + WARRANTY_DAYS) & covered[shop.unit]
    came = np.isin(units, shop.unit[later]).sum()
    return int(came), warranty_forecast([group], horizon=91.0).returns


def warranties() -> Iterator[dict[str, str]]:
    """Whether chances and numbers of returns under warranty are earned by the repairs to come."""
    yield from chances_back()
    yield from numbers_back()


def chances_back() -> Iterator[dict[str, str]]:
    """Whether the chance to be back within the warranty is earned by the repairs that follow."""
    for name, plan in (
        ("many lives", WORN),
        ("few lives", replace(WORN, offices=2, handpieces=6.0)),
    ):
        said, came, held = [], [], []
        for run in range(200):
            rng = np.random.default_rng([8, run])
            found = simulated_shop(plan, rng).lives_after_repair()
            try:
                grid = weibull_grid(found)
            except CannotTellError:
                continue

            def back(shape: np.ndarray, scale: np.ndarray) -> np.ndarray:
                return -np.expm1(-((WARRANTY_DAYS / scale) ** shape))

            truth = float(back(np.array(plan.shape), np.array(plan.scale_days)))
            said.append(grid.mean(back))
            held.append(holds(grid.estimate(back), truth))
            came.append(truth)
        yield row(
            f"back within 6 months, {name}",
            f"said {100 * np.mean(said):.1f} %, true {100 * np.mean(came):.1f} %, "
            f"interval covers {share(held)}, told in {len(said)} of 200 shops",
            "as said, 93 to 97 %",
        )


def numbers_back() -> Iterator[dict[str, str]]:
    """Whether the number back under warranty in the next quarter lies in its interval."""
    for name, plan in (
        ("all alike", replace(WORN, offices=40, rate_a_year=1.0)),
        ("offices and handpieces unlike", replace(USUAL, law=Law.RENEWAL, shape=1.6)),
    ):
        found = [cover_ahead(plan, np.random.default_rng([13, run])) for run in range(200)]
        told = [one for one in found if one is not None]
        inside = [ahead.low <= came <= ahead.high for came, ahead in told]
        came_mean = np.mean([came for came, _ in told])
        said_mean = np.mean([ahead.value for _, ahead in told])
        yield row(
            f"back under warranty next quarter, {name}: inside",
            f"{share(inside)}, came {came_mean:.2f}, forecast {said_mean:.2f} on average, "
            f"told in {len(told)} of 200 shops",
            "95 % or more: counts are whole",
        )


def curves() -> Iterator[dict[str, str]]:
    """Whether curves and power laws over offices hold the truth where offices are unlike."""
    for name, plan in (
        ("as assumed", USUAL),
        ("offices alike", SHOPS["offices alike"]),
        ("six small offices", SHOPS["six small offices"]),
    ):
        units, over = [], []
        for run in range(250):
            histories = simulated_shop(plan, np.random.default_rng([3, run])).histories_by_day()
            truth = plan.rate_a_year * 2.0
            units.append(holds(mean_cumulative(histories).at(2 * DAYS_A_YEAR), truth))
            by_office = mean_cumulative(histories, by_office=True)
            over.append(holds(by_office.at(2 * DAYS_A_YEAR), truth))
        yield row(
            f"mean returns in two years, {name}: covers",
            f"over offices {share(over)}, over handpieces {share(units)}",
            "93 to 97 % over offices",
        )
    for shape in (1.0, 1.5):
        plan = replace(USUAL, shape=shape)
        plain, robust = [], []
        for run in range(150):
            law = power_law(
                simulated_shop(plan, np.random.default_rng([4, run])).histories_by_age()
            )
            plain.append(holds(law.shape, shape))
            if law.robust_shape is not None:
                robust.append(holds(law.robust_shape, shape))
        yield row(
            f"power law of shape {shape:g} by age, as assumed: covers",
            f"over offices {share(robust)}, plain {share(plain)}",
            "93 to 97 % over offices",
        )
