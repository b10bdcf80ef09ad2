"""Lives: time of the fit with late entry and of the product limit, beside two other packages.

    python -m benchmarks life_speed

All fits of one size read the same lives in one run, so that the ratios stand whatever the machine
does beside. Lives of handpieces are drawn with late entry, most still running.
"""

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from turnwell.life import Lives, cumulative_incidence, log_rank, product_limit, weibull_fit
from turnwell.life.weibull.likelihood import likelihood_of
from turnwell.life.weibull.maximum import maximum_of

TRUE_SHAPE, TRUE_SCALE = 1.8, 1_000.0
STARTS = 7


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    for count in (200, 20_000):
        yield from weibull(count)
    yield from curves(100_000)
    yield from starts()


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}


def lives_of(count: int, seed: int = 42, *, causes: int = 0, offices: int = 1) -> Lives:
    """Draw lives with late entry: about seven of ten still run at the end of their watch."""
    rng = np.random.default_rng(seed)
    ages: list[np.ndarray] = []
    entries: list[np.ndarray] = []
    while sum(map(len, ages)) < count:
        age = TRUE_SCALE * rng.weibull(TRUE_SHAPE, 2 * count)
        entry = np.where(rng.random(2 * count) < 0.5, rng.uniform(0.0, 800.0, 2 * count), 0.0)
        # Who failed before being seen is not in the book.
        ages.append(age[age > entry])
        entries.append(entry[age > entry])
    age, entry = np.concatenate(ages)[:count], np.concatenate(entries)[:count]
    end = entry + rng.uniform(20.0, 800.0, count)
    failed = age <= end
    cause = np.where(failed, rng.integers(max(causes, 1), size=count), -1) if causes else None
    return Lives.observed(
        np.minimum(age, end),
        failed,
        entry=entry,
        cause=cause,
        cause_names=[f"cause {number}" for number in range(causes)],
        office=rng.integers(offices, size=count),
    )


def weibull(count: int) -> Iterator[dict[str, str]]:
    """Time the fit with late entry, and shape and scale alone, beside two packages."""
    lives = lives_of(count)
    ours = quickest(lambda: weibull_fit(lives))
    bare = quickest(lambda: maximum_of(likelihood_of(lives)))
    fit = weibull_fit(lives)
    found = fit.shape.value, fit.scale.value
    censored = 100.0 * (1.0 - lives.failures / lives.count)
    aim = "3 ms" if count == 20_000 else ""
    name = f"Weibull, late entry, n = {count:,}"
    yield row(f"{name}, fit with intervals", f"{1e3 * ours:.2f} ms, {censored:.0f} % censored", aim)
    yield row(f"{name}, shape and scale alone", f"{1e3 * bare:.2f} ms", "")
    for package, call in (("lifelines", by_lifelines(lives)), ("surpyval", by_surpyval(lives))):
        other = call()
        taken = quickest(call, repeats=5)
        apart = max(abs(a / b - 1.0) for a, b in zip(other, found, strict=True))
        yield row(
            f"{name}, {package}",
            f"{1e3 * taken:.0f} ms, {taken / ours:.0f} x with intervals, {taken / bare:.0f} x "
            f"without, apart {apart:.0e}",
            "10 x, 1e-5" if count == 20_000 else "",
        )


def by_lifelines(lives: Lives) -> Callable[[], tuple[float, float]]:
    from lifelines import WeibullFitter

    ends, failed, entry = lives.exit, lives.is_failed, lives.entry

    def call() -> tuple[float, float]:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            fitted = WeibullFitter().fit(ends, failed, entry=entry)
        return float(fitted.rho_), float(fitted.lambda_)

    return call


def by_surpyval(lives: Lives) -> Callable[[], tuple[float, float]]:
    from surpyval import Weibull

    ends, censored, entry = lives.exit, (~lives.is_failed).astype(int), lives.entry

    def call() -> tuple[float, float]:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            scale, shape = Weibull.fit(x=ends, c=censored, tl=entry).params
        return float(shape), float(scale)

    return call


def curves(count: int) -> Iterator[dict[str, str]]:
    """Time the curves of many lives, from 1 and from 200 offices."""
    for offices in (1, 200):
        lives = lives_of(count, causes=6, offices=offices)
        name = f"n = {count:,}, {offices} office{'s' * (offices > 1)}"
        taken = quickest(lambda lives=lives: product_limit(lives))
        yield row(f"product limit, {name}", f"{1e3 * taken:.1f} ms", "20 ms")
        taken = quickest(lambda lives=lives: cumulative_incidence(lives))
        yield row(f"cumulative incidence of 6 causes, {name}", f"{1e3 * taken:.1f} ms", "")
    halves = [lives_of(count // 2, seed, offices=200) for seed in (1, 2)]
    taken = quickest(lambda: log_rank(halves))
    yield row(f"log-rank of two, n = {count:,}", f"{1e3 * taken:.1f} ms", "")
    taken = quickest(lambda: log_rank(halves, strata=[one.office for one in halves]))
    yield row(f"log-rank of two in 200 offices, n = {count:,}", f"{1e3 * taken:.1f} ms", "")


def quickest(call: Callable[[], object], repeats: int = 9) -> float:
    taken = []
    for _ in range(repeats):
        begin = time.perf_counter()
        call()
        taken.append(time.perf_counter() - begin)
    return min(taken)


def starts() -> Iterator[dict[str, str]]:
    """Time of a process that imports the core, and of one that reads a table of lives."""
    bare = started(["-c", "pass"])
    core = started(["-c", "import turnwell.life"])
    yield row(
        "import turnwell.life", f"{core - bare:.2f} s above Python's own {bare:.2f} s", "0.35 s"
    )
    with tempfile.TemporaryDirectory(prefix="turnwell-bench-") as folder:
        for count in (100, 20_000):
            table = Path(folder) / f"lives-{count}.csv"
            write_table(table, lives_of(count, offices=6))
            run = "import sys; from turnwell.cli.main import main; sys.exit(main(sys.argv[1:]))"
            words = ["-c", run, "lives", str(table), "--json"]
            answer = json.loads(
                subprocess.run(
                    [sys.executable, *words], check=True, capture_output=True, text=True
                ).stdout
            )
            yield row(
                f"turnwell lives, {answer['n']:,} lives",
                f"{started(words):.2f} s, whole process",
                "",
            )


def write_table(path: Path, lives: Lives) -> None:
    lines = ["id,entry,exit,failed,group"]
    columns = zip(lives.entry, lives.exit, lives.is_failed, lives.office, strict=True)
    for number, (entry, end, failed, office) in enumerate(columns):
        lines.append(f"{number},{entry:.3f},{end:.3f},{int(failed)},office {office}")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def started(words: list[str]) -> float:
    """Give the median time of a process from start to end."""
    taken = []
    for _ in range(STARTS):
        begin = time.perf_counter()
        subprocess.run(
            [sys.executable, *words], check=True, capture_output=True, env=dict(os.environ)
        )
        taken.append(time.perf_counter() - begin)
    return statistics.median(taken)
