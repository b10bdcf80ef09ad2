"""Before against after: changes that are there, changes that are not, and what is refused."""

import json
from math import sqrt
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from tests.sound.condition.sounds import coasting
from tests.sound.truth import gain_ridden, make
from turnwell.errors import InputError
from turnwell.sound import Expectation, analyse, recording_of
from turnwell.sound.condition.change import (
    ChangeVerdict,
    difference,
    speed_difference,
    verdict_on_change,
)
from turnwell.sound.condition.comparison import compare, compare_documents
from turnwell.sound.quantity import Quantity

SCHEMA = Path(__file__).resolve().parents[3] / "docs" / "schema-listen-comparison.json"
TURBINE = Expectation(handpiece_class="air_turbine_4_hole")


def listened(seed, *, expectation=TURBINE, ridden=False, **changed):
    truth = make(coasting(**changed), np.random.default_rng(seed), duration_s=5.0)
    samples = gain_ridden(truth.samples, 48_000.0) if ridden else truth.samples
    return analyse(recording_of(samples, 48_000.0), expectation)


@pytest.fixture(scope="module")
def before():
    return listened(1, steady_hz=6_000.0)


@pytest.fixture(scope="module")
def after():
    return listened(2, steady_hz=6_300.0, drag=(4_000.0, 0.4, 1e-5))


def row(key, value, low, high, unit, **changed):
    told = {
        "key": key,
        "name": key,
        "value": value,
        "low": low,
        "high": high,
        "level": 0.95,
        "interval": "confidence",
        "unit": unit,
        "limit": None,
        "verdict": "no limit",
        "why": "A reason.",
    }
    return told | changed


def document(number, *rows, gate=(), condition=None, **recording):
    facts = {
        "rate_hz": 48_000.0,
        "duration_s": 5.0,
        "channels": 1,
        "codec": "pcm_s16le",
        "sha256": f"{number:064x}",
    }
    return {
        "schema": "turnwell.listen/2",
        "recording": facts | recording,
        "readings": list(rows),
        "gate": list(gate),
        "condition": condition,
    }


def test_what_was_changed_is_shown(before, after):
    comparison = compare(before, after)
    speed = comparison.change("free_running_speed")
    assert speed.verdict == ChangeVerdict.ROSE
    assert speed.change.value == pytest.approx(60.0 * 300.0, rel=1e-3)
    assert comparison.change("coast_down_time").verdict == ChangeVerdict.ROSE
    assert str(comparison).startswith("Free-running speed rose by +1")


def test_forth_and_back_are_opposite(before, after):
    forth, back = compare(before, after), compare(after, before)
    for change in forth.changes:
        other = back.change(change.key)
        if change.change is None:
            assert other.change is None
            continue
        assert change.change.low == pytest.approx(-other.change.high, abs=1e-9)
        assert {change.verdict, other.verdict} in (
            {ChangeVerdict.ROSE, ChangeVerdict.FELL},
            {ChangeVerdict.NOT_SHOWN},
        )


def test_two_recordings_of_the_same_show_no_change_of_speed():
    comparison = compare(listened(3), listened(4))
    assert comparison.change("free_running_speed").verdict == ChangeVerdict.NOT_SHOWN


def test_the_document_follows_its_schema(before, after):
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    parts = {"bearing": {"parts": [{"part": "cage", "verdict": "out of reach"}]}}
    told = row("roughness", -20.0, -20.5, -19.6, "dB")
    untold = row("roughness", None, None, None, "dB", verdict="cannot tell")
    for comparison in (
        compare(before, after),
        compare_documents(document(1, told, condition=parts), document(2, told, condition=parts)),
        compare_documents(document(1, told), document(2, untold)),
    ):
        text = json.dumps(comparison.as_dict(), allow_nan=False)
        Draft202012Validator(schema).validate(json.loads(text))


def test_stored_documents_give_what_the_listenings_give(before, after):
    stored = [json.loads(json.dumps(side.as_dict())) for side in (before, after)]
    assert compare_documents(*stored).as_dict() == compare(before, after).as_dict()


def test_the_ends_of_a_difference_are_those_of_normal_errors():
    """For even intervals: 1.96 times the root of the sum of squares."""
    change = difference(Quantity(10.0, 10.0 - 1.96 * 3, 10.0 + 1.96 * 3), Quantity(12, 4.16, 19.84))
    assert change.high - change.value == pytest.approx(1.96 * sqrt(3.0**2 + 4.0**2))


@given(st.floats(-5, 5), st.floats(0, 3), st.floats(0, 3), st.floats(0, 3), st.floats(0, 3))
def test_a_difference_is_no_surer_than_either_side(value, down, up, down_2, up_2):
    before = Quantity(value, value - down, value + up)
    after = Quantity(1.0, 1.0 - down_2, 1.0 + up_2)
    change = difference(before, after)
    assert change.high - change.low >= max(down + up, down_2 + up_2) / sqrt(2.0) - 1e-9
    assert change.low <= change.value <= change.high


@pytest.mark.parametrize("own_rpm", [0.01, 20.0, 60.0])
def test_two_clocks_are_covered(own_rpm):
    """Against the drawn sum of two rectangular clocks and two normal errors."""
    rng = np.random.default_rng(5)
    clock_rpm = 400_000.0 * 1e-4
    half = np.quantile(np.abs(_drawn(rng, clock_rpm, own_rpm)), 0.95)
    one = Quantity(400_000.0, 400_000.0 - half, 400_000.0 + half)
    change = speed_difference(one, one, clock_ppm=100.0, same_recorder=False)
    apart = _drawn(rng, clock_rpm, own_rpm) - _drawn(rng, clock_rpm, own_rpm)
    held = np.mean(np.abs(apart) <= change.high)
    assert 0.945 <= held <= 0.975


def _drawn(rng, clock_rpm, own_rpm):
    count = 200_000
    return rng.uniform(-clock_rpm, clock_rpm, count) + own_rpm * rng.standard_normal(count)


def test_one_recorder_shows_what_two_cannot():
    earlier = document(1, row("free_running_speed", 400_000.0, 399_962.0, 400_038.0, "rpm"))
    later = document(2, row("free_running_speed", 400_030.0, 399_992.0, 400_068.0, "rpm"))
    apart = compare_documents(earlier, later).changes[0]
    same = compare_documents(earlier, later, same_recorder=True).changes[0]
    assert apart.verdict == ChangeVerdict.NOT_SHOWN
    assert same.verdict == ChangeVerdict.ROSE


def test_an_interval_without_a_clock_is_taken_whole():
    narrow = Quantity(400_000.0, 399_999.0, 400_001.0)
    change = speed_difference(narrow, narrow, clock_ppm=0.0, same_recorder=False)
    assert change.high == pytest.approx(sqrt(2.0), rel=1e-3)


@pytest.mark.parametrize(
    ("low", "high", "verdict"),
    [
        (0.1, 2.0, "rose"),
        (-2.0, -0.1, "fell"),
        (-0.1, 0.1, "no change shown"),
        (0.0, 1.0, "no change shown"),
    ],
)
def test_a_change_is_shown_when_all_of_its_interval_is_on_one_side(low, high, verdict):
    assert verdict_on_change(Quantity(0.5 * (low + high), low, high)).value == verdict


@pytest.mark.parametrize(
    ("facts", "word"),
    [({"rate_hz": 44_100.0}, "samples a second"), ({"codec": "aac"}, "coded as")],
)
def test_levels_of_unlike_recordings_are_not_compared(facts, word):
    rows = (
        row("free_running_speed", 400_000.0, 399_962.0, 400_038.0, "rpm"),
        row("roughness", -20.0, -20.5, -19.6, "dB"),
        row("sound_level", 70.0, 69.0, 71.0, "dB(A)"),
    )
    comparison = compare_documents(document(1, *rows), document(2, *rows, **facts))
    rough = comparison.change("roughness")
    assert rough.verdict == ChangeVerdict.CANNOT_TELL
    assert rough.change is None
    assert word in rough.as_dict()["why"]
    assert comparison.change("free_running_speed").change is not None
    assert comparison.change("sound_level").change is not None


def test_lossless_codings_are_alike():
    told = row("roughness", -20.0, -20.5, -19.6, "dB")
    changed = compare_documents(document(1, told), document(2, told, codec="flac")).changes[0]
    assert changed.change is not None


def test_a_ridden_gain_takes_levels_and_leaves_speeds():
    gate = [{"key": "gain_rides", "message": "It rode.", "takes_away": ["level", "condition"]}]
    rows = (
        row("coast_down_time", 2.0, 1.9, 2.1, "s"),
        row("sound_level", 70.0, 69.0, 71.0, "dB(A)"),
        row("roughness", -20.0, -20.5, -19.6, "dB"),
    )
    comparison = compare_documents(document(1, *rows), document(2, *rows, gate=gate))
    assert comparison.change("coast_down_time").verdict == ChangeVerdict.NOT_SHOWN
    for key in ("sound_level", "roughness"):
        assert "It rode." in comparison.change(key).as_dict()["why"]


@pytest.mark.parametrize("side", ["before", "after"])
def test_what_one_side_cannot_tell_is_said_with_its_reason(side):
    told = row("coast_down_time", 2.0, 1.9, 2.1, "s")
    untold = row("coast_down_time", None, None, None, "s", verdict="cannot tell", why="Too loud.")
    pair = (untold, told) if side == "before" else (told, untold)
    change = compare_documents(document(1, pair[0]), document(2, pair[1])).changes[0]
    assert change.verdict == ChangeVerdict.CANNOT_TELL
    why = change.as_dict()["why"]
    assert why.endswith(f"cannot be compared. The recording {side} does not tell it. Too loud.")


@pytest.mark.parametrize(
    ("earlier", "later", "verdict"),
    [
        ("stands out", "does not stand out", "fell"),
        ("does not stand out", "stands out", "rose"),
        ("stands out", "stands out", "no change shown"),
        ("out of reach", "stands out", "cannot tell"),
    ],
)
def test_a_part_of_the_bearing_is_compared_by_what_stands_out(earlier, later, verdict):
    told = row("free_running_speed", 400_000.0, 399_962.0, 400_038.0, "rpm")
    sides = [
        document(
            number,
            told,
            condition={"bearing": {"parts": [{"part": "outer_ring", "verdict": word}]}},
        )
        for number, word in enumerate((earlier, later))
    ]
    assert compare_documents(*sides).change("bearing_outer_ring").verdict.value == verdict


def test_recordings_without_a_shared_reading_are_refused():
    free = document(1, row("free_running_speed", 400_000.0, 399_962.0, 400_038.0, "rpm"))
    motor = document(2, row("speed_heard", 40_000.0, 39_996.0, 40_004.0, "rpm"))
    with pytest.raises(
        InputError, match="before tells free_running_speed, after tells speed_heard"
    ):
        compare_documents(free, motor)


def test_one_recording_is_not_compared_with_itself(before):
    with pytest.raises(InputError, match="same recording"):
        compare(before, before)


@pytest.mark.parametrize(
    ("broken", "match"),
    [
        ({"schema": "turnwell.cause/1"}, "no document of turnwell listen"),
        ({"readings": []}, "no readings"),
        ({"readings": [row("coast_down_time", 2.0, 2.1, 2.2, "s")]}, "2.0 within 2.1"),
        ({"readings": [row("coast_down_time", 2.0, 1.9, 2.2, "s", level=0.9)]}, "at 0.9"),
    ],
)
def test_what_is_no_listening_is_refused(broken, match):
    told = document(1, row("coast_down_time", 2.0, 1.9, 2.1, "s"))
    with pytest.raises(InputError, match=match):
        compare_documents(document(2, row("coast_down_time", 2.0, 1.9, 2.1, "s")) | broken, told)


@pytest.mark.parametrize("clock_ppm", [-1.0, float("nan")])
def test_an_impossible_clock_is_refused(clock_ppm, before, after):
    with pytest.raises(InputError, match="clock_ppm"):
        compare(before, after, clock_ppm=clock_ppm)


def test_digits_follow_the_interval():
    earlier = document(1, row("coast_down_time", 2.0, 1.96, 2.04, "s"))
    later = document(2, row("coast_down_time", 2.5, 2.46, 2.54, "s"))
    why = compare_documents(earlier, later).changes[0].as_dict()["why"]
    assert "rose by +0.500 s (95 % between +0.443 s and +0.557 s)" in why


def test_a_ridden_gain_is_seen_through_to_the_comparison():
    comparison = compare(listened(6), listened(7, ridden=True))
    assert comparison.change("free_running_speed").change is not None
    assert comparison.caveats
