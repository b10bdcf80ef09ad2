"""Invented recordings of handpieces: they go through the same analysis as real ones.

A rotor runs up, holds its speed with a slow drift, and coasts down once the air is off. It is heard
as its rotation line and harmonics, over the jet's noise while air flows and a room's noise always.
A worn bearing adds roughness and stops the rotor sooner; a damaged ring rings the head whenever a
ball rolls over the place.
"""

import io
import wave
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from turnwell.units import rpm_to_hz

__all__ = ["Running", "sound_of", "wav_bytes"]

HARMONICS = (1.0, 0.34, 0.18, 0.09)
FULL_SCALE = 32767
# An unbalance pushes with the square of the speed; what rubs and rolls grows more slowly.
TONE_GROWTH, NOISE_GROWTH = 2.0, 1.5
# Balls that pass a place on the outer ring a turn: eight of 1.0 mm on a pitch of 4.7625 mm.
OUTER_RING = 4.0 * (1.0 - 1.0 / 4.7625)
SLIP = 0.01
HEAD_HZ, HEAD_Q = 11_000.0, 8.0


@dataclass(frozen=True, slots=True)
class Running:
    """How one handpiece runs while it is recorded.

    Parameters
    ----------
    speed_rpm : float
        Steady speed of the rotor, > 0.
    rough : float
        0 for a quiet bearing, 1 for one that growls.
    coast_s : float
        Time from shutting the air off to standing still, > 0.
    steady_s : float
        Time at speed, > 0.
    drift : float
        Relative size of the slow drift of the speed.
    ring_blow : float
        Height of the ringing as a ball passes a damaged place of the outer ring, over that of the
        rotation line; 0 for a sound ring.
    """

    speed_rpm: float
    rough: float = 0.0
    coast_s: float = 2.4
    steady_s: float = 2.2
    drift: float = 0.0008
    ring_blow: float = 0.0


def sound_of(
    running: Running, rng: np.random.Generator, *, rate_hz: int = 48_000
) -> NDArray[np.float64]:
    """Give the samples of a recording, between -1 and 1.

    Parameters
    ----------
    running : Running
        What runs, and how.
    rng : numpy.random.Generator
        Source of all chance.
    rate_hz : int
        Samples per second, > 0.

    Returns
    -------
    array, shape (n,)
    """
    rotation_hz, air = _rotation(running, rng, rate_hz)
    angle = 2.0 * pi * np.cumsum(rotation_hz) / rate_hz
    top_hz = rpm_to_hz(running.speed_rpm)
    share = rotation_hz / top_hz
    tone = np.zeros_like(angle)
    for order, size in enumerate(HARMONICS, start=1):
        if order * top_hz < 0.46 * rate_hz:
            tone += size * np.sin(order * angle + rng.uniform(0.0, 2.0 * pi))
    roughness = _rumble(angle, running.rough, rng)
    roughness += 0.5 * running.ring_blow * _blows(angle, rate_hz, rng)
    jet = 0.16 * air * _coloured(angle.size, rng)
    room = 0.003 * rng.standard_normal(angle.size)
    sound = 0.5 * share**TONE_GROWTH * tone + share**NOISE_GROWTH * roughness + jet + room
    return np.asarray(0.6 * sound / np.max(np.abs(sound)))


def wav_bytes(samples: NDArray[np.float64], *, rate_hz: int = 48_000) -> bytes:
    """Give the samples as a mono 16-bit WAV file.

    Parameters
    ----------
    samples : array, shape (n,)
        Between -1 and 1.
    rate_hz : int
        Samples per second, > 0.
    """
    file = io.BytesIO()
    with wave.open(file, "wb") as written:
        written.setnchannels(1)
        written.setsampwidth(2)
        written.setframerate(rate_hz)
        written.writeframes((samples * FULL_SCALE).astype("<i2").tobytes())
    return file.getvalue()


def _rotation(
    running: Running, rng: np.random.Generator, rate_hz: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Rotation frequency and how much air flows, sample by sample."""
    quiet, run_up, tail = (round(part * rate_hz) for part in (0.25, 0.5, 0.4))
    steady, coast = round(running.steady_s * rate_hz), round(running.coast_s * rate_hz)
    top_hz = rpm_to_hz(running.speed_rpm)
    rise = 1.0 - np.exp(-np.arange(run_up) / (0.09 * rate_hz))
    slow = np.interp(
        np.arange(steady), np.linspace(0, steady, 9), running.drift * rng.standard_normal(9)
    )
    slow -= slow[0]
    # Bearing drag alone slows the rotor along a line, air drag along a curve: a mixture of both.
    left = 1.0 - np.arange(coast) / coast
    fall = np.maximum(0.65 * left + 0.35 * left**3, 0.0)
    rotation = np.concatenate(
        [np.zeros(quiet), rise, 1.0 + slow, (1.0 + slow[-1]) * fall, np.zeros(tail)]
    )
    air = np.zeros_like(rotation)
    air[quiet : quiet + run_up + steady] = 1.0
    soft = np.hanning(round(0.02 * rate_hz))
    return top_hz * rotation, np.convolve(air, soft / soft.sum(), mode="same")


def _rumble(
    angle: NDArray[np.float64], rough: float, rng: np.random.Generator
) -> NDArray[np.float64]:
    """Noise that swells with the shaft's turn, as worn raceways make it under a bent bur."""
    if rough <= 0.0:
        return np.zeros_like(angle)
    swell = 0.6 + 0.4 * np.cos(angle)
    return np.asarray(0.22 * rough * swell * rng.standard_normal(angle.size))


def _blows(
    angle: NDArray[np.float64], rate_hz: int, rng: np.random.Generator
) -> NDArray[np.float64]:
    """Ringing of the head after each ball that passes the damaged place, about 1 high."""
    turns = angle / (2.0 * pi)
    gaps = rng.normal(1.0, SLIP, int(OUTER_RING * turns[-1]) + 1) / OUTER_RING
    at = np.searchsorted(turns, np.cumsum(gaps))
    struck = np.bincount(at[at < angle.size], minlength=angle.size).astype(np.float64)
    after_s = np.arange(round(0.002 * rate_hz)) / rate_hz
    ringing = np.exp(-pi * HEAD_HZ / HEAD_Q * after_s) * np.sin(2.0 * pi * HEAD_HZ * after_s)
    size = angle.size + ringing.size
    rung = np.fft.irfft(np.fft.rfft(struck, size) * np.fft.rfft(ringing, size), size)
    return np.asarray(rung[: angle.size], np.float64)


def _coloured(size: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """White noise with its low end taken off, as a jet hisses."""
    white = rng.standard_normal(size + 1)
    return np.diff(white)
