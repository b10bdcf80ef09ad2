"""The condition of one recording as a whole."""

import json

import numpy as np
import pytest

from tests.sound.condition.sounds import coasting, rough, turning_of
from turnwell.sound import Expectation, analyse, recording_of
from turnwell.sound.condition.judging import Condition, condition_of
from turnwell.sound.segment import SegmentKind
from turnwell.sound.speed.turning import Turning
from turnwell.words import Message, languages, text_of

QUIET = ((0.0, 0.55), (4.6, 5.0))


def judged(*, steady=True, baseline=None):
    made = rough(coasting(exponent=2.0), np.random.default_rng(1), over_line_db=-15.0)
    running = Turning(SegmentKind.STEADY, np.array([0.9, 1.4]), np.full(2, 6_500.0), np.ones(2))
    return condition_of(
        made.truth.samples,
        48_000.0,
        steady=(running,) if steady else (),
        coast_downs=(turning_of(made.truth),),
        quiet=QUIET,
        edge_hz=24_000.0,
        baseline_roughness_db=baseline,
    )


def test_both_are_told_as_readings_and_as_json():
    condition = judged(baseline=(-14.0, -14.5, -13.5))
    assert [reading.key for reading in condition.readings] == ["roughness", "rotation_line_growth"]
    assert condition.readings[0].limit.low is None
    told = json.loads(json.dumps(condition.as_dict(), allow_nan=False))
    assert told["growth"]["kind"] == "unbalance"
    assert set(told["growth"]) == {
        "speed_rpm",
        "level_db",
        "exponent",
        "resonance_hz",
        "kind",
        "why",
    }
    assert len(told["growth"]["speed_rpm"]) == len(told["growth"]["level_db"]) <= 400
    assert told["roughness"]["level_db"]["low"] < told["roughness"]["level_db"]["high"]


def test_without_a_coast_down_nothing_is_told():
    condition = condition_of(
        np.zeros(48_000, np.float32),
        48_000.0,
        steady=(),
        coast_downs=(),
        quiet=(),
        edge_hz=24_000.0,
    )
    assert condition.readings == Condition().readings == ()
    assert condition.as_dict() == {"growth": None, "roughness": None}


def test_a_whole_listening_tells_both():
    made = rough(coasting(exponent=2.0), np.random.default_rng(3), over_line_db=-14.0)
    turbine = Expectation(handpiece_class="air_turbine_4_hole")
    listening = analyse(recording_of(made.truth.samples, 48_000.0), turbine)
    roughness, growth = (listening.reading(key) for key in ("roughness", "rotation_line_growth"))
    assert roughness.value == pytest.approx(made.level_db, abs=0.5)
    assert growth.low <= 2.0 <= growth.high


def test_silence_is_refused_in_words():
    turning = Turning(
        SegmentKind.COAST_DOWN,
        np.linspace(1.0, 3.0, 200),
        np.linspace(6_500.0, 500.0, 200),
        np.ones(200),
    )
    condition = condition_of(
        np.zeros(240_000, np.float32),
        48_000.0,
        steady=(),
        coast_downs=(turning,),
        quiet=((4.0, 5.0),),
        edge_hz=24_000.0,
    )
    assert [reading.value for reading in condition.readings] == [None, None]
    assert condition.roughness.why.key == "condition.roughness.room"
    assert condition.growth.why.key == "condition.growth.short"


def test_without_a_steady_stretch_the_fastest_point_serves():
    with_it, without = judged(), judged(steady=False)
    near = abs(with_it.roughness.level_db.value - without.roughness.level_db.value)
    assert near < 0.3


def test_no_balance_grade_is_ever_named():
    for language in languages():
        for key in ("unbalance", "flat", "steep", "wide", "ripple"):
            params = dict.fromkeys(("exponent", "low", "high", "ripple_db"), 2.0)
            sentence = text_of(Message(f"condition.growth.{key}", params), language)
            assert "grade" not in sentence.lower()
            assert "G " not in sentence
