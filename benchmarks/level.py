"""Sound level and agreement: error against tables and filters, coverage, and time.

    python -m benchmarks level

Each line holds what was measured and what was aimed at.
"""

import time
import tracemalloc
from collections.abc import Iterator

import numpy as np
from numpy.random import Generator, default_rng
from scipy import signal, stats

from turnwell.sound.agreement import SpeedPair, agreement_of, limits_of, own_check_part
from turnwell.sound.level.bands import bands_between, power_in, power_spectrum
from turnwell.sound.level.meter import metered
from turnwell.sound.level.sound_level import SoundLevel, level_of
from turnwell.sound.level.weighting import POLES_HZ, a_weighting_db
from turnwell.sound.recording import recording_of

RATE_HZ = 48_000.0


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    yield weighting()
    yield from tones()
    yield bands()
    yield equivalent_level()
    yield from cost()
    yield from limits_covered()
    yield from next_speed_covered()


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}


def weighting() -> dict[str, str]:
    """Farthest from an analogue filter with the poles as the standard rounds them."""
    frequency_hz = np.geomspace(10.0, 20_000.0, 2_000)
    expected = _analogue_db(frequency_hz) - _analogue_db(np.array([1_000.0]))
    worst = np.max(np.abs(a_weighting_db(frequency_hz) - expected))
    return row("weighting A, 10 Hz to 20 kHz", f"{worst:.4f} dB at most", "0.05 dB")


def tones() -> Iterator[dict[str, str]]:
    """Levels of single tones in noise 40 dB below them, whatever frequency and phase."""
    rng = default_rng(1)
    weighted, banded = [], []
    third_octaves = bands_between(40.0, 22_000.0)
    for _ in range(200):
        tone_hz = float(np.exp(rng.uniform(np.log(50.0), np.log(17_000.0))))
        time_s = np.arange(int(2 * RATE_HZ)) / RATE_HZ
        tone = np.sin(2.0 * np.pi * tone_hz * time_s + rng.uniform(0.0, 6.28))
        samples = tone.astype(np.float32)
        expected = 10.0 * np.log10(0.5) + float(a_weighting_db([tone_hz])[0])
        weighted.append(10.0 * np.log10(metered(samples, RATE_HZ).mean) - expected)
        edges = [edge for band in third_octaves for edge in (band.low_hz, band.high_hz)]
        if min(abs(tone_hz - edge) for edge in edges) > 2.5:
            power = power_in(power_spectrum(samples, RATE_HZ), third_octaves)
            banded.append(10.0 * np.log10(2.0 * float(np.nanmax(power))))
    yield row("A-weighted level of 200 tones", f"{np.max(np.abs(weighted)):.3f} dB at most", "0.1")
    yield row("third octave of the same", f"{np.max(np.abs(banded)):.3f} dB at most", "0.1")


def bands() -> dict[str, str]:
    """Noise in each band against a steep filter in time."""
    noise = default_rng(2).standard_normal(int(30 * RATE_HZ))
    third_octaves = bands_between(100.0, 16_000.0)
    ours = power_in(power_spectrum(noise.astype(np.float32), RATE_HZ), third_octaves)
    away = []
    for band, power in zip(third_octaves, ours, strict=True):
        edges = [band.low_hz, band.high_hz]
        plan = signal.butter(12, edges, "bandpass", fs=RATE_HZ, output="sos")
        away.append(10.0 * np.log10(power / np.mean(signal.sosfilt(plan, noise) ** 2)))
    return row(f"noise in {len(away)} bands", f"{np.max(np.abs(away)):.3f} dB at most", "0.1 dB")


def equivalent_level() -> dict[str, str]:
    """Noise below 8 kHz against a digital filter that runs far above it."""
    rate_hz = 192_000.0
    low = signal.butter(8, 8_000.0, fs=rate_hz, output="sos")
    noise = signal.sosfilt(low, default_rng(3).standard_normal(int(10 * rate_hz)))
    first, second, third, last = (-2.0 * np.pi * pole for pole in POLES_HZ)
    poles = [first, first, second, third, last, last]
    _, at_reference = signal.freqs_zpk([0.0] * 4, poles, 1.0, [2.0 * np.pi * 1_000.0])
    plan = signal.bilinear_zpk([0.0] * 4, poles, 1.0 / abs(at_reference[0]), rate_hz)
    expected = np.mean(signal.sosfilt(signal.zpk2sos(*plan), noise) ** 2)
    found = metered(noise.astype(np.float32), rate_hz).mean
    return row("A-weighted noise", f"{10.0 * np.log10(found / expected):+.3f} dB", "0.05 dB")


def cost() -> Iterator[dict[str, str]]:
    """Time and memory of a whole level."""
    rng = default_rng(4)
    time_s = np.arange(5 * 96_000) / 96_000.0
    source = 0.1 * np.sin(2.0 * np.pi * 1_000.0 * time_s) + 1e-4 * rng.standard_normal(time_s.size)
    calibrator = recording_of(source, 96_000.0)
    for seconds in (10.0, 100.0):
        noise = 0.05 * rng.standard_normal(int(seconds * 96_000))
        recording = recording_of(noise, 96_000.0)
        tracemalloc.start()
        level = level_of(recording, calibrator)
        peak = tracemalloc.get_traced_memory()[1] / recording.samples.nbytes
        tracemalloc.stop()
        assert isinstance(level, SoundLevel)
        began = time.perf_counter()
        level_of(recording, calibrator)
        took = time.perf_counter() - began
        yield row(f"level of {seconds:.0f} s at 96 kHz", f"{took:.2f} s, {peak:.1f} x", "-, 20 x")


def limits_covered() -> Iterator[dict[str, str]]:
    """How often the intervals hold the true bias and limits, by the number of pairs."""
    rng = default_rng(5)
    for count in (10, 20, 50):
        held = np.zeros(3)
        for _ in range(4_000):
            found = limits_of(rng.standard_normal(count))
            for at, (part, truth) in enumerate(
                zip((found.lower, found.bias, found.upper), (-1.959964, 0.0, 1.959964), strict=True)
            ):
                held[at] += part.low <= truth <= part.high
        shares = ", ".join(f"{100.0 * share / 4_000:.1f}" for share in held)
        yield row(f"lower, bias, upper held, {count} pairs", f"{shares} %", "95 %")


def next_speed_covered() -> Iterator[dict[str, str]]:
    """How often the own check's part holds the next speed's error, the bias left in."""
    rng = default_rng(6)
    for bias in (0.0, 0.5, 1.0, 2.0, 5.0):
        for tachometer in (0.0, 3.0):
            held = sum(_held(rng, bias, tachometer) for _ in range(2_000))
            what = f"next speed held, bias {bias:g} s, tachometer ± {tachometer:g} s"
            yield row(what, f"{held / 20.0:.1f} %", ">= 95 %")


def _held(rng: Generator, bias: float, tachometer: float) -> bool:
    """Draw a shop, check it with ten pairs, and see whether its next speed is held."""
    scale = 100e-6
    shown = 400_000.0 * (1.0 + scale * rng.uniform(-tachometer, tachometer))
    errors = bias + rng.standard_normal(11)
    heard = 400_000.0 * (1.0 + scale * errors)
    bound = 400_000.0 * scale * tachometer
    part = own_check_part(agreement_of([SpeedPair(h, shown, bound) for h in heard[:10]]), 4e5)
    assert part is not None
    factor = float(stats.t.ppf(0.975, part.degrees))
    return bool(abs(heard[10] - 400_000.0) <= factor * part.standard)


def _analogue_db(frequency_hz: np.ndarray) -> np.ndarray:
    first, second, third, last = (-2.0 * np.pi * pole for pole in (20.60, 107.7, 737.9, 12_194.0))
    poles = [first, first, second, third, last, last]
    _, response = signal.freqs_zpk([0.0] * 4, poles, 1.0, 2.0 * np.pi * frequency_hz)
    return np.asarray(20.0 * np.log10(np.abs(response)))
