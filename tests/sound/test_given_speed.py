"""A speed that another tachometer gave: it narrows the search, and never replaces what is heard."""

import numpy as np
import pytest

from tests.sound.truth import Handpiece, make
from turnwell.errors import InputError
from turnwell.measure import Verdict
from turnwell.sound import Expectation, Listening, analyse, recording_of


@pytest.fixture(scope="module")
def samples():
    return make(Handpiece(), np.random.default_rng(1)).samples


def heard(samples, given_rpm: float) -> Listening:
    return analyse(recording_of(samples, 48_000.0), Expectation(shaft_speed_rpm=given_rpm))


def test_the_line_near_the_given_speed_is_measured_by_itself(samples):
    found = heard(samples, 395_000.0).readings[0]
    assert found.low < 390_000.0 < found.high
    assert found.high - found.low < 100.0


@pytest.mark.parametrize("given_rpm", [300_000.0, 1_797.0])
def test_without_a_line_near_it_there_is_no_speed(samples, given_rpm):
    found = heard(samples, given_rpm).readings[0]
    assert found.verdict is Verdict.CANNOT_TELL
    assert found.why.key == "sound.no_speed.given"


@pytest.mark.parametrize("name", ["shaft_speed_rpm", "inertia_kg_m2"])
@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_a_speed_or_inertia_must_be_above_zero(name, value):
    with pytest.raises(InputError, match=f"{name} is .*must be a number > 0"):
        Expectation(**{name: value})
