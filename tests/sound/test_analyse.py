"""The rooms of the sound core together: a defect is named from the samples alone."""

import numpy as np
import pytest

from tests.sound.disturbances import noise_suppressed
from tests.sound.orders.cases import MINIATURE, case
from tests.sound.orders.test_unknown import with_both_rings
from turnwell.measure import Verdict
from turnwell.sound import Expectation, Listening, analyse, recording_of
from turnwell.sound.coast.coast_down import CoastDown
from turnwell.sound.orders import Part

KNOWN = Expectation(handpiece_class="air_turbine_4_hole", bearing=MINIATURE)


def heard(samples, rate_hz: float, known: Expectation = KNOWN) -> Listening:
    return analyse(recording_of(samples, rate_hz), known)


@pytest.mark.parametrize("part", [Part.OUTER_RING, Part.INNER_RING, Part.BALL])
def test_a_damaged_part_is_named_without_knowing_the_speed(part):
    truth = case(5, part, 0.1).truth
    listening = heard(truth.samples, truth.rate_hz)
    found = listening.reading("bearing_evidence")
    assert found.verdict is Verdict.OUTSIDE
    assert listening.orders.named_part is part
    assert listening.as_dict()["condition"]["bearing"]["named_part"] == part.value


def test_a_whole_bearing_is_not_called_damaged_nor_healthy():
    truth = case(6).truth
    found = heard(truth.samples, truth.rate_hz).reading("bearing_evidence")
    assert found.verdict is Verdict.CANNOT_TELL
    assert found.why.key == "bearing.nothing"


def test_what_the_gate_takes_away_is_not_judged():
    truth = case(5, Part.OUTER_RING, 0.3).truth
    samples = noise_suppressed(truth.samples, truth.rate_hz)
    listening = heard(samples, truth.rate_hz)
    assert "noise_suppressed" in {finding.key for finding in listening.gate}
    assert listening.reading("bearing_evidence").why.key == "sound.gate.noise_suppressed"
    assert listening.as_dict()["condition"]["bearing"] is None
    assert listening.readings[0].value is not None


def test_without_a_shaft_there_are_no_orders():
    noise = 0.1 * np.random.default_rng(1).standard_normal(96_000)
    document = heard(noise, 48_000.0).as_dict()
    assert document["orders"] is None
    assert document["coast_down"] == []
    assert document["condition"] == {"bearing": None, "growth": None, "roughness": None}


def test_no_bearing_is_guessed_where_another_sound_was_in_the_way(monkeypatch):
    # Both rings damaged: without a disturbance the bearing is inferred from their lines.
    made = with_both_rings(3_000, 3, 0.1).truth
    known = Expectation(handpiece_class="air_turbine_4_hole")
    assert heard(made.samples, made.rate_hz, known).orders.inferred.balls == 7
    monkeypatch.setattr(CoastDown, "is_disturbed", True)
    assert heard(made.samples, made.rate_hz, known).orders.inferred is None
