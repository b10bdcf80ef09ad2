"""The reading of the bearing and the values for JSON."""

import json

import numpy as np
import pytest

from tests.sound.orders.cases import case
from turnwell.measure import Verdict
from turnwell.sound.gate.findings import GateFinding
from turnwell.sound.orders import Part, bearing_reading
from turnwell.words import Message, text_of


@pytest.fixture(scope="module")
def damaged():
    return case(51, Part.INNER_RING, 0.1).orders()


@pytest.fixture(scope="module")
def whole():
    return case(52).orders()


def test_a_named_part_lies_outside_the_limit_of_the_recording(damaged):
    reading = bearing_reading(damaged)
    assert reading.key == "bearing_evidence"
    assert reading.verdict is Verdict.OUTSIDE
    assert reading.unit == "dB"
    assert reading.limit is not None
    assert reading.limit.source.startswith("what the noise of this recording")
    assert reading.limit.high < reading.low < reading.value < reading.high
    assert "inner ring" in text_of(reading.why)
    # The sound itself, not an envelope, shows it in the quick part of the coast-down.
    assert "not damaged may sound" in text_of(reading.why)


def test_a_whole_bearing_is_no_proof_of_health(whole):
    reading = bearing_reading(whole)
    assert reading.verdict is Verdict.CANNOT_TELL
    assert "would have been seen" in text_of(reading.why)


@pytest.mark.parametrize(
    ("orders", "sentence"), [(None, "run steadily"), ("no bearing", "geometry is not given")]
)
def test_what_is_missing_is_said(orders, sentence):
    given = case(53).orders(bearing=None) if orders else None
    reading = bearing_reading(given)
    assert reading.verdict is Verdict.CANNOT_TELL
    assert sentence in text_of(reading.why)


def test_suppressed_noise_takes_the_verdict_away_and_a_codec_edge_does_not(damaged):
    empty = GateFinding(
        "noise_suppressed", Message("sound.gate.noise_suppressed"), ("condition", "level")
    )
    edge = GateFinding(
        "codec_edge", Message("sound.gate.codec_edge", {"edge_khz": 15.0}), ("condition",)
    )
    assert bearing_reading(damaged, (empty,)).verdict is Verdict.CANNOT_TELL
    assert bearing_reading(damaged, (edge,)).verdict is Verdict.OUTSIDE


def test_spectra_and_lines_become_json(damaged):
    document = json.loads(json.dumps(damaged.as_dict(factor=0.5), allow_nan=False))
    kinds = {(row["stretch"], row["kind"]) for row in document["spectra"]}
    assert {("steady", "direct"), ("coast-down", "direct"), ("coast-down", "envelope")} <= kinds
    assert all(0 < len(row["level_db"]) <= 1_200 for row in document["spectra"])
    steady = document["spectra"][0]
    assert steady["speed_high_rpm"] == pytest.approx(30.0 * damaged.spectra[0].speed_high_hz)
    assert len(document["lines"]) == 15
    inner = next(row for row in document["lines"] if row["part"] == "inner_ring")
    assert inner["stands_out"] is True
    assert inner["low_order"] < inner["found_order"] < inner["high_order"]
    assert document["bearing"] == {
        "balls": 7,
        "ball_mm": pytest.approx(1.0),
        "pitch_mm": pytest.approx(4.7625),
        "contact_deg": 0.0,
    }
    # A line keeps its height though bins are joined.
    at = round((inner["found_order"] - steady["first_order"]) / steady["order_step"])
    power = damaged.spectra[0].power
    bins = round(inner["found_order"] / damaged.spectra[0].order_step)
    highest_db = 10.0 * np.log10(power[bins - 4 : bins + 5].max())
    assert max(steady["level_db"][at - 3 : at + 4]) == pytest.approx(highest_db, abs=0.01)


def test_the_evidence_becomes_json(damaged, whole):
    evidence = json.loads(json.dumps(damaged.evidence_as_dict(), allow_nan=False))
    assert evidence["named_part"] == "inner_ring"
    verdicts = {row["part"]: row["verdict"] for row in evidence["parts"]}
    assert verdicts["inner_ring"] == "stands out"
    assert verdicts["outer_ring"] == "does not stand out"
    assert whole.evidence_as_dict()["named_part"] is None


def test_rotation_lines_are_listed_where_they_are(damaged):
    rotation = [line for line in damaged.lines if line.part == "rotation"]
    assert [round(line.line.order) for line in rotation] == [1, 2, 3]
    assert rotation[0].line.level_db > 40.0
