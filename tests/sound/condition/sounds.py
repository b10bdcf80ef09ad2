"""Coast-downs whose growth and roughness are known, on top of the recordings of `truth`."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from tests.sound.truth import Handpiece, Truth, make
from turnwell.sound.segment import SegmentKind
from turnwell.sound.speed.turning import Turning

__all__ = ["Rough", "coasting", "echoed", "resonating", "rough", "structured", "turning_of"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Rough:
    """A recording and the roughness it truly has, in dB."""

    truth: Truth
    level_db: float


def turning_of(truth: Truth, *, down_to: float = 0.06) -> Turning:
    """The coast-down as one who knows the speed would hand it over, some points a tenth apart."""
    after = (truth.grid_s >= truth.handpiece.release_s) & (
        truth.grid_hz > down_to * truth.handpiece.steady_hz
    )
    time_s, rotation_hz = truth.grid_s[after][::8], truth.grid_hz[after][::8]
    return Turning(SegmentKind.COAST_DOWN, time_s, rotation_hz, np.full(time_s.size, 0.5))


def coasting(**changed: object) -> Handpiece:
    """A turbine that runs for 1.5 s and coasts in a quiet room."""
    usual = Handpiece(
        release_s=1.5,
        start_s=0.6,
        run_up_s=0.05,
        room_db=-35.0,
        line_to_noise_db=20.0,
        drag=(6_000.0, 0.5, 1e-5),
    )
    return replace(usual, **changed)


def resonating(
    truth: Truth, rng: Generator, *, resonance_hz: float, sharpness: float, room: float = 1e-4
) -> Truth:
    """The same shaft's line 1 heard through one mode: amplitude p-th power times its response.

    The response is that of a mass on a spring, 1 / (1 - r² + i r/Q), and holds for the line's
    instantaneous frequency, which is true where the speed changes little while the mode rings.
    """
    speed = truth.at_hz(truth.time_s)
    ratio = speed / resonance_hz
    response = 1.0 / (1.0 - ratio**2 + 1j * ratio / sharpness)
    line = (speed / truth.handpiece.steady_hz) ** truth.handpiece.exponent * response
    turns = np.cumsum(speed) / truth.rate_hz
    sound = (line * np.exp(2j * np.pi * turns)).real
    sound = 0.5 * sound / np.abs(sound).max() + room * rng.standard_normal(sound.size)
    return truth.heard_as(sound)


def rough(
    handpiece: Handpiece,
    rng: Generator,
    *,
    over_line_db: float,
    power: float = 1.0,
    rate_hz: float = 48_000.0,
    duration_s: float = 5.0,
) -> Rough:
    """Add white noise whose amplitude goes as a power of the speed.

    Parameters
    ----------
    over_line_db : float
        Noise in one order over line 1, at full speed.
    """
    truth = make(handpiece, rng, rate_hz=rate_hz, duration_s=duration_s)
    full_hz = handpiece.steady_hz
    line = truth.scale**2 * handpiece.amplitudes[0] ** 2 / 2.0
    line *= 10.0 ** (handpiece.tone_drop_db / 10.0)
    # White noise of variance v has the density 2 v / rate, and full_hz times that in one order.
    variance = line * 10.0 ** (over_line_db / 10.0) * rate_hz / (2.0 * full_hz)
    share = truth.at_hz(truth.time_s) / full_hz
    noise = np.sqrt(variance) * share**power * rng.standard_normal(share.size)
    # The quadrature of the definition, over the logarithm of speed.
    speed = np.exp(np.linspace(np.log(0.4), np.log(0.8), 2_001))
    between = np.mean(10.0 ** (over_line_db / 10.0) * speed ** (2.0 * power + 1.0))
    level_db = 10.0 * np.log10(between / np.mean(speed ** (2.0 * handpiece.exponent)))
    return Rough(truth.heard_as(truth.samples + noise), float(level_db))


def echoed(truth: Truth, rng: Generator, *, strength: float, paths: int = 3) -> Truth:
    """The same sound with reflections from bench and walls, each a delay and a share.

    They raise and lower the level of a line as its frequency sweeps, by some decibels in turn.
    """
    total = truth.samples.astype(np.float64)
    for _ in range(paths):
        delay = int(rng.uniform(3e-4, 2e-3) * truth.rate_hz)
        share = strength * rng.uniform(0.3, 1.0) * rng.choice([-1.0, 1.0])
        total[delay:] += share * truth.samples[:-delay]
    return truth.heard_as(0.5 * total / np.abs(total).max())


def structured(truth: Truth, rng: Generator, *, strength: float, room: float = 1e-4) -> Truth:
    """The same shaft's line 1 heard through a structure of five modes beside its direct sound.

    Each mode adds up to `strength` of the direct sound at its own frequency, in or against its
    phase, and r² / (1 - r² + i r/Q) of that away from it.
    """
    speed = truth.at_hz(truth.time_s)
    share = speed / truth.handpiece.steady_hz
    response = np.ones(speed.size, complex)
    for _ in range(5):
        ratio = share / np.exp(rng.uniform(np.log(0.08), np.log(1.3)))
        sharpness = rng.uniform(3.0, 15.0)
        part = strength * rng.uniform(-1.0, 1.0) / sharpness
        response += part * ratio**2 / (1.0 - ratio**2 + 1j * ratio / sharpness)
    turns = np.cumsum(speed) / truth.rate_hz
    line = share**truth.handpiece.exponent * response
    sound = (line * np.exp(2j * np.pi * turns)).real
    sound = 0.5 * sound / np.abs(sound).max() + room * rng.standard_normal(sound.size)
    return truth.heard_as(sound)
