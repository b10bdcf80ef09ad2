"""The coast-down: times, decelerations, release and rates against rotors whose drag is known.

    python -m benchmarks coast

Rotors are drawn and integrated by the tests (`tests/sound/coast/rotors.py`): turbines and motors,
any mixture of the three drags, 44.1, 48 and 96 kHz, room noise of -30 to -10 dB re line 1, the tone
as before or 20 dB down once the air is off; a third of them brake 5 % more or less about a
resonance, so that no law of three terms holds.
"""

import time
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from tests.sound.coast.listened import MOTOR, TURBINE, coast_downs_in, runs_in
from tests.sound.coast.rotors import Recorded, Rotor, random_rotor, record

from turnwell.sound.coast.coast_down import SHARES, CoastDown, coast_downs_of
from turnwell.sound.coast.passing import Estimate

SEEDS = range(1_000, 1_200)
RATES = (44_100.0, 48_000.0, 96_000.0)
AIMS = {
    "release": "10 ms",
    "time 90 to 10 %": "2 %, 90 to 98 %",
    "time to half": "90 to 98 %",
    "deceleration at 100 %": "90 to 98 %",
    "deceleration at 50 %": "3 %, 90 to 98 %",
    "deceleration at 20 %": "90 to 98 %",
}


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    yield quickness()
    yield from campaign()


def quickness() -> dict[str, str]:
    """Time that one coast-down of three seconds takes, beyond what the speed takes."""
    recorded = record(Rotor(), np.random.default_rng(1), rate_hz=96_000.0)
    runs, edge_hz = runs_in(recorded, TURBINE)
    taken = []
    for _ in range(7):
        begin = time.perf_counter()
        coast_downs_of(recorded.samples, recorded.rate_hz, runs, edge_hz=edge_hz)
        taken.append(time.perf_counter() - begin)
    return row("one coast-down of 3 s at 96 kHz", f"{1e3 * min(taken):.0f} ms", "40 ms")


def campaign() -> Iterator[dict[str, str]]:
    """Errors and coverage over seeded rotors."""
    errors: dict[str, list[tuple[float, float]]] = {name: [] for name in AIMS}
    inside, rates, heard = [], [], 0
    for seed in SEEDS:
        recorded, coast_down = coasted(seed)
        if coast_down is None:
            continue
        heard += 1
        for name, (estimate, true) in figures(recorded, coast_down).items():
            if estimate is not None and np.isfinite(true):
                off = estimate.value - true
                errors[name].append((off if name == "release" else off / true, off / estimate.sd))
        turning = coast_down.turning
        off_hz = turning.rotation_hz - recorded.at_hz(turning.time_s)
        inside.append(np.mean(np.abs(off_hz) < 1.96 * turning.sd_hz))
        if coast_down.law is not None and recorded.rotor.bump == 0.0:
            pairs = zip(recorded.rotor.drag, coast_down.law.intervals, strict=True)
            rates += [low <= true <= high for true, (low, high) in pairs]
    yield row("coast-downs heard", f"{heard} of {len(SEEDS)}", "")
    for name, found in errors.items():
        off, away = np.abs(np.array(found)).T
        unit, factor = ("ms", 1e3) if name == "release" else ("%", 1e2)
        held = 100.0 * np.mean(away < 1.96)
        yield row(
            f"{name}, {off.size} told",
            f"median {factor * np.median(off):.2f}, 95 of 100 within "
            f"{factor * np.quantile(off, 0.95):.2f}, most {factor * off.max():.2f} {unit}; "
            f"interval holds {held:.1f} %",
            AIMS[name],
        )
    yield row("track, interval of a point", f"holds {100.0 * np.mean(inside):.1f} %", "90 to 98 %")
    yield row(f"rates a, b, c, {len(rates)} told", f"holds {100.0 * np.mean(rates):.1f} %", "")


def coasted(seed: int) -> tuple[Recorded, CoastDown | None]:
    """Draw a rotor, record it, and measure its coast-down."""
    rng = np.random.default_rng(seed)
    is_motor = seed % 5 == 4
    rotor = random_rotor(rng, is_motor=is_motor)
    if seed % 3 == 2:
        rotor = replace(rotor, bump=0.05 * rng.choice([-1, 1]), bump_at=rng.uniform(0.3, 0.8))
    recorded = record(rotor, rng, rate_hz=float(rng.choice(RATES)))
    found = coast_downs_in(recorded, MOTOR if is_motor else TURBINE)
    return recorded, found[0] if found else None


def figures(recorded: Recorded, coast_down: CoastDown) -> dict[str, tuple[Estimate | None, float]]:
    """Give each figure and what is true of it."""
    rotor = recorded.rotor
    free_hz = recorded.mean_hz(0.0, rotor.release_s)
    release = Estimate(coast_down.release_s, coast_down.release_sd_s)
    whole_s = recorded.passes_s(0.1 * free_hz) - recorded.passes_s(0.9 * free_hz)
    half_s = recorded.passes_s(0.5 * free_hz) - rotor.release_s
    pairs = {
        "release": (release, rotor.release_s),
        "time 90 to 10 %": (coast_down.between, whole_s),
        "time to half": (coast_down.half, half_s),
    }
    for share, found in zip(SHARES, coast_down.decelerations, strict=True):
        true = float(rotor.deceleration(2.0 * np.pi * share * free_hz)) / (2.0 * np.pi)
        pairs[f"deceleration at {100 * share:.0f} %"] = (found, true)
    return pairs


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}
