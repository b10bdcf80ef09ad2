"""Bearings: what damage is found, how often a whole one is blamed, and the time it takes.

    python -m benchmarks bearings

Recordings of 7 s, steady and coasting down, come from the generator of the tests, which shares
nothing with the estimator: line 1 has 3 dB more power than the jet noise of the whole band, the
room lies 30 dB below the jet. The amplitude is the peak of an impulse over line 1's root mean
square. A part counts as found when its false alarm is at most 1 %, all places, spectra and parts
counted, and no other part says more.
"""

import time
from collections.abc import Iterator

import numpy as np
from scipy import stats
from tests.sound.defects import Defect, defective
from tests.sound.orders.cases import MINIATURE, Case, case
from tests.sound.orders.test_spectrum import spectrum_of, turned_noise

from turnwell.sound.orders import Part
from turnwell.sound.orders.evidence import judge

AMPLITUDES = (0.003, 0.01, 0.03, 0.1, 0.3)
RATES_HZ = (96_000.0, 48_000.0)
CASES, WHOLE, NOISES = 10, 200, 3_000


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    yield from times()
    yield from noise_alarms()
    yield from found()
    yield from alarms()
    yield from steady_only()
    yield from low_resonance()
    yield from unknown()


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}


def times() -> Iterator[dict[str, str]]:
    """Processor time of the order analysis of one recording."""
    made = case(1)
    taken = []
    for _ in range(6):
        begin = time.process_time()
        made.orders()
        taken.append(time.process_time() - begin)
    yield row("7 s at 96 kHz, steady and coast-down", f"{1e3 * min(taken):.0f} ms", "80 ms")


def found(rates_hz: tuple[float, ...] = RATES_HZ, cases: int = CASES) -> Iterator[dict[str, str]]:
    """Count how often a damaged part is found, and how often it is named."""
    for rate_hz in rates_hz:
        for part in Part:
            shares = []
            for amplitude in AMPLITUDES:
                hits = named = 0
                for seed in range(cases):
                    orders = case(1_000 + seed, part, amplitude, rate_hz=rate_hz).orders()
                    best = max(orders.parts, key=lambda one: one.surprise)
                    hits += best.part is part and best.stands_out
                    named += orders.named_part is part
                shares.append(f"{amplitude}: {hits}/{named}")
            yield row(
                f"{part.value}, {rate_hz / 1e3:.0f} kHz, found/named of {cases}",
                ", ".join(shares),
                "90 % at 0.1" if rate_hz > 50_000.0 and part is not Part.CAGE else "",
            )


def alarms(rates_hz: tuple[float, ...] = RATES_HZ, cases: int = WHOLE) -> Iterator[dict[str, str]]:
    """Count how often a whole bearing has lines that stand out, or is named."""
    for rate_hz in rates_hz:
        least, named = [], 0
        for seed in range(cases):
            orders = case(5_000 + seed, rate_hz=rate_hz).orders()
            least.append(min(one.false_alarm for one in orders.parts if one.is_reached))
            named += orders.named_part is not None
        for chance in (0.01, 0.001):
            count = sum(value <= chance for value in least)
            yield row(
                f"false alarms at {100 * chance:g} %, {rate_hz / 1e3:.0f} kHz",
                bounded(count, cases),
                f"{100 * chance:g} %",
            )
        yield row(f"whole bearing named, {rate_hz / 1e3:.0f} kHz", bounded(named, cases), "0")


def noise_alarms() -> Iterator[dict[str, str]]:
    """Count alarms for noise already in angle, of which many more can be had."""
    rng = np.random.default_rng(9)
    least = []
    for _ in range(NOISES):
        parts = judge((spectrum_of(turned_noise(600, rng)),), MINIATURE)
        least.append(min(one.false_alarm for one in parts if one.is_reached))
    for chance in (0.1, 0.01, 0.001):
        count = sum(value <= chance for value in least)
        yield row(
            f"false alarms at {100 * chance:g} %, noise in angle",
            bounded(count, NOISES),
            f"{100 * chance:g} %",
        )


def bounded(count: int, cases: int) -> str:
    """Write a share with its 95 % bounds (Clopper and Pearson)."""
    low, high = stats.binomtest(count, cases).proportion_ci()
    return f"{count} of {cases}: {100 * count / cases:.2f} % ({100 * low:.2f} to {100 * high:.2f})"


def steady_only() -> Iterator[dict[str, str]]:
    """Count what is found without a coast-down."""
    for part in (Part.OUTER_RING, Part.INNER_RING, Part.BALL):
        shares = []
        for amplitude in (0.03, 0.1, 0.3):
            hits = 0
            for seed in range(6):
                orders = case(2_000 + seed, part, amplitude, coasts=False).orders()
                best = max(orders.parts, key=lambda one: one.surprise)
                hits += best.part is part and best.stands_out
            shares.append(f"{amplitude}: {hits}")
        yield row(f"{part.value}, 96 kHz, no coast-down, of 6", ", ".join(shares), "")


def low_resonance() -> Iterator[dict[str, str]]:
    """Count what is found at 48 kHz when what rings lies inside its band."""
    for part in Part:
        shares = []
        for amplitude in (0.03, 0.1, 0.3):
            hits = 0
            for seed in range(6):
                made = case(4_000 + seed, part, amplitude, rate_hz=48_000.0, resonance_hz=14_000.0)
                best = max(made.orders().parts, key=lambda one: one.surprise)
                hits += best.part is part and best.stands_out
            shares.append(f"{amplitude}: {hits}")
        yield row(f"{part.value}, 48 kHz, resonance at 14 kHz, of 6", ", ".join(shares), "")


def unknown() -> Iterator[dict[str, str]]:
    """Geometry inferred from both rings, and from whole bearings."""
    right = wrong = silent = false = 0
    for seed in range(12):
        made = case(3_000 + seed)
        rng = np.random.default_rng(seed)
        truth = defective(made.truth, Defect(2.7651, 0.03), rng)
        truth = defective(truth, Defect(4.2349, 0.03, 1.0), rng)
        inferred = Case(truth, made.stretches).orders(bearing=None).inferred
        is_right = inferred is not None and inferred.balls == 7
        is_right = is_right and abs(inferred.ratio.value - MINIATURE.ratio) < 0.002
        right += is_right
        silent += inferred is None
        wrong += inferred is not None and not is_right
        false += made.orders(bearing=None).inferred is not None
    yield row(
        "balls and ratio inferred, both rings at 0.03",
        f"{right} right, {wrong} wrong, {silent} refused of 12",
        "",
    )
    yield row("balls inferred of a whole bearing", f"{false} of 12", "0")
