"""Trends of a sterilizer by simulation: false alarms, power, dates, sizes, step or drift, time.

    python -m benchmarks steam_trend

Each line holds what was measured and what was aimed at.
"""

import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.random import Generator, default_rng
from numpy.typing import NDArray

from turnwell.steam.months import ChangeKind, Trend, trend_of

Make = Callable[[Generator, int], NDArray[np.float64]]
START = datetime(2026, 1, 5, tzinfo=UTC)


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    yield from false_alarms()
    yield from steps()
    yield from drifts()
    yield there_and_back()
    yield promised()
    yield from cost()


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}


def trend(values: NDArray[np.float64]) -> Trend:
    moments = [START + timedelta(days=day) for day in range(values.size)]
    return trend_of("drying_lowest_pressure_kpa", "kPa", moments, values)


def false_alarms() -> Iterator[dict[str, str]]:
    """Shares of series without a change that show one."""
    noises: dict[str, Make] = {
        "normal": lambda random, count: random.standard_normal(count),
        "t(2)": lambda random, count: random.standard_t(2, count),
        "one in ten ten times as wide": _contaminated,
        "rounded to 1 sd": lambda random, count: np.round(random.standard_normal(count)),
        "correlation 0.3": lambda random, count: _remembering(random, count, 0.3),
        "correlation 0.6": lambda random, count: _remembering(random, count, 0.6),
    }
    random = default_rng(1)
    for name, make in noises.items():
        shares = []
        for count in (12, 20, 50, 200):
            found = [bool(trend(make(random, count)).changes) for _ in range(500)]
            shares.append(f"{100.0 * np.mean(found):.1f}")
        measured = f"{', '.join(shares)} % at 12, 20, 50, 200 records"
        yield row(f"false alarms, {name}", measured, "5 %")


def steps() -> Iterator[dict[str, str]]:
    """Power, and how often range of the date and interval of the size hold the truth."""
    random = default_rng(2)
    for size, count, at in ((1.5, 40, 20), (3.0, 40, 20), (1.5, 200, 190), (3.0, 200, 190)):
        seen = dated = sized = named = 0
        runs = 300
        for _ in range(runs):
            changes = trend(_stepped(random, count, at, size)).changes
            seen += bool(changes)
            if len(changes) != 1:
                continue
            (change,) = changes
            named += 1
            dated += (change.earliest - START).days < at <= (change.latest - START).days
            sized += change.shift.low <= size <= change.shift.high
        measured = (
            f"seen {seen / runs:.0%}, date held {dated / named:.0%}, size held {sized / named:.0%}"
        )
        yield row(f"step of {size:g} sd at {at} of {count}", measured, "date and size 95 %")


def drifts() -> Iterator[dict[str, str]]:
    """Count what slow drifts are called."""
    random = default_rng(3)
    for count, whole in ((60, 2.0), (60, 4.0), (200, 2.0)):
        kinds = []
        for _ in range(300):
            values = random.standard_normal(count) + whole * np.arange(count) / count
            changes = trend(values).changes
            kinds.append(changes[0].kind if changes else None)
        shares = ", ".join(
            f"{'none' if kind is None else kind.value} {kinds.count(kind) / len(kinds):.0%}"
            for kind in (*ChangeKind, None)
        )
        yield row(f"drift of {whole:g} sd over {count}", shares, "no step")


def there_and_back() -> dict[str, str]:
    """Count series that go up and come back with both steps within five records."""
    random = default_rng(4)
    right = 0
    for _ in range(100):
        values = _stepped(random, 260, 100, 2.0) - 2.0 * (np.arange(260) >= 160)
        at = [(change.likeliest - START).days for change in trend(values).changes]
        right += any(abs(day - 100) <= 5 for day in at) and any(abs(day - 160) <= 5 for day in at)
    return row("up by 2 sd and back, 60 of 260", f"both in {right} %", "as many as can be")


def promised() -> dict[str, str]:
    """How often a change is seen that is said to be seen four times in five."""
    random = default_rng(5)
    sizes = [trend(random.standard_normal(60)).seen_from for _ in range(50)]
    size = float(np.mean([size for size in sizes if size is not None]))
    seen = np.mean([bool(trend(_stepped(random, 60, 30, size)).changes) for _ in range(400)])
    return row("change said to be seen", f"{seen:.0%}", "80 %")


def cost() -> Iterator[dict[str, str]]:
    """Time of a trend over a year of records."""
    random = default_rng(6)
    for name, size in (("without a change", 0.0), ("with a step", 3.0)):
        values = _stepped(random, 3000, 1500, size)
        began = time.perf_counter()
        trend(values)
        took_ms = 1e3 * (time.perf_counter() - began)
        yield row(f"3,000 records {name}", f"{took_ms:.0f} ms", "100 ms")


def _stepped(random: Generator, count: int, at: int, size: float) -> NDArray[np.float64]:
    return random.standard_normal(count) + size * (np.arange(count) >= at)


def _contaminated(random: Generator, count: int) -> NDArray[np.float64]:
    noise = random.standard_normal(count)
    return np.where(random.random(count) < 0.1, 10.0 * noise, noise)


def _remembering(random: Generator, count: int, share: float) -> NDArray[np.float64]:
    noise = random.standard_normal(count + 50)
    for at in range(1, noise.size):
        noise[at] += share * noise[at - 1]
    return noise[50:]
