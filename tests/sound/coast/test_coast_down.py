"""Coast-downs of invented rotors against what is true about them."""

import json
from dataclasses import replace
from functools import cache
from math import pi

import numpy as np
import pytest

from tests.sound.coast.listened import MOTOR, TURBINE, coast_downs_in, runs_in
from tests.sound.coast.rotors import Rotor, record
from tests.sound.truth import low_passed
from turnwell.measure import Verdict
from turnwell.sound.coast.coast_down import SHARES, coast_downs_of
from turnwell.sound.coast.fine import fine_points
from turnwell.sound.coast.readings import coast_down_readings
from turnwell.sound.segment import SegmentKind
from turnwell.sound.speed.sweep import Sweep
from turnwell.words import text_of

CLEAN = Rotor(room_db=-35.0, jet_db=0.0, duration_s=4.8)
ROTORS = {
    "mixed": (CLEAN, 96_000.0),
    "constant": (replace(CLEAN, drag=(16_000.0, 0.0, 0.0), duration_s=4.8), 48_000.0),
    "viscous": (replace(CLEAN, drag=(0.0, 1.2, 0.0), steady_hz=5_300.0, room_db=-45.0), 48_000.0),
    "quadratic": (replace(CLEAN, drag=(0.0, 0.0, 4e-5), steady_hz=7_100.0), 44_100.0),
    "noisy, tone drops": (replace(CLEAN, room_db=-20.0, tone_drop_db=-20.0), 48_000.0),
    "resonance": (replace(CLEAN, bump=0.06), 48_000.0),
    "motor": (
        replace(
            CLEAN,
            steady_hz=640.0,
            drag=(1_200.0, 0.2, 2e-4),
            amplitudes=(1.0, 0.5, 0.4, 0.3),
            room_db=-25.0,
        ),
        48_000.0,
    ),
}


@cache
def heard(name):
    """One recording of each rotor, and its only coast-down."""
    rotor, rate_hz = ROTORS[name]
    recorded = record(rotor, np.random.default_rng(len(name)), rate_hz=rate_hz)
    (coast_down,) = coast_downs_in(recorded, MOTOR if rotor.steady_hz < 1_000.0 else TURBINE)
    return recorded, coast_down


@pytest.mark.parametrize("name", ROTORS)
def test_the_release_is_found_within_two_milliseconds(name):
    recorded, coast_down = heard(name)
    error_s = coast_down.release_s - recorded.rotor.release_s
    assert abs(error_s) < 0.002
    assert abs(error_s) < 3.5 * coast_down.release_sd_s


@pytest.mark.parametrize("name", ROTORS)
def test_times_are_those_of_the_rotor(name):
    recorded, coast_down = heard(name)
    free_hz = recorded.mean_hz(0.0, recorded.rotor.release_s)
    half_s = recorded.passes_s(0.5 * free_hz) - recorded.rotor.release_s
    assert coast_down.half.value == pytest.approx(half_s, rel=5e-3)
    assert abs(coast_down.half.value - half_s) < 3.5 * coast_down.half.sd
    if coast_down.reached_share < 0.1:
        whole_s = recorded.passes_s(0.1 * free_hz) - recorded.passes_s(0.9 * free_hz)
        assert coast_down.between.value == pytest.approx(whole_s, rel=5e-3)
        assert abs(coast_down.between.value - whole_s) < 3.5 * coast_down.between.sd
    else:
        assert coast_down.between is None


@pytest.mark.parametrize("name", ROTORS)
def test_decelerations_are_those_of_the_drag(name):
    recorded, coast_down = heard(name)
    free_hz = recorded.mean_hz(0.0, recorded.rotor.release_s)
    told = 0
    for share, found in zip(SHARES, coast_down.decelerations, strict=True):
        if found is None:
            assert coast_down.reached_share > share
            continue
        true = float(recorded.rotor.deceleration(2.0 * pi * share * free_hz)) / (2.0 * pi)
        assert found.value == pytest.approx(true, rel=0.03)
        assert abs(found.value - true) < 3.5 * found.sd + 2e-4 * true
        told += 1
    assert told >= 2


@pytest.mark.parametrize("name", ROTORS)
def test_the_track_is_true_to_its_standard_deviation(name):
    recorded, coast_down = heard(name)
    turning = coast_down.turning
    away = (turning.rotation_hz - recorded.at_hz(turning.time_s)) / turning.sd_hz
    assert turning.kind is SegmentKind.COAST_DOWN
    assert np.all(np.diff(turning.time_s) > 0.0)
    assert np.mean(np.abs(away) < 3.0) > 0.9
    assert np.abs(away).max() < 8.0


@pytest.mark.parametrize("name", ROTORS)
def test_single_points_scatter_as_their_standard_deviation_says(name):
    recorded, _ = heard(name)
    is_motor = recorded.rotor.steady_hz < 1_000.0
    runs, edge_hz = runs_in(recorded, MOTOR if is_motor else TURBINE)
    points = fine_points(
        recorded.samples,
        recorded.rate_hz,
        runs[0].coast_down,
        release_s=runs[0].release_s,
        edge_hz=edge_hz,
    )
    later = points.kept(points.time_s > recorded.rotor.release_s + 0.025)
    away = (later.rotation_hz - recorded.at_hz(later.time_s)) / later.sd_hz
    assert 0.4 < np.sqrt(np.mean(np.clip(away, -4.0, 4.0) ** 2)) < 1.4
    # Independent of each other: no point tells the next one's error.
    if not is_motor:
        assert abs(np.corrcoef(away[1:], away[:-1])[0, 1]) < 0.35


def test_the_law_gives_the_rates_of_the_drag_back():
    recorded, coast_down = heard("mixed")
    law = coast_down.law
    assert law.drag.terms == ("constant", "linear", "quadratic")
    for true, (low, high) in zip(recorded.rotor.drag, law.intervals, strict=True):
        assert low <= true <= high
        assert high - low < 0.2 * true
    assert law.misfit_hz < 5.0
    assert np.all(np.abs(law.correlation) <= 1.0 + 1e-9)


@pytest.mark.parametrize(
    ("name", "term"), [("constant", "constant"), ("viscous", "linear"), ("quadratic", "quadratic")]
)
def test_the_term_that_brakes_is_named(name, term):
    _, coast_down = heard(name)
    assert term in coast_down.law.drag.terms
    # What the other terms take at the free speed is next to nothing.
    drag, omega = coast_down.law.drag, 2.0 * pi * coast_down.free_hz
    shares = {
        "constant": drag.constant_rad_s2,
        "linear": drag.linear_per_s * omega,
        "quadratic": drag.quadratic_per_rad * omega**2,
    }
    assert shares[term] > 0.95 * sum(shares.values())


def test_a_rotor_that_obeys_no_law_gets_none():
    with_bump, without = heard("resonance")[1], heard("mixed")[1]
    assert with_bump.law is None
    assert with_bump.why_no_law.key == "coast.no_such_law"
    assert without.law.misfit_hz < 1e-3 * without.free_hz


def test_no_law_is_named_where_the_track_ends_early():
    _, coast_down = heard("noisy, tone drops")
    assert coast_down.reached_share > 0.25
    assert coast_down.law is None
    assert "25 %" in text_of(coast_down.why_no_law)


def test_lines_above_the_edge_of_a_codec_do_no_harm():
    recorded = record(replace(CLEAN, room_db=-28.0), np.random.default_rng(8), rate_hz=48_000.0)
    cut = replace(recorded, samples=low_passed(recorded.samples, 48_000.0, 15_000.0))
    (coast_down,) = coast_downs_in(cut, TURBINE)
    turning = coast_down.turning
    away = (turning.rotation_hz - cut.at_hz(turning.time_s)) / turning.sd_hz
    assert np.mean(np.abs(away) < 3.0) > 0.9
    assert abs(coast_down.release_s - cut.rotor.release_s) < 0.002


def test_nothing_is_measured_along_a_path_through_noise():
    rng = np.random.default_rng(9)
    noise = rng.standard_normal(3 * 48_000).astype(np.float32)
    time_s = np.arange(0.5, 2.5, 0.005)
    path = Sweep(time_s, 6_000.0 * np.exp(-(time_s - 0.5)))
    assert fine_points(noise, 48_000.0, path, release_s=0.5, edge_hz=20_000.0) is None


def test_the_document_holds_the_coast_down_in_the_speed_shown():
    _, coast_down = heard("mixed")
    document = json.loads(json.dumps(coast_down.as_dict(0.5)))
    assert document["free_speed_rpm"] == pytest.approx(30.0 * coast_down.free_hz, abs=0.01)
    assert len(document["time_s"]) == len(document["speed_rpm"]) == len(document["sd_rpm"]) <= 400
    law = document["law"]
    assert law["terms"] == ["constant", "linear", "quadratic"]
    for name in ("constant_rad_s2", "linear_per_s", "quadratic_per_rad"):
        assert law[name]["low"] <= law[name]["value"] <= law[name]["high"]
    assert len(law["time_s"]) == len(law["speed_rpm"]) == 60
    assert law["time_s"][0] == pytest.approx(0.0, abs=1e-4)
    assert document["why_no_law"] is None
    assert heard("noisy, tone drops")[1].as_dict()["law"] is None


def keys(readings):
    return {reading.key: reading for reading in readings}


def test_readings_hold_the_truth_and_no_torque():
    recorded, coast_down = heard("mixed")
    readings = keys(coast_down_readings((coast_down,), TURBINE))
    free_hz = recorded.mean_hz(0.0, recorded.rotor.release_s)
    true_s = recorded.passes_s(0.1 * free_hz) - recorded.passes_s(0.9 * free_hz)
    whole = readings["coast_down_time"]
    assert whole.low <= true_s <= whole.high
    assert whole.verdict is Verdict.NO_LIMIT
    assert readings["coast_down_deceleration_100"].unit == "rpm/s"
    assert "drag_torque" not in readings


def test_a_torque_is_given_only_with_an_inertia():
    recorded, coast_down = heard("mixed")
    known = replace(TURBINE, inertia_kg_m2=4e-9)
    torque = keys(coast_down_readings((coast_down,), known))["drag_torque"]
    free = 2.0 * pi * coast_down.free_hz
    # 4e-9 kg m² slowed by some 37,000 rad/s² is 0.15 mN·m.
    true = 1e3 * 4e-9 * float(recorded.rotor.deceleration(free))
    assert torque.unit == "mN·m"
    assert torque.value == pytest.approx(true, rel=0.01)


def test_a_gear_shows_the_deceleration_of_the_bur():
    _, coast_down = heard("motor")
    plain = keys(coast_down_readings((coast_down,), MOTOR))
    geared = keys(coast_down_readings((coast_down,), replace(MOTOR, ratio=8.0)))
    key = "coast_down_deceleration_50"
    assert geared[key].value == pytest.approx(plain[key].value / 8.0)
    assert geared["coast_down_half_time"].value == plain["coast_down_half_time"].value


def test_the_clock_counts_once_in_a_time_and_twice_in_a_deceleration():
    _, coast_down = heard("mixed")
    # So bad a clock that nothing else counts: rectangular, its standard deviation is bound / √3.
    readings = keys(coast_down_readings((coast_down,), replace(TURBINE, clock_ppm=2e4)))
    one = 1.96 * 0.02 / np.sqrt(3.0)
    time, fall = readings["coast_down_time"], readings["coast_down_deceleration_50"]
    assert time.half_width / time.value == pytest.approx(one, rel=0.02)
    assert fall.half_width / fall.value == pytest.approx(2.0 * one, rel=0.02)


def test_several_coast_downs_bring_in_their_spread():
    _, one = heard("mixed")
    other = replace(one, half=replace(one.half, value=1.05 * one.half.value))
    alone = keys(coast_down_readings((one,), TURBINE))["coast_down_half_time"]
    both = keys(coast_down_readings((one, other), TURBINE))["coast_down_half_time"]
    assert both.value == pytest.approx(1.025 * one.half.value)
    assert both.half_width > 10.0 * alone.half_width


def test_own_earlier_coast_downs_set_a_limit_on_both_sides():
    _, coast_down = heard("mixed")
    usual = coast_down.between.value
    near = replace(TURBINE, baseline_coast_down_s=(0.99 * usual, usual, 1.01 * usual))
    short = replace(TURBINE, baseline_coast_down_s=(0.5 * usual, 0.51 * usual, 0.52 * usual))
    verdicts = [
        keys(coast_down_readings((coast_down,), known))["coast_down_time"].verdict
        for known in (near, short)
    ]
    assert verdicts == [Verdict.WITHIN, Verdict.OUTSIDE]


def test_a_share_that_is_not_reached_cannot_be_told():
    _, coast_down = heard("noisy, tone drops")
    readings = keys(coast_down_readings((coast_down,), TURBINE))
    for key in ("coast_down_time", "coast_down_deceleration_20"):
        assert readings[key].verdict is Verdict.CANNOT_TELL
        assert "keep recording" in text_of(readings[key].why)
    assert readings["coast_down_half_time"].value is not None


def test_a_run_that_is_never_released_has_no_coast_down():
    recorded = record(replace(CLEAN, release_s=2.0), np.random.default_rng(10), rate_hz=48_000.0)
    cut = replace(recorded, samples=recorded.samples[: int(1.9 * 48_000)])
    runs, edge_hz = runs_in(cut, TURBINE)
    assert len(runs) == 1
    assert coast_downs_of(cut.samples, cut.rate_hz, runs, edge_hz=edge_hz) == ()
    assert coast_down_readings((), TURBINE) == ()
