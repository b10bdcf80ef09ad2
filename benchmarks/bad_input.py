"""Bad input: damaged files and arbitrary numbers, and what decoding costs.

    python -m benchmarks bad_input

Everything must be read or refused in one sentence; another error is an escape.
"""

import struct
import time
import tracemalloc
import warnings
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.random import Generator
from tests.sound.test_decode import FILES, RATE_HZ, wav

from turnwell.errors import TurnwellError
from turnwell.sound import Expectation, analyse, read_recording, recording_of

FILE_S = ARRAY_S = 40.0
RATES_HZ = (4_000.0, 8_000.0, 11_025.0, 16_000.0, 44_100.0, 48_000.0, 96_000.0, 768_000.0)
EXPECTATIONS = (
    Expectation(),
    Expectation(handpiece_class="air_turbine_4_hole", label_speed_rpm=400_000.0),
    Expectation(handpiece_class="low_speed_air_motor"),
    Expectation(handpiece_class="contra_angle_increasing", ratio=0.2),
)


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        yield from damaged_files()
        yield from arbitrary_numbers()
    yield from an_hour()


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}


def damaged_files() -> Iterator[dict[str, str]]:
    """Cut files, turn bits and bytes over, take stretches out; analyse some of what is read."""
    rng = np.random.default_rng(1)
    tried = read = escaped = 0
    slowest_s, begin = 0.0, time.perf_counter()
    while time.perf_counter() - begin < FILE_S:
        kind = sorted(FILES)[int(rng.integers(len(FILES)))]
        content = damaged(FILES[kind], rng)
        started = time.perf_counter()
        tried += 1
        try:
            recording = read_recording(BytesIO(content))
            slowest_s = max(slowest_s, time.perf_counter() - started)
            read += 1
            if rng.random() < 0.2:
                analyse(recording)
        except TurnwellError as error:
            escaped += "\n" in str(error)
        except Exception as error:
            escaped += 1
            print(f"  escaped from {kind}: {error!r}")
    measured = f"{escaped} escaped of {tried:,} ({read:,} read), slowest {slowest_s:.2f} s"
    yield row("damaged wav, flac, mp3, m4a, mp4, ogg, webm", measured, "0")


def damaged(content: bytes, rng: Generator) -> bytes:
    """Damage a file at random, its head more often than the rest."""
    broken = bytearray(content)
    if rng.random() < 0.4:
        del broken[int(rng.random() * len(broken)) :]
    for _ in range(int(rng.integers(0, 12)) if broken else 0):
        at = int(rng.random() ** (3 if rng.random() < 0.6 else 1) * len(broken))
        broken[at] = broken[at] ^ (1 << int(rng.integers(8))) if rng.random() < 0.5 else at % 256
    if rng.random() < 0.1:
        at = int(rng.random() * (len(broken) + 1))
        del broken[at : at + int(rng.integers(1, 400))]
    return bytes(broken)


def arbitrary_numbers() -> Iterator[dict[str, str]]:
    """Analyse numbers of every shape, size and rate."""
    rng = np.random.default_rng(2)
    tried = escaped = 0
    begin = time.perf_counter()
    while time.perf_counter() - begin < ARRAY_S:
        rate_hz = float(rng.choice(RATES_HZ))
        count = int(min(10 ** rng.uniform(0, 5.4), 5 * rate_hz))
        samples = shape(count, rate_hz, rng)
        if rng.random() < 0.3:
            samples = samples + 10 ** rng.uniform(-6, -1) * shape(count, rate_hz, rng)
        tried += 1
        try:
            recording = recording_of(np.clip(samples, -99, 99), rate_hz)
            analyse(recording, EXPECTATIONS[int(rng.integers(len(EXPECTATIONS)))]).as_dict()
        except Exception as error:
            escaped += 1
            print(f"  escaped at {rate_hz} with {count} samples: {error!r}")
    yield row("finite numbers analysed", f"{escaped} escaped of {tried:,}", "0")


def shape(count: int, rate_hz: float, rng: Generator) -> np.ndarray:
    """Draw one of many shapes of sound, sane or not."""
    time_s = np.arange(count) / rate_hz
    begin_s = rng.uniform(0, count / rate_hz)
    tone_hz = rng.uniform(1, rate_hz / 2)
    glide_hz = np.linspace(tone_hz, rng.uniform(0, rate_hz / 2), count)
    fall_hz = 6_000 * np.exp(-np.maximum(time_s - begin_s, 0) / rng.uniform(0.1, 3))
    shapes = (
        lambda: rng.standard_normal(count) * 10 ** rng.uniform(-40, 1),
        lambda: np.sign(rng.standard_normal(count)),
        lambda: np.cos(2 * np.pi * tone_hz * time_s) * 10 ** rng.uniform(-30, 1),
        lambda: np.sign(np.cos(2 * np.pi * tone_hz * time_s)),
        lambda: np.cos(2 * np.pi * np.cumsum(glide_hz) / rate_hz),
        lambda: np.cos(2 * np.pi * np.cumsum(fall_hz) / rate_hz) + 1e-3 * rng.random(count),
        lambda: np.where(time_s < begin_s, 1e-38, 90.0),
        lambda: np.repeat(rng.uniform(-1, 1, count // 100 + 1), 100)[:count],
        lambda: np.cos(2 * np.pi * tone_hz * time_s) * (time_s > begin_s),
        lambda: np.full(count, rng.uniform(-90, 90)),
        lambda: np.linspace(-90, 90, count),
        lambda: 1e-45 * rng.integers(0, 3, count),
        lambda: (rng.random(count) < 1e-3) * rng.uniform(-90, 90),
    )
    return np.asarray(shapes[int(rng.integers(len(shapes)))](), np.float64)


def an_hour() -> Iterator[dict[str, str]]:
    """Decode one hour at 48 kHz, its samples a hole in the file."""
    count = 3_600 * RATE_HZ
    head = bytearray(wav([], RATE_HZ, code=1))
    head[4:8] = struct.pack("<I", 36 + 2 * count)
    head[40:44] = struct.pack("<I", 2 * count)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "hour.wav"
        with path.open("wb") as file:
            file.write(head)
            file.truncate(44 + 2 * count)
        begin = time.perf_counter()
        read_recording(path)
        taken_s = time.perf_counter() - begin
        tracemalloc.start()
        nbytes = read_recording(path).samples.nbytes
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
    yield row("memory of decoding one hour", f"{peak / nbytes:.2f} x the samples", "3 x")
    yield row("time of decoding one hour", f"{taken_s:.1f} s", "linear in length")
