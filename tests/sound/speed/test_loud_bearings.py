"""A damaged bearing louder than the rotor leads neither the coast-down nor the release astray."""

import numpy as np
import pytest

from tests.sound.defects import Defect, defective
from tests.sound.orders.cases import MINIATURE, order_of
from tests.sound.truth import Handpiece, make
from turnwell.sound import Expectation, analyse, recording_of
from turnwell.sound.orders import Part

KNOWN = Expectation(handpiece_class="air_turbine_4_hole", bearing=MINIATURE)


@pytest.mark.parametrize("amplitude", [1.0, 2.0, 3.0])
def test_the_rotor_is_followed_not_the_line_of_the_ring(amplitude):
    rng = np.random.default_rng(7)
    handpiece = Handpiece(
        steady_hz=6_630.0, exponent=2.0, release_s=3.5, room_db=-60.0, line_to_noise_db=25.0
    )
    truth = make(handpiece, rng, rate_hz=48_000.0, duration_s=7.0)
    order = order_of(Part.OUTER_RING, 1.0 / 4.7625)
    ring = Defect(order=order, amplitude=amplitude, resonance_hz=9_000.0, jitter=0.0, exponent=1.0)
    listening = analyse(recording_of(defective(truth, ring, rng).samples, 48_000.0), KNOWN)
    steady = next(part for part in listening.segments if part.kind == "steady")
    assert steady.stop_s == pytest.approx(3.5, abs=0.02)
    assert listening.orders.named_part is Part.OUTER_RING
    (coast_down,) = listening.coast_downs
    true_hz = truth.at_hz(coast_down.turning.time_s)
    assert np.median(np.abs(coast_down.rotation_hz / true_hz - 1.0)) < 1e-3


@pytest.mark.parametrize("known", [None, "electric_motor"])
@pytest.mark.parametrize("amplitude", [0.3, 0.6, 1.5])
def test_a_motor_is_not_called_by_the_line_of_its_ring(known, amplitude):
    rng = np.random.default_rng(8)
    handpiece = Handpiece(
        steady_hz=333.3, amplitudes=(1.0, 0.35, 0.15), drag=(300.0, 0.4, 0.0), exponent=2.0,
        release_s=4.0, room_db=-50.0, line_to_noise_db=40.0, wander=0.0005,
    )  # fmt: skip
    truth = make(handpiece, rng, rate_hz=48_000.0, duration_s=7.0)
    order = order_of(Part.OUTER_RING, 1.0 / 4.7625)
    ring = Defect(order=order, amplitude=amplitude, resonance_hz=9_000.0, jitter=0.0, exponent=1.0)
    samples = defective(truth, ring, rng).samples
    listening = analyse(recording_of(samples, 48_000.0), Expectation(handpiece_class=known))
    assert listening.readings[0].value == pytest.approx(60.0 * 333.3, rel=3e-3)
