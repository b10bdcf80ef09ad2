"""The invented recordings carry the speed that they claim."""

import io
import wave
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from turnwell.demo.sounds import Running, sound_of, wav_bytes


@pytest.mark.parametrize("speed_rpm", [20_000.0, 352_000.0, 400_000.0])
def test_the_strongest_steady_line_is_the_rotation(speed_rpm: float) -> None:
    samples = sound_of(Running(speed_rpm, drift=0.0), np.random.default_rng(3))
    steady = samples[48_000 : 2 * 48_000] * np.hanning(48_000)
    line_hz = float(np.argmax(np.abs(np.fft.rfft(steady))))
    assert line_hz == pytest.approx(speed_rpm / 60.0, abs=1.0)


def test_a_damaged_ring_is_struck_by_every_ball() -> None:
    running = Running(60_000.0, drift=0.0, ring_blow=1.0)
    damaged = sound_of(running, np.random.default_rng(3))
    sound = sound_of(replace(running, ring_blow=0.0), np.random.default_rng(3))
    passes_hz = 1_000.0 * 4.0 * (1.0 - 1.0 / 4.7625)

    def share(samples: NDArray[np.float64]) -> float:
        steady = samples[48_000 : 2 * 48_000]
        # Squared envelope of the band in which the head rings.
        ring = np.fft.irfft(np.where(_within(5_000.0, 17_000.0), np.fft.rfft(steady), 0.0))
        envelope = np.abs(np.fft.rfft(ring**2)) ** 2
        near = slice(round(passes_hz) - 40, round(passes_hz) + 41)
        return float(envelope[near].max() / np.median(envelope[1_500:5_000]))

    assert share(damaged) > 30.0 * share(sound)


def _within(low_hz: float, high_hz: float) -> NDArray[np.bool_]:
    at_hz = np.fft.rfftfreq(48_000, 1.0 / 48_000)
    return (at_hz > low_hz) & (at_hz < high_hz)


def test_the_same_seed_gives_the_same_sound() -> None:
    running = Running(400_000.0, rough=0.5)
    first = sound_of(running, np.random.default_rng(5))
    assert np.array_equal(first, sound_of(running, np.random.default_rng(5)))
    assert not np.array_equal(first, sound_of(running, np.random.default_rng(6)))


def test_the_wav_holds_the_samples() -> None:
    samples = np.array([0.0, 0.5, -0.5, 1.0])
    with wave.open(io.BytesIO(wav_bytes(samples))) as read:
        assert (read.getnchannels(), read.getframerate(), read.getnframes()) == (1, 48_000, 4)
        back = np.frombuffer(read.readframes(4), "<i2") / 32767
    assert back == pytest.approx(samples, abs=1e-4)
