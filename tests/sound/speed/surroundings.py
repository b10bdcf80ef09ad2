"""Makes what else is heard in a surgery: compressor, suction, sustained and struck notes.

Like the generator of handpieces it shares nothing with the estimator.
"""

from math import pi

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

__all__ = ["coloured", "compressor", "drone", "suction"]

Floats = NDArray[np.float64]


def coloured(count: int, rate_hz: float, rng: Generator, *, slope_db: float = -3.0) -> Floats:
    """Noise whose density falls by `slope_db` an octave, largest value 1."""
    at_hz = np.fft.rfftfreq(count, 1.0 / rate_hz)
    shape = (np.maximum(at_hz, 20.0) / 1_000.0) ** (slope_db / 20.0 / np.log10(2.0))
    noise = np.fft.irfft(np.fft.rfft(rng.standard_normal(count)) * shape, count)
    return noise / np.abs(noise).max()


def compressor(count: int, rate_hz: float, rng: Generator) -> Floats:
    """A piston compressor on an induction motor: 20 to 50 strokes a second, hum, blows, hiss."""
    time_s = np.arange(count) / rate_hz
    stroke_hz = rng.uniform(20.0, 49.0)
    wander = 1.0 + 0.002 * np.sin(2 * pi * rng.uniform(0.1, 0.7) * time_s + rng.uniform(0, 2 * pi))
    turns = np.cumsum(stroke_hz * wander) / rate_hz
    total = np.zeros(count)
    for order in range(1, 25):
        strength = rng.uniform(0.3, 1.0) / order**0.6
        total += strength * np.cos(2 * pi * order * turns + rng.uniform(0, 2 * pi))
    mains_hz = rng.choice([50.0, 60.0])
    for order, most in ((2, 0.8), (4, 0.3), (6, 0.2)):
        total += most * rng.uniform(0.4, 1.0) * np.cos(2 * pi * mains_hz * order * time_s)
    blow = np.exp(-(turns % 1.0) / 0.12)
    total += rng.uniform(0.2, 2.0) * blow * rng.standard_normal(count)
    return total / np.abs(total).max()


def suction(count: int, rate_hz: float, rng: Generator) -> Floats:
    """Air drawn through a tube: coloured noise with broad resonances that move, and gurgling."""
    noise = coloured(count, rate_hz, rng, slope_db=rng.uniform(-5.0, 0.0))
    time_s = np.arange(count) / rate_hz
    total = noise
    for _ in range(rng.integers(1, 4)):
        # A resonance of the tube: a band of noise, shifted to a place that moves.
        width_hz = rng.uniform(30.0, 400.0)
        slow = np.fft.rfft(rng.standard_normal(count))
        slow *= np.exp(-0.5 * (np.fft.rfftfreq(count, 1.0 / rate_hz) / width_hz) ** 2)
        band = np.fft.irfft(slow, count)
        middle_hz = rng.uniform(300.0, 9_000.0)
        sway = 1.0 + rng.uniform(0.0, 0.1) * np.sin(2 * pi * rng.uniform(0.2, 2.0) * time_s)
        carrier = np.cos(2 * pi * np.cumsum(middle_hz * sway) / rate_hz)
        total = total + rng.uniform(0.05, 0.5) * band / np.abs(band).max() * carrier
    gurgle = 1.0 + rng.uniform(0.0, 0.9) * np.sin(2 * pi * rng.uniform(3.0, 15.0) * time_s)
    total = total * np.maximum(gurgle, 0.05)
    return total / np.abs(total).max()


def drone(count: int, rate_hz: float, rng: Generator, *, voices: int = 2) -> Floats:
    """Sustained notes of the tempered scale, with or without vibrato, each some seconds long."""
    total = np.zeros(count)
    for _ in range(voices):
        begin = 0
        while begin < count:
            length = int(rng.uniform(0.6, 2.5) * rate_hz)
            time_s = np.arange(length) / rate_hz
            pitch_hz = 220.0 * 2.0 ** (rng.integers(-8, 20) / 12.0)
            depth = rng.uniform(0.003, 0.012)
            bend = 1.0 + depth * np.sin(2 * pi * rng.uniform(4.5, 7.0) * time_s)
            turns = np.cumsum(pitch_hz * bend) / rate_hz
            shape = np.minimum(time_s / 0.06, 1.0) * np.minimum((time_s[-1] - time_s) / 0.08, 1.0)
            note = np.zeros(length)
            for order in range(1, 10):
                if order * pitch_hz < rate_hz / 2.2:
                    start = rng.uniform(0, 2 * pi)
                    note += rng.uniform(0.2, 1.0) / order * np.cos(2 * pi * order * turns + start)
            stop = min(begin + length, count)
            total[begin:stop] += (note * shape)[: stop - begin]
            begin += length
    return total / np.abs(total).max()
