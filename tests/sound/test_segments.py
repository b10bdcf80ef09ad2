"""Run-up, steady running, release and coast-down against their true instants."""

from importlib import import_module
from itertools import pairwise

import numpy as np
import pytest

from tests.sound.truth import Handpiece, encoded, make
from turnwell.sound import Expectation, analyse, recording_of
from turnwell.sound.coast.baseline import baseline_limit
from turnwell.sound.timeline import quiet_of

TURBINE = Expectation(handpiece_class="air_turbine_4_hole")


def listen(handpiece, seed, duration_s=9.0):
    truth = make(handpiece, np.random.default_rng(seed), duration_s=duration_s)
    return truth, analyse(recording_of(truth.samples, 48_000.0), TURBINE)


def true_instant(truth, share):
    handpiece = truth.handpiece
    after = truth.grid_s > handpiece.release_s
    speed = truth.grid_hz[after]
    return float(np.interp(-share * speed[0], -speed, truth.grid_s[after]))


@pytest.mark.parametrize("seed", range(5))
def test_release_within_ten_milliseconds(seed):
    rng = np.random.default_rng(100 + seed)
    handpiece = Handpiece(
        steady_hz=rng.uniform(5_000, 7_500),
        release_s=rng.uniform(3.5, 5.5),
        drag=(rng.uniform(3e3, 8e3), rng.uniform(0.2, 0.6), rng.uniform(3e-6, 1e-5)),
        tone_drop_db=rng.choice([0.0, -10.0]),
        drift=0.002,
    )
    _, listening = listen(handpiece, seed)
    steady = next(s for s in listening.segments if s.kind == "steady")
    assert steady.stop_s == pytest.approx(handpiece.release_s, abs=0.010)


def test_segments_name_the_whole_recording():
    _, listening = listen(Handpiece(), 1)
    assert [s.kind.value for s in listening.segments if s.kind != "silent"] == [
        "run-up",
        "steady",
        "coast-down",
    ]
    assert listening.segments[0].start_s == 0.0
    assert listening.segments[-1].stop_s == pytest.approx(9.0)
    assert all(a.stop_s == b.start_s for a, b in pairwise(listening.segments))


def test_a_tone_from_the_first_to_the_last_sample_is_all_steady():
    _, listening = listen(Handpiece(start_s=None, release_s=None), 2, duration_s=3.0)
    assert [(s.kind.value, s.start_s, s.stop_s) for s in listening.segments] == [
        ("steady", 0.0, 3.0)
    ]


def test_several_runs_are_found_and_their_spread_counts():
    rng = np.random.default_rng(3)
    speeds_hz = (6_440.0, 6_450.0, 6_460.0)
    parts = [
        make(Handpiece(steady_hz=f, release_s=3.0), rng, duration_s=6.0).samples for f in speeds_hz
    ]
    listening = analyse(recording_of(np.concatenate(parts), 48_000.0), TURBINE)
    kinds = [s.kind.value for s in listening.segments]
    assert kinds.count("steady") == kinds.count("coast-down") == 3
    reading = listening.readings[0]
    assert reading.value == pytest.approx(60.0 * 6_450.0, rel=1e-4)
    # Type A: s / √3 = 5.77 Hz, t(2) = 4.30: 24.8 Hz or 1,490 rpm; the clock adds little.
    assert reading.half_width == pytest.approx(1_490.0, rel=0.05)


@pytest.mark.parametrize("seed", range(4))
def test_track_follows_the_true_speed(seed):
    truth, listening = listen(Handpiece(drift=0.002), seed)
    track = listening.track
    assert np.all(np.diff(track.time_s) > 0)
    assert np.isfinite(track.speed_rpm).all()
    assert np.isfinite(track.sd_rpm).all()
    steady = next(s for s in listening.segments if s.kind == "steady")
    true_rpm = 60.0 * truth.at_hz(track.time_s)
    inside = (track.time_s > steady.start_s) & (track.time_s < steady.stop_s - 0.03)
    assert np.abs(track.speed_rpm[inside] / true_rpm[inside] - 1.0).max() < 2e-3
    coasting = track.time_s > steady.stop_s + 0.02
    # A spectrum of 21 ms in a steep fall shows a mean, not the instant.
    assert np.median(np.abs(track.speed_rpm[coasting] / true_rpm[coasting] - 1.0)) < 4e-3


@pytest.mark.parametrize("seed", range(3))
def test_coast_down_times_against_the_integrated_law(seed):
    rng = np.random.default_rng(200 + seed)
    handpiece = Handpiece(
        steady_hz=rng.uniform(5_000, 7_500),
        release_s=4.0,
        drag=(rng.uniform(4e3, 8e3), rng.uniform(0.2, 0.6), rng.uniform(3e-6, 1e-5)),
        room_db=-50.0,
        line_to_noise_db=20.0,
    )
    truth, listening = listen(handpiece, seed, duration_s=10.0)
    whole = listening.reading("coast_down_time")
    true_s = true_instant(truth, 0.1) - true_instant(truth, 0.9)
    assert whole.value == pytest.approx(true_s, rel=0.02)
    # Coverage is a matter of many runs; a single one must only not be far out.
    assert abs(whole.value - true_s) < 2.0 * whole.half_width
    half = listening.reading("coast_down_half_time")
    assert half.value == pytest.approx(true_instant(truth, 0.5) - 4.0, rel=0.02)
    assert whole.verdict == half.verdict == "no limit"


def test_coast_down_against_the_closed_form():
    # I dω/dt = -c1 ω: ω = ω0 exp(-b t), so from 90 % to 10 % it takes ln(9) / b = 2.197 s.
    handpiece = Handpiece(drag=(0.0, 1.0, 0.0), release_s=3.0, room_db=-60.0, line_to_noise_db=20.0)
    _, listening = listen(handpiece, 5, duration_s=9.0)
    assert listening.reading("coast_down_time").value == pytest.approx(np.log(9.0), rel=0.02)
    assert listening.reading("coast_down_half_time").value == pytest.approx(np.log(2.0), rel=0.02)


@pytest.mark.parametrize(
    ("room_db", "tone_drop_db", "lost"),
    [
        (-12.0, 0.0, ["time", "deceleration_20"]),
        (-6.0, -3.0, ["time", "half_time", "deceleration_50", "deceleration_20"]),
    ],
)
def test_a_coast_down_lost_in_noise_cannot_be_told(room_db, tone_drop_db, lost):
    _, listening = listen(Handpiece(room_db=room_db, tone_drop_db=tone_drop_db), 6)
    untold = [reading for reading in listening.readings if reading.verdict == "cannot tell"]
    assert [
        reading.key.removeprefix("coast_down_")
        for reading in untold
        if reading.key.startswith("coast_down_")
    ] == lost


def test_a_release_lost_in_noise_gives_no_coast_down():
    _, listening = listen(Handpiece(room_db=-3.0, tone_drop_db=-6.0), 6)
    assert listening.reading("coast_down_time") is None


def test_own_baseline_is_a_two_sided_limit():
    assert baseline_limit((2.0, 2.1)) is None
    limit = baseline_limit((2.0, 2.1, 1.9))
    # Student's t for 2 degrees of freedom, 4.303, times 0.1 times √(1 + 1/3).
    assert limit.high - 2.0 == pytest.approx(4.303 * 0.1 * np.sqrt(4 / 3), rel=1e-3)
    assert limit.basis == "own"


def test_time_is_kept_through_a_coder():
    from io import BytesIO

    from turnwell.sound import read_recording

    truth = make(Handpiece(release_s=3.5), np.random.default_rng(7), duration_s=6.0)
    file = BytesIO(encoded(truth.samples, 48_000.0, "mp3", bit_rate=128_000))
    steady = next(s for s in analyse(read_recording(file)).segments if s.kind == "steady")
    assert steady.stop_s == pytest.approx(3.5, abs=0.060)


def test_where_nothing_turns_no_air_flows_either():
    _, listening = listen(Handpiece(start_s=1.0, release_s=4.0), 8)
    before, after = quiet_of(listening.segments)
    assert 0.0 <= before[0] < before[1] <= 1.0
    assert 4.3 <= after[0] < after[1] < 9.0


def test_a_coast_down_that_cannot_be_followed_is_said(monkeypatch):
    module = import_module("turnwell.sound.analyse")  # its function hides it by name
    monkeypatch.setattr(module, "coast_downs_of", lambda *_, **__: ())
    _, listening = listen(Handpiece(), 9)
    for key in ("coast_down_time", "coast_down_half_time"):
        found = listening.reading(key)
        assert (found.verdict, found.why.key) == ("cannot tell", "coast.not_followed")
