"""The whole way: the speed is found in the recording itself, and the bearing judged along it."""

import pytest

from tests.sound.orders.cases import MINIATURE, case
from turnwell.measure import Verdict
from turnwell.sound import Expectation, analyse, recording_of
from turnwell.sound.orders import Part

TURBINE = Expectation(handpiece_class="air_turbine_4_hole", bearing=MINIATURE)


@pytest.mark.parametrize(
    ("part", "rate_hz"), [(Part.OUTER_RING, 48_000.0), (Part.INNER_RING, 96_000.0)]
)
def test_a_damaged_part_is_named_along_the_speed_that_is_heard(part, rate_hz):
    truth = case(71, part, 0.1, rate_hz=rate_hz).truth
    listening = analyse(recording_of(truth.samples, rate_hz), TURBINE)
    assert listening.orders is not None
    assert listening.orders.named_part is part
    reading = listening.reading("bearing_evidence")
    assert reading is not None
    assert reading.verdict is Verdict.OUTSIDE


def test_a_whole_bearing_is_not_blamed():
    truth = case(72, rate_hz=96_000.0).truth
    listening = analyse(recording_of(truth.samples, 96_000.0), TURBINE)
    reading = listening.reading("bearing_evidence")
    assert reading is not None
    assert reading.verdict is Verdict.CANNOT_TELL
