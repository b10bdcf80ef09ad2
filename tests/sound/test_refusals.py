"""What is no running handpiece, or cannot be heard, gets no speed, and the right reason."""

import numpy as np
import pytest

from tests.sound.truth import Handpiece, hum, low_passed, make, melody, speech_like
from turnwell.errors import InputError
from turnwell.sound import Expectation, analyse, recording_of

TURBINE = Expectation(handpiece_class="air_turbine_4_hole")
MOTOR = Expectation(handpiece_class="low_speed_air_motor")
EVERY = (Expectation(), TURBINE, MOTOR)


def answer(samples, rate_hz, expectation):
    listening = analyse(recording_of(samples, rate_hz), expectation)
    reading = listening.readings[0]
    assert listening.answered == (reading.value is not None)
    if reading.value is None:
        assert (reading.low, reading.high, reading.verdict) == (None, None, "cannot tell")
    return reading


def refused(samples, rate_hz, expectation):
    reading = answer(samples, rate_hz, expectation)
    assert reading.value is None, f"{reading.value:,.0f} rpm"
    return reading.why.key


@pytest.mark.parametrize("expectation", EVERY)
@pytest.mark.parametrize("seed", range(6))
def test_noise_speech_and_music_have_no_speed(seed, expectation):
    rng = np.random.default_rng(seed)
    count = int(rng.uniform(3, 8) * 48_000)
    noise = rng.standard_normal(count)
    refused(0.1 * noise, 48_000.0, expectation)
    refused(0.5 * speech_like(count, 48_000.0, rng) + 3e-4 * noise, 48_000.0, expectation)
    voices = int(rng.integers(1, 5))
    music = melody(count, 48_000.0, rng, voices=voices)
    refused(0.5 * music + 3e-4 * noise, 48_000.0, expectation)


@pytest.mark.parametrize("mains_hz", [50.0, 49.98, 60.0, 60.02])
@pytest.mark.parametrize("expectation", EVERY)
def test_hum_has_no_speed(mains_hz, expectation):
    rng = np.random.default_rng(1)
    samples = 0.3 * hum(240_000, 48_000.0, rng, mains_hz=mains_hz)
    samples += 1e-3 * rng.standard_normal(samples.size)
    refused(samples, 48_000.0, expectation)


def test_hum_is_named():
    samples = 0.3 * hum(240_000, 48_000.0, np.random.default_rng(2))
    key = refused(samples + 1e-4, 48_000.0, Expectation())
    assert key == "sound.no_speed.hum"


@pytest.mark.parametrize("count", [0, 1, 100, 2_400])
def test_nothing_or_next_to_nothing(count):
    key = refused(0.1 * np.random.default_rng(3).standard_normal(count), 48_000.0, TURBINE)
    assert key in {"sound.gate.silent", "sound.gate.too_short"}


@pytest.mark.parametrize("value", [0.0, 0.5, -1.0])
def test_one_constant_value_is_silence(value):
    assert refused(np.full(96_000, value), 48_000.0, TURBINE) == "sound.gate.silent"


@pytest.mark.parametrize("expectation", [Expectation(), TURBINE])
def test_a_turbine_folded_down_at_8_khz_is_not_believed(expectation):
    # 6,667 Hz sampled at 8 kHz sounds as 1,333 Hz, which would be 80,000 rpm.
    time_s = np.arange(40_000) / 8_000.0
    noise = 0.01 * np.random.default_rng(4).standard_normal(time_s.size)
    samples = 0.4 * np.cos(2 * np.pi * 6_667.0 * time_s) + noise
    assert refused(samples, 8_000.0, expectation) == "sound.no_speed.rate"


def test_a_motor_at_8_khz_is_answered():
    handpiece = Handpiece(steady_hz=333.3, drag=(600.0, 0.5, 0.0), release_s=4.0)
    truth = make(handpiece, np.random.default_rng(5), rate_hz=8_000.0, duration_s=6.0)
    for expectation in (Expectation(), MOTOR):
        reading = answer(truth.samples, 8_000.0, expectation)
        assert reading.value == pytest.approx(20_000.0, rel=1e-3)


@pytest.mark.parametrize("expectation", [Expectation(), TURBINE])
def test_a_voice_codec_takes_the_line_away_and_says_so(expectation):
    truth = make(Handpiece(release_s=4.0), np.random.default_rng(6), duration_s=6.0)
    samples = low_passed(truth.samples, 48_000.0, 3_800.0)
    samples += 1e-6 * np.random.default_rng(7).standard_normal(samples.size).astype(np.float32)
    assert refused(samples, 48_000.0, expectation) == "sound.no_speed.edge"


def test_a_slow_shaft_is_not_called_by_its_harmonic():
    time_s = np.arange(5 * 48_000) / 48_000.0
    rng = np.random.default_rng(8)
    samples = 0.01 * rng.standard_normal(time_s.size)
    for order in range(1, 16):
        samples += 0.2 / order * np.cos(2 * np.pi * 37.3 * order * time_s + rng.uniform(0, 6))
    refused(samples, 48_000.0, Expectation())


def test_a_siren_has_no_speed():
    time_s = np.arange(6 * 48_000) / 48_000.0
    pitch_hz = 3_500.0 + 800.0 * np.sin(2 * np.pi * 0.3 * time_s)
    samples = 0.3 * np.cos(2 * np.pi * np.cumsum(pitch_hz) / 48_000.0)
    samples += 0.003 * np.random.default_rng(9).standard_normal(samples.size)
    refused(samples, 48_000.0, Expectation())


def test_a_turbine_is_not_a_motor():
    truth = make(Handpiece(release_s=4.0), np.random.default_rng(10), duration_s=6.0)
    refused(truth.samples, 48_000.0, MOTOR)


def test_samples_that_are_no_numbers_are_refused_at_the_door():
    with pytest.raises(InputError, match="not finite"):
        recording_of([0.0, float("nan")], 48_000.0)
    with pytest.raises(InputError, match="one channel"):
        recording_of(np.zeros((2, 10)), 48_000.0)
    with pytest.raises(InputError, match="rate_hz is 100"):
        recording_of([0.0], 100.0)
