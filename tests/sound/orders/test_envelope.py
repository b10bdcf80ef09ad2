"""The squared envelope of a band against closed forms and scipy's Hilbert transform."""

import numpy as np
import pytest
from scipy import signal

from turnwell.sound.orders.angle import Sound
from turnwell.sound.orders.envelope import octaves_below, squared_envelope

RATE_HZ = 48_000.0


def test_a_modulated_tone_gives_the_square_of_its_modulation():
    time_s = np.arange(48_000) / RATE_HZ
    swell = 1.0 + 0.5 * np.cos(2 * np.pi * 200.0 * time_s)
    sound = swell * np.cos(2 * np.pi * 12_000.0 * time_s) + np.cos(2 * np.pi * 3_000.0 * time_s)
    envelope = squared_envelope(
        Sound(sound.astype(np.float32), RATE_HZ), (10_000.0, 20_000.0), 0.2, 0.8
    )
    assert envelope.rate_hz >= 20_000.0
    assert envelope.start_s == pytest.approx(0.2, abs=1e-4)
    at_s = envelope.start_s + np.arange(envelope.samples.size) / envelope.rate_hz
    expected = (1.0 + 0.5 * np.cos(2 * np.pi * 200.0 * at_s)) ** 2
    assert np.abs(envelope.samples - expected)[50:-50].max() < 0.02


@pytest.mark.parametrize("seconds", [0.5, 4.0])
def test_noise_gives_what_scipy_gives(seconds):
    """In one part and in several, whose seams leave no mark."""
    rng = np.random.default_rng(1)
    samples = rng.standard_normal(int(seconds * RATE_HZ)).astype(np.float32)
    lines = np.fft.rfft(samples)
    frequency_hz = np.fft.rfftfreq(samples.size, 1.0 / RATE_HZ)
    lines[(frequency_hz < 6_000.0) | (frequency_hz >= 12_000.0)] = 0.0
    reference = np.abs(signal.hilbert(np.fft.irfft(lines, samples.size))) ** 2
    found = squared_envelope(Sound(samples, RATE_HZ), (6_000.0, 12_000.0), 0.0, seconds)
    finer = round(RATE_HZ / found.rate_hz)
    expected = reference[::finer][: found.samples.size]
    error = (found.samples - expected)[300:-300]
    assert np.sqrt(np.mean(error**2)) < 0.03 * expected.mean()


def test_octaves_go_down_from_the_edge():
    assert octaves_below(40_000.0, 9_000.0) == ((20_000.0, 40_000.0), (10_000.0, 20_000.0))
    assert octaves_below(40_000.0, 30_000.0) == ()
    assert len(octaves_below(40_000.0, 10.0)) == 3
