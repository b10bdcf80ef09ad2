"""What a room and a recorder do to the sound of a handpiece: each with a stated level.

Sounds that a room adds are given at a root mean square of 1, to be scaled by `added`; what a
recorder does takes samples and gives samples. Nothing here is shared with what looks for it.
"""

from dataclasses import replace
from io import BytesIO
from math import pi

import av
import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from tests.sound.truth import (
    Colour,
    Handpiece,
    Truth,
    clipped,
    coloured,
    encoded,
    hum,
    make,
    speech_like,
)

__all__ = [
    "JET",
    "ROOM",
    "added",
    "clipped_before_coding",
    "coded",
    "compressor",
    "decoded",
    "gain_ridden_by",
    "hum_of",
    "noise_suppressed",
    "rms",
    "second_handpiece",
    "softly_low_passed",
    "speech",
    "spray",
    "suction",
    "with_clock_error",
]

Samples = NDArray[np.float32]
Floats = NDArray[np.float64]

# Broad humps at some kHz and near 20 kHz, above a slope that rises; rooms fall by 5 dB an octave.
JET = Colour(slope_db=1.0, humps=((5_600.0, 0.35, 5.0), (20_100.0, 0.3, 8.0)))
ROOM = Colour(slope_db=-5.0)


def rms(samples: Floats) -> float:
    """Root mean square."""
    return float(np.sqrt(np.mean(np.square(samples, dtype=np.float64))))


def added(truth: Truth, sound: Floats, *, level_db: float) -> Truth:
    """Add a sound at a level in decibels over line 1 at full speed."""
    gain = truth.line_1_rms * 10.0 ** (level_db / 20.0) / rms(sound)
    mixed = truth.samples + gain * sound
    # A recorder's user turns the gain down before it overloads.
    down = min(1.0, 0.9 / float(np.abs(mixed).max()))
    return replace(truth.heard_as(down * mixed), scale=down * truth.scale)


def hum_of(truth: Truth, rng: Generator, *, mains_hz: float = 50.0) -> Floats:
    """Mains hum with harmonics."""
    return _unit(hum(truth.samples.size, truth.rate_hz, rng, mains_hz=mains_hz))


def speech(truth: Truth, rng: Generator) -> Floats:
    """Somebody talking."""
    return _unit(speech_like(truth.samples.size, truth.rate_hz, rng))


def compressor(truth: Truth, rng: Generator, *, pump_hz: float = 24.2) -> Floats:
    """A piston pump: harmonics of its turns, and valves that hiss twice a turn."""
    pump_hz *= 1.0 + rng.uniform(-0.05, 0.05)
    turns = pump_hz * truth.time_s + 0.02 * np.sin(2 * pi * 0.7 * truth.time_s)
    total = np.zeros(turns.size)
    for order in range(1, 25):
        start = rng.uniform(0.0, 2.0 * pi)
        total += rng.uniform(0.2, 1.0) / order**0.8 * np.cos(2 * pi * order * turns + start)
    valves = np.exp(4.0 * (np.cos(4 * pi * turns) - 1.0))
    hiss = coloured(turns.size, truth.rate_hz, rng, Colour(slope_db=-3.0))
    return _unit(_unit(total) + 0.5 * _unit(valves * hiss))


def suction(truth: Truth, rng: Generator) -> Floats:
    """A suction tube: loud noise that falls with frequency, its whistle, and gurgling."""
    humps = ((rng.uniform(800.0, 1_500.0), 0.4, 8.0), (rng.uniform(2_500.0, 4_500.0), 0.15, 8.0))
    noise = coloured(truth.samples.size, truth.rate_hz, rng, Colour(slope_db=-4.0, humps=humps))
    knots = rng.normal(0.0, 2.0, int(truth.samples.size / truth.rate_hz * 8.0) + 3)
    gurgle_db = np.interp(truth.time_s * 8.0, np.arange(knots.size), knots)
    return _unit(noise * 10.0 ** (gurgle_db / 20.0))


def spray(truth: Truth, rng: Generator) -> Floats:
    """Water broken up by the air, as long as the air flows: noise that rises, and drops that hit.

    At a root mean square of 1 while the air flows.
    """
    count, rate_hz = truth.samples.size, truth.rate_hz
    hiss = coloured(count, rate_hz, rng, Colour(slope_db=2.0, humps=((9_000.0, 0.5, 5.0),)))
    strikes = np.zeros(count)
    at = rng.integers(0, count, int(200.0 * count / rate_hz))
    strikes[at] = rng.exponential(1.0, at.size) * rng.choice([-1.0, 1.0], at.size)
    decay = np.exp(-np.arange(int(0.001 * rate_hz)) / (0.0002 * rate_hz))
    drops = np.convolve(strikes, decay)[:count]
    return (hiss + 0.3 * _unit(drops)) / np.sqrt(1.09) * truth.air_at(truth.time_s)


def second_handpiece(truth: Truth, rng: Generator, *, steady_hz: float | None = None) -> Truth:
    """Another handpiece in the room, running throughout, at its own speed and with its own truth.

    Its samples are to be `added` like those of any sound.
    """
    if steady_hz is None:
        steady_hz = truth.handpiece.steady_hz * rng.choice([0.86, 0.92, 1.09, 1.15])
    handpiece = Handpiece(
        steady_hz=steady_hz,
        amplitudes=(1.0, 0.3),
        start_s=None,
        release_s=None,
        drift=0.002,
        wander=1e-4,
        jet=JET,
    )
    duration_s = (truth.samples.size + 1) / truth.rate_hz
    other = make(handpiece, rng, rate_hz=truth.rate_hz, duration_s=duration_s)
    return other.heard_as(other.samples[: truth.samples.size])


def _unit(sound: Floats) -> Floats:
    return sound / rms(sound)


def decoded(content: bytes) -> tuple[Samples, int]:
    """Give the samples of the first channel of a coded file, as floats, and their rate."""
    parts = []
    with av.open(BytesIO(content)) as file:
        resampler = av.AudioResampler(format="fltp", layout="mono")
        for frame in file.decode(audio=0):
            parts += [piece.to_ndarray()[0] for piece in resampler.resample(frame)]
        rate_hz = file.streams.audio[0].rate
    return np.concatenate(parts), rate_hz


def coded(samples: Samples, rate_hz: float, kind: str, *, bit_rate: int = 96_000) -> Samples:
    """Send samples through a real coder and back; Opus needs 8, 12, 16, 24 or 48 kHz."""
    back, back_hz = decoded(encoded(samples, rate_hz, kind, bit_rate=bit_rate))
    if back_hz != rate_hz:
        raise ValueError(f"{kind} gave {back_hz} samples a second of {rate_hz}")
    return back


def clipped_before_coding(
    samples: Samples, rate_hz: float, gain: float, kind: str, *, bit_rate: int = 96_000
) -> Samples:
    """Overdrive a recorder that codes what is left: flat tops become ripples."""
    return coded(clipped(samples, gain), rate_hz, kind, bit_rate=bit_rate)


def gain_ridden_by(
    samples: Samples,
    rate_hz: float,
    *,
    attack_s: float = 0.005,
    release_s: float = 0.3,
    most_db: float = 40.0,
    target: float = 0.1,
) -> Samples:
    """Hold the loudness at a target with a stated attack, release and largest gain."""
    block = max(int(0.002 * rate_hz), 1)
    count = -(-samples.size // block)
    padded = np.zeros(count * block)
    padded[: samples.size] = samples
    level = np.sqrt(np.mean(padded.reshape(count, block) ** 2, axis=1))
    held, value = np.empty(count), float(level[0])
    up, down = (np.exp(-block / rate_hz / time_s) for time_s in (attack_s, release_s))
    for index, now in enumerate(level):
        keep = up if now > value else down
        value = keep * value + (1.0 - keep) * float(now)
        held[index] = value
    highest = 10.0 ** (most_db / 20.0)
    gain = np.minimum(target / np.maximum(held, 1e-9), highest)
    at = (np.arange(count) + 0.5) * block
    ridden = samples * np.interp(np.arange(samples.size), at, gain)
    return np.clip(ridden, -1.0, 1.0).astype(np.float32)


def noise_suppressed(
    samples: Samples,
    rate_hz: float,
    *,
    over_floor_db: float = 9.0,
    attack_s: float = 0.02,
    hold_s: float = 0.1,
    depth_db: float = 80.0,
) -> Samples:
    """Silence the bins that do not rise over their own floor, as voice processing does.

    The floor is followed in every bin by its smallest smoothed power of the last second. A bin
    that rises over it opens within the attack time, stays open for the hold time, and closes
    within the attack time.
    """
    size = 2 * int(0.01 * rate_hz)
    hop = size // 2
    window = np.sqrt(0.5 - 0.5 * np.cos(2.0 * pi * np.arange(size) / size))
    count = samples.size // hop + 2
    padded = np.zeros((count + 1) * hop)
    padded[hop : hop + samples.size] = samples
    frames = np.lib.stride_tricks.sliding_window_view(padded, size)[::hop]
    lines = np.fft.rfft(frames * window, axis=1)
    gain = _gate_gain(
        np.abs(lines) ** 2,
        hop / rate_hz,
        over=10.0 ** (over_floor_db / 10.0),
        attack_s=attack_s,
        hold_s=hold_s,
        least=10.0 ** (-depth_db / 20.0),
    )
    pieces = np.fft.irfft(lines * gain, size, axis=1) * window
    total = np.zeros(padded.size)
    for index, piece in enumerate(pieces):
        total[index * hop : index * hop + size] += piece
    return total[hop : hop + samples.size].astype(np.float32)


def _gate_gain(
    power: Floats, step_s: float, *, over: float, attack_s: float, hold_s: float, least: float
) -> Floats:
    """Gain of every bin in every frame."""
    frames, bins = power.shape
    smooth = np.exp(-step_s / 0.05)
    memory = max(int(1.0 / step_s), 1)
    follow = 1.0 - np.exp(-step_s / attack_s)
    slow = power[0].copy()
    slow_kept = np.empty_like(power)
    now, held = np.zeros(bins), np.zeros(bins)
    gains = np.empty_like(power)
    for index in range(frames):
        slow = smooth * slow + (1.0 - smooth) * power[index]
        slow_kept[index] = slow
        floor = slow_kept[max(index - memory, 0) : index + 1].min(axis=0)
        held = np.where(power[index] > over * floor, hold_s, held - step_s)
        wanted = np.where(held > 0.0, 1.0, least)
        now = now + follow * (wanted - now)
        gains[index] = np.maximum(now, least)
    return gains


def softly_low_passed(
    samples: Samples, rate_hz: float, edge_hz: float, *, width_hz: float = 400.0
) -> Samples:
    """Cut everything above an edge, down by half at the edge, over a raised-cosine width."""
    frequency_hz = np.fft.rfftfreq(samples.size, 1.0 / rate_hz)
    way = np.clip((frequency_hz - edge_hz) / width_hz + 0.5, 0.0, 1.0)
    lines = np.fft.rfft(samples) * (0.5 + 0.5 * np.cos(pi * way))
    return np.fft.irfft(lines, samples.size).astype(np.float32)


def with_clock_error(samples: Samples, ppm: float) -> Samples:
    """Record by a clock that runs fast by some parts in a million: more samples of the same sound.

    Every frequency is heard lower by as much. The stretch is rounded to whole samples, so the
    recording must be long: the number asked for must stand for 5 samples at least.
    """
    more = samples.size * ppm * 1e-6
    if abs(more) < 5.0:
        raise ValueError(f"{ppm} ppm are {more:.1f} samples of {samples.size}; take a longer one")
    count = samples.size + round(more)
    # Twice the length and mirrored, so that the ends meet and nothing rings there.
    lines = np.fft.rfft(np.concatenate([samples, samples[::-1]]))
    return (np.fft.irfft(lines, 2 * count)[:count] * count / samples.size).astype(np.float32)
