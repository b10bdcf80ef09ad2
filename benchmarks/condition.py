"""Condition: growth of the rotation line, roughness, and what a comparison shows.

    python -m benchmarks condition

Recordings come from the generators of the tests, which share nothing with the estimator; the angle
of the shaft is handed over as it truly is. Each line holds what was measured and what was aimed at.
"""

import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from tests.sound.condition.sounds import (
    coasting,
    echoed,
    resonating,
    rough,
    structured,
    turning_of,
)
from tests.sound.truth import make

from turnwell.sound.condition.change import difference, verdict_on_change
from turnwell.sound.condition.growth import GrowthKind, growth_of
from turnwell.sound.condition.judging import condition_of
from turnwell.sound.condition.roughness import roughness_of

RATE_HZ = 48_000.0
QUIET = ((0.0, 0.55), (4.6, 5.0))


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    yield from times()
    yield from exponents()
    yield from resonances()
    yield from roughnesses()
    yield from changes()


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}


def drawn(rng, **changed):
    """Draw a handpiece that coasts in a room of some noise."""
    usual = {
        "steady_hz": rng.uniform(5_000, 7_400),
        "drag": (rng.uniform(3e3, 8e3), rng.uniform(0.2, 0.6), rng.uniform(3e-6, 1e-5)),
        "room_db": rng.uniform(-45.0, -20.0),
        "line_to_noise_db": rng.uniform(12.0, 25.0),
        "tone_drop_db": -rng.uniform(0.0, 10.0),
    }
    return coasting(**(usual | changed))


def grown(truth):
    return growth_of(truth.samples, RATE_HZ, (turning_of(truth),), edge_hz=24_000.0)


def roughened(made):
    return roughness_of(
        made.truth.samples,
        RATE_HZ,
        (turning_of(made.truth),),
        free_hz=made.truth.handpiece.steady_hz,
        quiet=QUIET,
        edge_hz=24_000.0,
    )


def times() -> Iterator[dict[str, str]]:
    """Time of the whole room for 10 s at 96 kHz."""
    handpiece = coasting(release_s=6.5, exponent=2.0)
    truth = make(handpiece, np.random.default_rng(1), rate_hz=96_000.0, duration_s=10.0)
    turning = turning_of(truth)
    taken = []
    for _ in range(12):
        begin = time.perf_counter()
        condition_of(
            truth.samples,
            96_000.0,
            steady=(),
            coast_downs=(turning,),
            quiet=((0.0, 0.55), (9.5, 10.0)),
            edge_hz=48_000.0,
        )
        taken.append(time.perf_counter() - begin)
    yield row("10 s at 96 kHz", f"{1e3 * min(taken):.0f} ms", "20 ms")


def exponents() -> Iterator[dict[str, str]]:
    """Bias and coverage of the exponent, and kinds that are wrong."""
    whole = []
    for strength in (0.03, 0.1, 0.2, 0.4):
        rng = np.random.default_rng(2)

        def through_modes(truth, rng=rng, strength=strength):
            return structured(truth, rng, strength=strength, room=10 ** rng.uniform(-4.5, -3))

        found = Grown.of(rng, through_modes, 70)
        whole += found.held
        yield from found.rows(f"exponent, modes up to {strength:g}")
    share = 100.0 * np.mean(whole)
    yield row(f"exponent, all {len(whole)} with modes", f"holds {share:.1f} %", "90 to 98 %")
    rng = np.random.default_rng(3)
    yield from Grown.of(rng, lambda truth: truth, 60).rows("exponent, no structure")
    echoing = Grown.of(rng, lambda truth: echoed(truth, rng, strength=0.1), 60)
    yield from echoing.rows("exponent, echoes of 0.1")


@dataclass
class Grown:
    """What was found on a number of coast-downs of known exponent."""

    errors: list[float]
    held: list[bool]
    halves: list[float]
    kinds: Counter
    seeds: int

    @classmethod
    def of(cls, rng, heard_through, seeds):
        """Make and judge coast-downs, each heard through something."""
        grown_so_far = cls([], [], [], Counter(), seeds)
        for _ in range(seeds):
            exponent = rng.uniform(1.7, 3.1)
            truth = make(drawn(rng, exponent=exponent), rng, duration_s=4.0)
            growth = grown(heard_through(truth))
            grown_so_far.kinds[growth.kind] += 1
            if growth.exponent is not None:
                found = growth.exponent
                grown_so_far.errors.append(found.value - exponent)
                grown_so_far.held.append(found.low <= exponent <= found.high)
                grown_so_far.halves.append(0.5 * (found.high - found.low))
        return grown_so_far

    def rows(self, name: str) -> Iterator[dict[str, str]]:
        """Yield two lines: the exponent, and the kind."""
        yield row(
            f"{name}, {len(self.held)} of {self.seeds} told",
            f"bias {np.mean(self.errors):+.3f}, rms {np.std(self.errors):.3f}, "
            f"± {np.median(self.halves):.3f}, holds {100 * np.mean(self.held):.0f} %",
            "90 to 98 %",
        )
        wrong = self.kinds[GrowthKind.RESONANCE] + self.kinds[GrowthKind.NEITHER]
        unsure = self.kinds[GrowthKind.CANNOT_TELL]
        yield row(
            f"{name}, kind", f"wrong {wrong}, cannot tell {unsure} of {self.seeds}", "5 % wrong"
        )


def resonances() -> Iterator[dict[str, str]]:
    """How often a resonance is named, and how well its frequency is known."""
    for low, high in ((3.0, 6.0), (6.0, 15.0), (15.0, 40.0)):
        rng = np.random.default_rng(3)
        errors, held, seeds = [], [], 40
        for _ in range(seeds):
            truth = make(drawn(rng, exponent=2.0), rng, duration_s=4.0)
            resonance_hz = truth.handpiece.steady_hz * rng.uniform(0.3, 0.7)
            sharpness = rng.uniform(low, high)
            growth = grown(resonating(truth, rng, resonance_hz=resonance_hz, sharpness=sharpness))
            if growth.resonance_hz is not None:
                found = growth.resonance_hz
                errors.append(100.0 * (found.value / resonance_hz - 1.0))
                held.append(found.low <= resonance_hz <= found.high)
        yield row(
            f"resonance, Q {low:.0f} to {high:.0f}",
            f"named in {len(held)} of {seeds}, {np.sqrt(np.mean(np.square(errors))):.2f} % rms, "
            f"holds {100 * np.mean(held):.0f} %",
            "95 % named",
        )


def roughnesses() -> Iterator[dict[str, str]]:
    """Bias and coverage of the roughness, and how near the room it is still told."""
    rng = np.random.default_rng(4)
    errors, held, halves, seeds = [], [], [], 250
    for _ in range(seeds):
        made = rough(
            drawn(rng, exponent=rng.uniform(1.0, 2.5)),
            rng,
            over_line_db=rng.uniform(-22.0, -3.0),
            power=rng.uniform(0.5, 2.0),
        )
        level = roughened(made).level_db
        if level is not None:
            errors.append(level.value - made.level_db)
            held.append(level.low <= made.level_db <= level.high)
            halves.append(0.5 * (level.high - level.low))
    yield row(
        f"roughness, {len(held)} of {seeds} told",
        f"bias {np.mean(errors):+.3f} dB, rms {np.std(errors):.2f}, ± {np.median(halves):.2f}, "
        f"holds {100 * np.mean(held):.1f} %",
        "90 to 98 %",
    )


def changes() -> Iterator[dict[str, str]]:
    """How often a change of roughness is shown where there is none, and where there is one."""
    for change_db in (0.0, 0.5, 1.0, 2.0):
        rng = np.random.default_rng(5)
        shown = told = 0
        for _ in range(200 if change_db == 0.0 else 40):
            handpiece = drawn(rng, exponent=1.5, room_db=-40.0)
            over_line_db = rng.uniform(-18.0, -6.0)
            pair = [
                roughened(rough(handpiece, rng, over_line_db=over_line_db + more)).level_db
                for more in (0.0, change_db)
            ]
            if None not in pair:
                told += 1
                shown += verdict_on_change(difference(*pair)).value in {"rose", "fell"}
        aim = "5 % at most" if change_db == 0.0 else "for reading"
        yield row(f"roughness {change_db:+.1f} dB, shown", f"{100 * shown / told:.1f} %", aim)
    yield from growth_changes()


def growth_changes() -> Iterator[dict[str, str]]:
    """How often a change of the exponent is shown."""
    for change in (0.0, 0.1, 0.3):
        rng = np.random.default_rng(6)
        shown = told = 0
        for _ in range(100 if change == 0.0 else 30):
            exponent = rng.uniform(1.8, 2.8)
            pair = []
            for more in (0.0, change):
                truth = make(drawn(rng, exponent=exponent + more), rng, duration_s=4.0)
                pair.append(grown(truth).exponent)
            if None not in pair:
                told += 1
                shown += verdict_on_change(difference(*pair)).value in {"rose", "fell"}
        aim = "5 % at most" if change == 0.0 else "for reading"
        yield row(f"exponent {change:+.1f}, shown", f"{100 * shown / told:.1f} %", aim)
