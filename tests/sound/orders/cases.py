"""Recordings of invented turbines with a bearing of known geometry, whole or damaged."""

from dataclasses import dataclass
from math import log10

import numpy as np
from numpy.random import Generator

from tests.sound.defects import Defect, defective
from tests.sound.truth import Handpiece, Truth, make
from turnwell.sound.orders import Bearing, Orders, Part, orders_of
from turnwell.sound.segment import SegmentKind
from turnwell.sound.speed.turning import Turning

__all__ = ["MINIATURE", "Case", "case", "order_of", "turnings"]

# 1/8 by 1/4 inch with seven balls of 1 mm.
MINIATURE = Bearing(balls=7, ball_m=1e-3, pitch_m=4.7625e-3)
_RELEASE_S, _LENGTH_S = 4.0, 7.0


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """A recording and the angle of its shaft as it is known to the estimator."""

    truth: Truth
    stretches: tuple[Turning, ...]

    def orders(self, bearing: Bearing | None = MINIATURE) -> Orders | None:
        """Analyse the recording."""
        rate_hz = self.truth.rate_hz
        return orders_of(
            self.truth.samples, rate_hz, self.stretches, edge_hz=0.45 * rate_hz, bearing=bearing
        )


def order_of(part: Part, ratio: float, *, balls: int = 7, share: float = 1.0 / 4.7625) -> float:
    """Give the order of a part's impulses; written apart from the estimator's own formulas."""
    cage = 0.5 - 0.5 * ratio
    return {
        Part.CAGE: cage,
        Part.OUTER_RING: balls * cage,
        Part.INNER_RING: balls - balls * cage,
        Part.BALL: (1.0 + ratio) * (1.0 - ratio) / share,
    }[part]


def case(
    seed: int,
    part: Part | None = None,
    amplitude: float = 0.0,
    *,
    rate_hz: float = 96_000.0,
    coasts: bool = True,
    resonance_hz: float = 28_800.0,
) -> Case:
    """Make 7 s of a turbine: steady, then coasting down in a room.

    Line 1 has 3 dB more power than the jet noise of the whole band; the room lies 30 dB below the
    jet. The true d/D deviates by up to 0.5 % from the nominal one.
    """
    rng = np.random.default_rng(seed)
    handpiece = Handpiece(
        steady_hz=rng.uniform(5_000.0, 7_400.0),
        release_s=_RELEASE_S,
        line_to_noise_db=3.0 + 10.0 * log10(rate_hz / 2.0 / 128.0),
        room_db=-30.0,
        drift=0.002,
        wander=2e-4,
        drag=(rng.uniform(3e3, 8e3), rng.uniform(0.2, 0.6), rng.uniform(3e-6, 1e-5)),
    )
    truth = make(handpiece, rng, rate_hz=rate_hz, duration_s=_LENGTH_S)
    if part is not None:
        ratio = MINIATURE.ratio * (1.0 + rng.uniform(-0.005, 0.005))
        cage = order_of(Part.CAGE, ratio)
        modulation = {Part.INNER_RING: 1.0, Part.BALL: cage}.get(part, 0.0)
        defect = Defect(
            order_of(part, ratio),
            amplitude,
            modulation,
            is_rub=part is Part.CAGE,
            resonance_hz=resonance_hz,
        )
        truth = defective(truth, defect, rng)
    stretches = turnings(truth, rng)
    return Case(truth, stretches if coasts else stretches[:1])


def turnings(truth: Truth, rng: Generator, *, relative_sd: float = 5e-4) -> tuple[Turning, ...]:
    """Give the true speed with some noise: steady each 16 ms, coasting down each 8 ms."""
    steady_hz, release_s = truth.handpiece.steady_hz, truth.handpiece.release_s
    end_s = truth.samples.size / truth.rate_hz - 0.02
    stretches = []
    for kind, first_s, last_s, step_s in (
        (SegmentKind.STEADY, 1.2, release_s - 0.03, 0.016),
        (SegmentKind.COAST_DOWN, release_s + 0.025, end_s, 0.008),
    ):
        time_s = np.arange(first_s, last_s, step_s)
        speed_hz = truth.at_hz(time_s)
        kept = speed_hz > 0.05 * steady_hz
        time_s, speed_hz = time_s[kept], speed_hz[kept]
        heard_hz = speed_hz * (1.0 + relative_sd * rng.standard_normal(time_s.size))
        stretches.append(Turning(kind, time_s, heard_hz, relative_sd * speed_hz))
    return tuple(stretches)
