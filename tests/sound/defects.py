"""Adds the sound of a damaged bearing to an invented recording; shares nothing with the estimator.

A spot on a ring or a ball makes impulses in the angle of the shaft, spaced 1/order of a turn with
random slip that adds up, so that they are not periodic. Each rings a resonance. A cage that rubs
makes bursts of noise, once a turn of the cage, through the same resonance.
"""

from dataclasses import dataclass, replace
from math import ceil, pi

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy import signal

from tests.sound.truth import Truth

__all__ = ["Defect", "defective"]

Floats = NDArray[np.float64]
_LOWEST_RATE_HZ = 192_000.0


@dataclass(frozen=True, slots=True)
class Defect:
    """What is damaged and how it sounds.

    `order` is the impulses in a turn of the shaft; `modulation` the turns, in a turn of the shaft,
    with which the damaged spot goes through the loaded zone (0: it stays there); `amplitude` the
    peak of an impulse at full speed relative to line 1's root mean square; `is_rub` tells a cage
    that rubs, whose bursts have that peak as √2 of their root mean square.
    """

    order: float
    amplitude: float
    modulation: float = 0.0
    is_rub: bool = False
    jitter: float = 0.01
    resonance_hz: float = 28_800.0
    quality: float = 12.0
    exponent: float = 1.5


def defective(truth: Truth, defect: Defect, rng: Generator) -> Truth:
    """Give the recording with a damaged bearing in it."""
    finer = ceil(_LOWEST_RATE_HZ / truth.rate_hz)
    rate_hz = finer * truth.rate_hz
    count = finer * truth.samples.size
    turns = np.concatenate(
        [[0.0], np.cumsum(np.diff(truth.grid_s) * (truth.grid_hz[1:] + truth.grid_hz[:-1]) / 2.0)]
    )
    gaps = (1.0 + defect.jitter * rng.standard_normal(int(turns[-1] * defect.order))) / defect.order
    at_turn = rng.uniform(0.0, 1.0 / defect.order) + np.cumsum(np.maximum(gaps, 0.0))
    at_turn = at_turn[at_turn < turns[-1]]
    rising = np.concatenate([[True], np.diff(turns) > 0.0])
    at_s = np.interp(at_turn, turns[rising], truth.grid_s[rising])
    peak = defect.amplitude * truth.line_1_rms
    if defect.is_rub:
        drive = _bursts(defect, at_s, count, rate_hz, rng) * peak
        sample_s = np.arange(count) / rate_hz
        drive *= (truth.at_hz(sample_s) / truth.handpiece.steady_hz) ** defect.exponent
        sound = _resonated(drive.astype(complex), defect, rate_hz)
        # Unit variance into the resonance: bring the bursts to their stated peak.
        gain = np.sqrt(rate_hz * defect.quality / (4.0 * pi * defect.resonance_hz))
        sound /= gain * np.sqrt(2.0)
    else:
        loudness = peak * (truth.at_hz(at_s) / truth.handpiece.steady_hz) ** defect.exponent
        if defect.modulation:
            loudness *= 0.5 + 0.5 * np.cos(2.0 * pi * defect.modulation * at_turn)
        sound = _resonated(_impulses(defect, at_s, loudness, count, rate_hz), defect, rate_hz)
    lines = np.fft.rfft(sound)[: truth.samples.size // 2 + 1]
    heard = np.fft.irfft(lines, truth.samples.size) / finer
    return replace(truth, samples=(truth.samples + heard).astype(np.float32))


def _pole(defect: Defect) -> complex:
    """Decay and frequency of the resonance, rad/s."""
    return 2.0 * pi * defect.resonance_hz * complex(-0.5 / defect.quality, 1.0)


def _impulses(
    defect: Defect, at_s: Floats, loudness: Floats, count: int, rate_hz: float
) -> NDArray[np.complex128]:
    """What drives the resonance, exact between samples."""
    after = np.ceil(at_s * rate_hz).astype(int)
    kept = after < count
    drive = np.zeros(count, complex)
    late = np.exp(_pole(defect) * (after / rate_hz - at_s))
    np.add.at(drive, after[kept], (loudness * late)[kept])
    return drive


def _bursts(
    defect: Defect, at_s: Floats, count: int, rate_hz: float, rng: Generator
) -> NDArray[np.float64]:
    """Noise that swells once a turn of the cage."""
    cage = np.interp(np.arange(count) / rate_hz, at_s, np.arange(at_s.size))
    return np.exp(3.0 * (np.cos(2.0 * pi * cage) - 1.0)) * rng.standard_normal(count)


def _resonated(drive: NDArray[np.complex128], defect: Defect, rate_hz: float) -> Floats:
    """Ring the resonance: each unit impulse becomes exp(-t/τ) sin(2πft)."""
    return np.imag(signal.lfilter([1.0], [1.0, -np.exp(_pole(defect) / rate_hz)], drive))
