"""What becomes of a speed: gear, limit, pressure, interval; and what the gate takes away."""

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.sound.truth import Handpiece, make
from turnwell.errors import InputError
from turnwell.measure import Basis, Budget, Limit, Part, Reading, common_error
from turnwell.sound import Expectation, analyse, recording_of
from turnwell.sound.condition.comparison import compare
from turnwell.sound.speed.finding import find_runs
from turnwell.sound.speed.plateaus import HOP_S, WINDOW_S
from turnwell.sound.speed.readings import half_width
from turnwell.sound.speed.spectra import spectra_of


@pytest.fixture(scope="module")
def turbine():
    truth = make(Handpiece(steady_hz=6_500.0, release_s=3.0), np.random.default_rng(1))
    return recording_of(truth.samples[: 5 * 48_000], 48_000.0)


@pytest.fixture(scope="module")
def motor():
    handpiece = Handpiece(steady_hz=333.333, drag=(600.0, 0.5, 0.0), release_s=3.0)
    truth = make(handpiece, np.random.default_rng(2))
    return recording_of(truth.samples[: 5 * 48_000], 48_000.0)


def speeds(recording, **known):
    listening = analyse(recording, Expectation(**known))
    return {r.key: r for r in listening.readings if r.unit == "rpm"}


def test_a_reducing_gear_divides_and_names_the_drive(motor):
    # 20,000 rpm through 8:1 is 2,500 at the bur.
    found = speeds(motor, handpiece_class="contra_angle_reducing", ratio=8.0)
    assert list(found) == ["free_running_speed", "drive_speed"]
    assert found["free_running_speed"].value == pytest.approx(2_500.0, rel=1e-4)
    assert found["drive_speed"].value == pytest.approx(20_000.0, rel=1e-4)
    low, high = found["free_running_speed"].low, found["free_running_speed"].high
    assert (low * 8.0, high * 8.0) == pytest.approx(
        (found["drive_speed"].low, found["drive_speed"].high)
    )


def test_an_increasing_gear_whose_motor_is_heard_multiplies(motor):
    found = speeds(motor, handpiece_class="contra_angle_increasing", ratio=0.2)
    assert found["free_running_speed"].value == pytest.approx(100_000.0, rel=1e-4)
    assert found["drive_speed"].value == pytest.approx(20_000.0, rel=1e-4)


def test_an_increasing_gear_whose_bur_is_heard():
    handpiece = Handpiece(steady_hz=3_333.33, start_s=None, release_s=None)
    truth = make(handpiece, np.random.default_rng(3), duration_s=3.0)
    found = speeds(
        recording_of(truth.samples, 48_000.0), handpiece_class="contra_angle_increasing", ratio=0.2
    )
    assert found["free_running_speed"].value == pytest.approx(200_000.0, rel=1e-4)
    assert found["drive_speed"].value == pytest.approx(40_000.0, rel=1e-4)


@pytest.mark.parametrize("handpiece_class", ["contra_angle_reducing", "contra_angle_increasing"])
def test_without_a_ratio_only_the_speed_heard_is_given(motor, handpiece_class):
    found = speeds(motor, handpiece_class=handpiece_class, label_speed_rpm=20_000.0)
    assert list(found) == ["speed_heard"]
    assert found["speed_heard"].value == pytest.approx(20_000.0, rel=1e-4)
    assert found["speed_heard"].limit is None


def test_a_label_gives_a_limit_of_ten_per_cent(turbine):
    # ISO 14457: within ± 10 % of the stated speed.
    near = speeds(turbine, label_speed_rpm=400_000.0)["free_running_speed"]
    assert (near.limit.low, near.limit.high) == pytest.approx((360_000.0, 440_000.0))
    assert (near.limit.basis, near.verdict) == ("secondary", "within")
    assert speeds(turbine, label_speed_rpm=450_000.0)["free_running_speed"].verdict == "outside"
    edge = speeds(turbine, label_speed_rpm=390_000.0 / 0.9)["free_running_speed"]
    assert edge.verdict == "not proven"
    assert speeds(turbine)["free_running_speed"].verdict == "no limit"


def test_an_own_limit_takes_the_place_of_the_label(turbine):
    own = Limit(395_000.0, None, "the owner's", Basis.OWN)
    found = speeds(turbine, label_speed_rpm=400_000.0, speed_limit=own)["free_running_speed"]
    assert (found.limit, found.verdict) == (own, "outside")


def test_away_from_the_label_pressure_nothing_is_proven(turbine):
    known = {"label_speed_rpm": 400_000.0, "label_pressure_kpa": 240.0}
    away = speeds(turbine, **known, pressure_kpa=200.0)["free_running_speed"]
    assert away.verdict == "not proven"
    assert away.why.params["first"].key == "sound.other_pressure"
    at = speeds(turbine, **known, pressure_kpa=242.0)["free_running_speed"]
    assert at.verdict == "within"


def test_the_clock_is_in_the_interval(turbine):
    wide = speeds(turbine)["free_running_speed"]
    # ± 100 ppm, rectangular: 95 % of it is ± 95 ppm, 37 rpm; the lines themselves add next to
    # nothing.
    assert wide.half_width == pytest.approx(390_000.0 * 95e-6, rel=0.02)
    assert speeds(turbine, clock_ppm=0.0)["free_running_speed"].half_width < 6.0


@pytest.mark.parametrize("sigma", [0.05, 0.3, 1.0, 3.0])
def test_interval_of_a_rectangular_and_a_normal_error(sigma):
    # [JCGM101] 6.4.2 by Monte Carlo: half a million draws hold the 95 % point to about 0.3 %.
    rng = np.random.default_rng(4)
    draws = rng.uniform(-1.0, 1.0, 500_000) + sigma * rng.standard_normal(500_000)
    budget = Budget(0.0, (Part("estimate", sigma), common_error(1.0, key="clock")))
    assert half_width(budget) == pytest.approx(np.quantile(np.abs(draws), 0.95), rel=0.006)


@given(bound=st.floats(0.0, 1e3), sigma=st.floats(0.0, 1e3))
def test_interval_is_no_narrower_than_either_part(bound, sigma):
    budget = Budget(0.0, (Part("estimate", sigma), common_error(bound, key="clock")))
    half = half_width(budget)
    assert half >= 0.95 * bound * (1 - 1e-6)
    assert half >= 1.9599 * sigma * (1 - 1e-4)
    assert half <= bound + 1.96 * sigma * (1 + 1e-4) + 1e-9


def test_readings_survive_storing(turbine):
    for reading in analyse(turbine).readings:
        record = json.loads(json.dumps(reading.as_record(), allow_nan=False))
        assert Reading.from_record(record) == reading


def test_result_is_frozen_and_prints(turbine):
    listening = analyse(turbine)
    with pytest.raises(AttributeError):
        listening.version = "2"
    assert str(listening).startswith("Free-running speed: 38")
    assert listening.reading("nothing") is None


@pytest.mark.parametrize(
    "wrong",
    [
        {"label_speed_rpm": 0.0},
        {"ratio": -8.0},
        {"pressure_kpa": float("nan")},
        {"label_pressure_kpa": float("inf")},
        {"handpiece_class": "drill"},
        {"class_speed_range_rpm": (5.0, 1.0)},
        {"clock_ppm": -1.0},
    ],
)
def test_wrong_expectations_are_refused_at_the_door(wrong):
    with pytest.raises(InputError):
        Expectation(**wrong)


def gate(samples):
    return {finding.key: finding for finding in analyse(recording_of(samples, 48_000.0)).gate}


def test_gate_names_what_is_wrong_and_what_it_takes_away(turbine):
    assert gate(turbine.samples) == {}
    assert set(gate(2e-3 * turbine.samples)) == {"quiet"}
    assert set(gate(np.zeros(48_000))) == {"silent"}
    silent = gate(np.zeros(48_000))["silent"]
    assert "speed" in silent.takes_away
    assert silent.as_dict()["message"].startswith("The recording is silent")
    # Half a per cent of the samples cut off.
    samples = turbine.samples / np.quantile(np.abs(turbine.samples), 0.995)
    clipped = gate(np.clip(samples, -1.0, 1.0))["clipped"]
    assert set(clipped.takes_away) == {"condition", "level"}


def test_gate_finds_a_codec_edge_to_half_a_kilohertz():
    rng = np.random.default_rng(5)
    noise = 0.1 * rng.standard_normal(240_000)
    lines = np.fft.rfft(noise)
    at_hz = np.fft.rfftfreq(noise.size, 1 / 48_000)
    for edge_hz in (8_000.0, 15_000.0, 16_500.0):
        cut = np.fft.irfft(np.where(at_hz > edge_hz, 0.0, lines), noise.size)
        cut += 1e-6 * rng.standard_normal(cut.size)
        found = gate(cut)["codec_edge"].message.params["edge_khz"]
        assert found == pytest.approx(edge_hz / 1e3, abs=0.5)
    assert "codec_edge" not in gate(noise)


def test_gate_finds_the_holes_of_noise_suppression():
    from scipy.signal import ShortTimeFFT
    from scipy.signal.windows import hann

    rng = np.random.default_rng(6)
    noise = 0.1 * rng.standard_normal(240_000)
    assert "noise_suppressed" not in gate(noise)
    # A bin stays for as long as the frames that look at it: empty stretches of half a second.
    transform = ShortTimeFFT(hann(512, sym=False), 128, 48_000)
    bins = transform.stft(noise)
    keep = rng.random((bins.shape[0], bins.shape[1] // 200 + 1)) > 0.5
    bins *= np.repeat(np.repeat(keep[::8], 8, axis=0)[: bins.shape[0]], 200, axis=1)[
        :, : bins.shape[1]
    ]
    assert "noise_suppressed" in gate(transform.istft(bins, k1=noise.size))


@pytest.mark.parametrize("tone_hz", [83.4, 341.0, 6_471.0])
@pytest.mark.parametrize("peak", [0.3, 1.0])
def test_a_pure_tone_is_not_called_clipped(tone_hz, peak):
    time_s = np.arange(96_000) / 48_000.0
    tone = np.cos(2 * np.pi * tone_hz * time_s)
    assert "clipped" not in gate(peak * tone)
    assert "clipped" in gate(peak * np.clip(1.2 * tone, -1.0, 1.0))


def test_a_tone_that_never_wanders_has_no_wander_that_is_sure():
    time_s = np.arange(144_000) / 48_000.0
    heard = []
    for seed, noise in ((1, 0.1), (2, 0.01)):
        samples = 0.3 * np.cos(2 * np.pi * 6_471.0 * time_s)
        samples += noise * np.random.default_rng([31, seed]).standard_normal(time_s.size)
        heard.append(analyse(recording_of(samples, 48_000.0)))
    for listening in heard:
        wander = listening.reading("speed_wander")
        assert wander.low == 0.0 < wander.high
        assert wander.high < 1e-3
    assert compare(*heard).change("speed_wander").verdict.value == "no change shown"


@pytest.mark.parametrize("seed", range(6))
def test_wander_holds_what_the_speed_did(seed):
    handpiece = Handpiece(start_s=None, release_s=None, drift=0.001, wander=2e-4)
    truth = make(handpiece, np.random.default_rng([32, seed]), duration_s=4.0)
    wander = analyse(recording_of(truth.samples, 48_000.0)).reading("speed_wander")
    true = 100.0 * np.std(truth.grid_hz) / np.mean(truth.grid_hz)
    assert wander.value == pytest.approx(true, rel=0.1)
    assert 0.0 < wander.low < true < wander.high


def test_the_end_of_a_run_that_is_released_is_in_the_interval():
    (run,) = runs_of(Handpiece(release_s=2.0, line_to_noise_db=30.0))
    assert run.is_released
    # 4 ms at 0.15 % of the speed, over the length of the steady part.
    turns = 0.0015 * 0.004 * run.pieces[-1].mean_hz
    own = run.pieces[-1].mean_sd_hz * run.steady_s
    assert run.mean_sd_hz * run.steady_s == pytest.approx(np.hypot(turns, own), rel=1e-6)
    assert replace(run, is_released=False).mean_sd_hz < run.mean_sd_hz


def runs_of(handpiece):
    truth = make(handpiece, np.random.default_rng(33), duration_s=3.5)
    recording = recording_of(truth.samples, 48_000.0)
    spectra = spectra_of(
        recording.samples, 48_000.0, window_s=WINDOW_S, hop_s=HOP_S, highest_hz=23_000.0
    )
    return find_runs(recording, spectra, 21_600.0, Expectation()).runs


def test_runs_of_a_drifting_handpiece_are_one_handpiece():
    # 2.7 % between the slowest and the fastest: colder air, warmer bearing.
    rng = np.random.default_rng(34)
    parts = [
        make(Handpiece(steady_hz=f, release_s=2.0, drift=0.001), rng, duration_s=4.0).samples
        for f in (6_300.0, 6_400.0, 6_470.0)
    ]
    listening = analyse(recording_of(np.concatenate(parts), 48_000.0))
    assert [s.kind.value for s in listening.segments].count("steady") == 3
    reading = listening.readings[0]
    assert reading.value == pytest.approx(60.0 * 6_390.0, rel=2e-3)
    assert reading.low < 60.0 * 6_300.0
    assert reading.high > 60.0 * 6_470.0
