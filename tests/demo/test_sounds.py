"""The invented recordings carry the speed that they claim."""

import io
import wave

import numpy as np
import pytest

from turnwell.demo.sounds import Running, sound_of, wav_bytes


@pytest.mark.parametrize("speed_rpm", [20_000.0, 352_000.0, 400_000.0])
def test_the_strongest_steady_line_is_the_rotation(speed_rpm: float) -> None:
    samples = sound_of(Running(speed_rpm, drift=0.0), np.random.default_rng(3))
    steady = samples[48_000 : 2 * 48_000] * np.hanning(48_000)
    line_hz = float(np.argmax(np.abs(np.fft.rfft(steady))))
    assert line_hz == pytest.approx(speed_rpm / 60.0, abs=1.0)


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
