"""Weibull lives: how often intervals cover, plain and calibrated, and time against two packages.

    python -m benchmarks life_weibull

Lives come from the generator of the tests: watching that ends at one age, at random, and with late
entry, 30 % seen to fail. A share of 4,000 runs has a standard error of 0.35 points.
"""

import time
from collections.abc import Callable, Iterable, Iterator

import numpy as np
from scipy.integrate import quad
from tests.life.weibull.lives import SCALE, Watch, simulated
from tests.life.weibull.test_robust import alike

from turnwell.errors import CannotTellError
from turnwell.life import Estimate, Lives, Option, WeibullGrid, weibull_fit, weibull_grid, worth_of
from turnwell.life.weibull import mean_ahead

RUNS = 4000
AGE = 500.0
HORIZON = 700.0
CLAIMED = "93 to 97 %"

Asked = dict[str, tuple[float, Callable[[Lives], Estimate]]]


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    yield from times()
    for count in (20, 100, 1000):
        for watch in Watch:
            yield from profile_cover(watch, count)
    for shape in (1.0, 3.5):
        for watch in Watch:
            yield from profile_cover(watch, 20, shape=shape)
    yield from complete_cover()
    yield from looked_cover()
    yield from other_cover()
    for count in (20, 100):
        for watch in Watch:
            yield grid_cover(watch, count)
    yield from office_cover()


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}


def times() -> Iterator[dict[str, str]]:
    """Time of a fit with late entry, intervals included, as ratios on the same lives."""
    import lifelines
    import surpyval

    for count in (200, 20_000):
        lives = simulated(Watch.LATE, count, np.random.default_rng(1))
        failed, running = lives.is_failed, (~lives.is_failed).astype(int)
        below = np.where(lives.entry > 0.0, lives.entry, -1e-9)
        ours, first, second = quickest(
            lambda lives=lives: weibull_fit(lives),
            lambda lives=lives, failed=failed: lifelines.WeibullFitter().fit(
                lives.exit, failed, entry=lives.entry
            ),
            lambda lives=lives, running=running, below=below: surpyval.Weibull.fit(
                lives.exit, c=running, tl=below
            ),
        )
        yield row(
            f"fit of {count:,} late lives, with intervals",
            f"{1e3 * ours:.2f} ms; lifelines {first / ours:.0f} x, surpyval {second / ours:.0f} x",
            "3 ms, 10 x" if count == 20_000 else "10 x",
        )
        offices = Lives.observed(
            lives.exit, failed, entry=lives.entry, office=np.arange(count) % 200
        )
        spread, grid = quickest(
            lambda lives=offices: weibull_fit(lives), lambda lives=lives: weibull_grid(lives)
        )
        yield row(f"the same over 200 offices, {count:,}", f"{1e3 * spread:.2f} ms", "")
        yield row(f"grid of {count:,} late lives", f"{1e3 * grid:.1f} ms", "")
    option = Option(
        name="a",
        price=100.0,
        life=weibull_grid(simulated(Watch.RANDOM, 200, np.random.default_rng(1))),
        warranty=90.0,
        return_cost=30.0,
        pace=Estimate(8.0, 5.0, 12.0),
    )
    (worth,) = quickest(lambda: worth_of(option, horizon=HORIZON))
    yield row("worth of an option, its grid at hand", f"{1e3 * worth:.1f} ms", "")


def quickest(*calls: Callable[[], object], repeats: int = 15) -> list[float]:
    """Give the least time of each, taken in turn so that all meet the same machine."""
    taken: list[list[float]] = [[] for _ in calls]
    for _ in range(repeats):
        for call, seconds in zip(calls, taken, strict=True):
            begin = time.perf_counter()
            call()
            seconds.append(time.perf_counter() - begin)
    return [min(seconds) for seconds in taken]


def profile_cover(watch: Watch, count: int, *, shape: float = 2.0) -> Iterator[dict[str, str]]:
    """How often profile intervals hold the truth, plain and calibrated, on the same lives."""
    for calibrated in (False, True):
        yield cover(
            f"{watch.name.lower()}, {count} lives, shape {shape:g}, "
            f"{'calibrated' if calibrated else 'plain'}",
            lambda rng: simulated(watch, count, rng, shape=shape),
            lambda lives, calibrated=calibrated: weibull_fit(lives, calibrated=calibrated),
            shape=shape,
        )


def complete_cover() -> Iterator[dict[str, str]]:
    """Count the same where every life was watched to its end."""

    def ended(rng: np.random.Generator) -> Lives:
        return Lives.observed(SCALE * rng.weibull(2.0, 10), np.ones(10))

    for calibrated in (False, True):
        yield cover(
            f"all 10 failed, {'calibrated' if calibrated else 'plain'}",
            ended,
            lambda lives, calibrated=calibrated: weibull_fit(lives, calibrated=calibrated),
        )


def looked_cover() -> Iterator[dict[str, str]]:
    """Count the same where failures are found at looks 100 apart."""

    def looked(rng: np.random.Generator) -> Lives:
        lives = simulated(Watch.RANDOM, 40, rng)
        low = np.where(lives.is_failed, 100.0 * np.floor(lives.low / 100.0), lives.low)
        return Lives.between(low, np.where(lives.is_failed, low + 100.0, np.inf))

    yield cover("random, 40 lives, looks 100 apart, calibrated", looked, weibull_fit)


def other_cover() -> Iterator[dict[str, str]]:
    """Count the same for lives unlike those on which the calibration's constants were chosen."""

    def waning(rng: np.random.Generator) -> Lives:
        life, end = SCALE * rng.weibull(1.5, 30), rng.exponential(370.0, 30)
        return Lives.observed(np.minimum(life, end), life <= end)

    def short(rng: np.random.Generator) -> Lives:
        life, entry = SCALE * rng.weibull(2.7, 600), 900.0 * rng.beta(2.0, 2.0, 600)
        seen = np.flatnonzero(life > entry)[:60]
        life, entry = life[seen], entry[seen]
        end = entry + rng.uniform(40.0, 160.0, seen.size)
        return Lives.observed(np.minimum(life, end), life <= end, entry=entry)

    drawn = (
        ("30 lives, watch ends at a constant rate", waning, 1.5),
        ("60 lives, all late, watched shortly", short, 2.7),
    )
    for what, draw, shape in drawn:
        share = np.mean([draw(np.random.default_rng(seed)).is_failed.mean() for seed in range(200)])
        for calibrated in (False, True):
            yield cover(
                f"{what}, {100.0 * share:.0f} % failed, shape {shape:g}, "
                f"{'calibrated' if calibrated else 'plain'}",
                draw,
                lambda lives, calibrated=calibrated: weibull_fit(lives, calibrated=calibrated),
                shape=shape,
            )


def cover(
    what: str,
    draw: Callable[[np.random.Generator], Lives],
    fit: Callable[[Lives], object],
    *,
    shape: float = 2.0,
) -> dict[str, str]:
    """How often the intervals of shape, scale, median and survival hold the truth."""
    truths = {
        "shape": shape,
        "scale": SCALE,
        "median": SCALE * np.log(2.0) ** (1.0 / shape),
        "survival": float(np.exp(-((AGE / SCALE) ** shape))),
    }

    def asked(lives: Lives) -> Iterable[Estimate]:
        told = fit(lives)
        return told.shape, told.scale, told.median_life, told.survival(AGE)

    return counted(what, truths, asked, draw)


def grid_cover(watch: Watch, count: int) -> dict[str, str]:
    """How often credible intervals of the grid hold the truth."""
    truths = {
        "shape": 2.0,
        "scale": SCALE,
        "survival": float(np.exp(-((AGE / SCALE) ** 2.0))),
        "mean within 700": quad(lambda t: np.exp(-((t / SCALE) ** 2)), 0.0, HORIZON)[0],
    }

    def asked(lives: Lives) -> Iterable[Estimate]:
        grid: WeibullGrid = weibull_grid(lives)
        return (
            grid.estimate(lambda shape, _: shape),
            grid.estimate(lambda _, scale: scale),
            grid.estimate(lambda shape, scale: np.exp(-((AGE / scale) ** shape))),
            grid.estimate(lambda shape, scale: mean_ahead(shape, scale, stretch=HORIZON)),
        )

    return counted(
        f"grid, {watch.name.lower()}, {count} lives",
        truths,
        asked,
        lambda rng: simulated(watch, count, rng),
        runs=RUNS // 2,
    )


def office_cover() -> Iterator[dict[str, str]]:
    """How often survival to 400 holds its truth where lives are alike within an office."""
    truth = (1.0 + 0.3 * 0.4) ** (-1.0 / 0.3)
    for offices in (5, 8, 15, 30, 100):
        yield counted(
            f"{offices} offices of 25, spread 0.3",
            {"over offices": truth, "plain": truth},
            lambda lives: (
                weibull_fit(lives).robust_survival(400.0),
                weibull_fit(lives).survival(400.0),
            ),
            lambda rng, offices=offices: alike(
                rng, offices=offices, each=25, spread=0.3, shape=1.0
            ),
            runs=RUNS // 2,
        )


def counted(
    what: str,
    truths: dict[str, float],
    asked: Callable[[Lives], Iterable[Estimate]],
    draw: Callable[[np.random.Generator], Lives],
    *,
    runs: int = RUNS,
) -> dict[str, str]:
    """Count how often each interval holds its truth; and the shares it lies above and below."""
    rng = np.random.default_rng(20)
    above, below = dict.fromkeys(truths, 0), dict.fromkeys(truths, 0)
    told = 0
    for _ in range(runs):
        lives = draw(rng)
        try:
            estimates = asked(lives)
        except CannotTellError:
            continue
        told += 1
        for (name, truth), estimate in zip(truths.items(), estimates, strict=True):
            above[name] += estimate.low > truth
            below[name] += estimate.high < truth
    shares = ", ".join(
        f"{name} {100.0 - 100.0 * (above[name] + below[name]) / told:.1f}"
        f" ({100.0 * above[name] / told:.1f} {100.0 * below[name] / told:.1f})"
        for name in truths
    )
    unsaid = "" if told == runs else f"; cannot tell {100.0 * (1.0 - told / runs):.2f}"
    return row(what, shares + unsaid, CLAIMED)
