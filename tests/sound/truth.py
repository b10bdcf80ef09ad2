"""Makes recordings of invented handpieces whose true speed is known at every instant.

Nothing here is shared with the estimator: the coast-down is integrated step by step from the law
I dω/dt = -(Tc + c1 ω + c2 ω²) by Runge-Kutta, the sound is summed from its lines, and coding is
done by real coders.
"""

from dataclasses import dataclass, field, replace
from io import BytesIO
from math import pi

import av
import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

__all__ = [
    "Colour",
    "Handpiece",
    "Truth",
    "clipped",
    "coloured",
    "encoded",
    "gain_ridden",
    "hum",
    "low_passed",
    "make",
    "melody",
    "speech_like",
]

Floats = NDArray[np.float64]
GRID_HZ = 2_000.0


@dataclass(frozen=True, slots=True)
class Colour:
    """How noise is spread over frequency.

    Its power density at f is a slope, bent flat below 50 Hz, plus humps that are bell-shaped over
    the logarithm of frequency.
    """

    slope_db: float = 0.0  # an octave
    humps: tuple[tuple[float, float, float], ...] = ()  # middle in Hz, width in octaves, dB

    def density(self, frequency_hz: Floats) -> Floats:
        """Power density relative to that of the bare slope at 1 kHz."""
        octaves = np.log2(np.maximum(frequency_hz, 50.0) / 1_000.0)
        level_db = self.slope_db * octaves
        for middle_hz, width, height_db in self.humps:
            away = (octaves - np.log2(middle_hz / 1_000.0)) / width
            level_db = level_db + height_db * np.exp(-0.5 * away * away)
        return 10.0 ** (level_db / 10.0)


@dataclass(frozen=True, slots=True)
class Handpiece:
    """How an invented handpiece runs and sounds."""

    steady_hz: float = 6_500.0
    amplitudes: tuple[float, ...] = (1.0, 0.4, 0.25)
    start_s: float | None = 0.5  # None: already running
    run_up_s: float = 0.15  # time constant
    release_s: float | None = 6.0  # None: never released
    drag: tuple[float, float, float] = (6_000.0, 0.4, 8e-6)  # rad/s², 1/s, 1/rad
    drift: float = 0.0  # slow, relative, one standard deviation
    drift_s: float = 2.0
    wander: float = 0.0  # quick, relative, one standard deviation
    wander_s: float = 0.05
    line_to_noise_db: float = 15.0  # line 1 over the noise in the 128 Hz around it, air on
    room_db: float = -25.0  # noise without air, relative to the jet noise
    tone_drop_db: float = 0.0  # of all lines when the air goes off
    exponent: float = 1.5  # line amplitude with speed
    peak: float = 0.5
    jet: Colour | None = None  # None: jet and room are white
    room: Colour | None = None
    blades: int | None = None  # a line at this order while the air drives the blades
    blade_db: float = -12.0  # re line 1


@dataclass(frozen=True, slots=True, eq=False)
class Truth:
    """Samples and what is true about them; `scale` is what an amplitude of 1 became."""

    samples: NDArray[np.float32]
    rate_hz: float
    grid_s: Floats
    grid_hz: Floats
    handpiece: Handpiece = field(default_factory=Handpiece)
    scale: float = 1.0

    @property
    def time_s(self) -> Floats:
        """Instant of every sample."""
        return np.arange(self.samples.size) / self.rate_hz

    @property
    def line_1_rms(self) -> float:
        """Root mean square of line 1 at full speed, as it lies in the samples."""
        return self.scale * self.handpiece.amplitudes[0] / np.sqrt(2.0)

    def air_at(self, time_s: Floats) -> Floats:
        """Flow of air at instants, 0 to 1."""
        return _air(self.handpiece, time_s)

    def heard_as(self, samples: Floats) -> "Truth":
        """Give the same truth with other samples."""
        return replace(self, samples=np.asarray(samples, np.float32))

    def mean_hz(self, start_s: float, stop_s: float) -> float:
        """True mean rotation frequency between two instants."""
        at = np.linspace(start_s, stop_s, 20_001)
        return float(np.mean(np.interp(at, self.grid_s, self.grid_hz)))

    def at_hz(self, time_s: Floats) -> Floats:
        """True rotation frequency at instants."""
        return np.interp(time_s, self.grid_s, self.grid_hz)


def make(
    handpiece: Handpiece, rng: Generator, *, rate_hz: float = 48_000.0, duration_s: float = 10.0
) -> Truth:
    """Make one recording."""
    grid_s = np.arange(int(duration_s * GRID_HZ) + 2) / GRID_HZ
    grid_hz, air = _speed(handpiece, grid_s, rng)
    count = int(duration_s * rate_hz)
    time_s = np.arange(count) / rate_hz
    speed = np.interp(time_s, grid_s, grid_hz)
    phase = 2.0 * pi * np.cumsum(speed) / rate_hz
    gate = np.interp(time_s, grid_s, air)
    drop = np.where(gate > 0.5, 1.0, 10.0 ** (handpiece.tone_drop_db / 20.0))
    loudness = drop * (speed / handpiece.steady_hz) ** handpiece.exponent
    sound = np.zeros(count)
    for order, amplitude in enumerate(handpiece.amplitudes, start=1):
        audible = order * speed < 0.5 * rate_hz
        start = rng.uniform(0.0, 2.0 * pi)
        sound += np.where(audible, amplitude * loudness * np.cos(order * phase + start), 0.0)
    if handpiece.blades is not None:
        blade_hz = handpiece.blades * speed
        strength = handpiece.amplitudes[0] * 10.0 ** (handpiece.blade_db / 20.0)
        start = rng.uniform(0.0, 2.0 * pi)
        line = strength * gate * loudness * np.cos(handpiece.blades * phase + start)
        sound += np.where(blade_hz < 0.5 * rate_hz, line, 0.0)
    sound += _noise(handpiece, gate, rate_hz, rng)
    scale = handpiece.peak / np.abs(sound).max()
    samples = (sound * scale).astype(np.float32)
    return Truth(samples, rate_hz, grid_s, grid_hz, handpiece, float(scale))


def _noise(handpiece: Handpiece, gate: Floats, rate_hz: float, rng: Generator) -> Floats:
    """Noise of the jet while the air flows, and of the room."""
    # White noise of variance s² holds s² 128 / (rate / 2) in a band of 128 Hz.
    line_power = max(handpiece.amplitudes[0], 1e-6) ** 2 / 2.0
    noise_power = line_power / 10.0 ** (handpiece.line_to_noise_db / 10.0)
    sigma = np.sqrt(noise_power * (rate_hz / 2.0) / 128.0)
    room = 10.0 ** (handpiece.room_db / 20.0)
    if handpiece.jet is None and handpiece.room is None:
        return sigma * (room + (1.0 - room) * gate) * rng.standard_normal(gate.size)
    jet = handpiece.jet or Colour()
    # The jet has its stated density at line 1, whatever it has elsewhere.
    frequency_hz = np.fft.rfftfreq(gate.size, 1.0 / rate_hz)
    at_line_1 = float(jet.density(np.array([handpiece.steady_hz]))[0])
    sigma *= np.sqrt(jet.density(frequency_hz).mean() / at_line_1)
    noise = gate * coloured(gate.size, rate_hz, rng, jet)
    return sigma * (noise + room * coloured(gate.size, rate_hz, rng, handpiece.room or Colour()))


def coloured(count: int, rate_hz: float, rng: Generator, colour: Colour) -> Floats:
    """Normal noise of a colour with variance 1."""
    density = colour.density(np.fft.rfftfreq(count, 1.0 / rate_hz))
    lines = np.fft.rfft(rng.standard_normal(count)) * np.sqrt(density / density.mean())
    return np.fft.irfft(lines, count)


def _speed(handpiece: Handpiece, grid_s: Floats, rng: Generator) -> tuple[Floats, Floats]:
    """Rotation frequency and air (0 to 1) on the grid."""
    steady = handpiece.steady_hz * (
        1.0
        + handpiece.drift * _ornstein_uhlenbeck(grid_s.size, handpiece.drift_s, rng)
        + handpiece.wander * _ornstein_uhlenbeck(grid_s.size, handpiece.wander_s, rng)
    )
    start = handpiece.start_s
    if start is None:
        speed = steady.copy()
    else:
        speed = steady * (1.0 - np.exp(-np.maximum(grid_s - start, 0.0) / handpiece.run_up_s))
    if handpiece.release_s is not None:
        after = np.flatnonzero(grid_s >= handpiece.release_s)
        if after.size:
            speed[after] = _coasting(speed[after[0]], after.size, handpiece.drag)
    return speed, _air(handpiece, grid_s)


def _air(handpiece: Handpiece, time_s: Floats) -> Floats:
    """Flow of air, 0 to 1: full from the start, gone within some 5 ms of the release."""
    start_s = -1.0 if handpiece.start_s is None else handpiece.start_s
    air = (time_s >= start_s).astype(float)
    if handpiece.release_s is not None:
        air *= np.exp(-np.maximum(time_s - handpiece.release_s, 0.0) / 0.005)
    return air


def _coasting(start_hz: float, count: int, drag: tuple[float, float, float]) -> Floats:
    """Rotation frequency while the rotor slows down, one value each grid step."""
    a, b, c = drag

    def slope(omega: float) -> float:
        return -(a + b * omega + c * omega * omega) if omega > 0 else 0.0

    step, omega = 1.0 / GRID_HZ, 2.0 * pi * start_hz
    values = np.zeros(count)
    for index in range(count):
        values[index] = max(omega, 0.0)
        k1 = slope(omega)
        k2 = slope(omega + 0.5 * step * k1)
        k3 = slope(omega + 0.5 * step * k2)
        k4 = slope(omega + step * k3)
        omega += step * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0
        if omega <= 0.0:
            break
    return values / (2.0 * pi)


def _ornstein_uhlenbeck(count: int, time_s: float, rng: Generator) -> Floats:
    """Random walk drawn back to zero, standard deviation 1."""
    keep = np.exp(-1.0 / (GRID_HZ * time_s))
    kicks = rng.standard_normal(count) * np.sqrt(1.0 - keep * keep)
    values = np.empty(count)
    value = rng.standard_normal()
    for index, kick in enumerate(kicks):
        value = keep * value + kick
        values[index] = value
    return values


def encoded(
    samples: NDArray[np.float32], rate_hz: float, kind: str, *, bit_rate: int = 96_000
) -> bytes:
    """Encode by a real coder: wav, flac, mp3, m4a, opus, mp4 (with a picture)."""
    codec, container = {
        "wav": ("pcm_s16le", "wav"),
        "flac": ("flac", "flac"),
        "mp3": ("libmp3lame", "mp3"),
        "m4a": ("aac", "ipod"),
        "mp4": ("aac", "mp4"),
        "opus": ("libopus", "ogg"),
        "webm": ("libopus", "webm"),
    }[kind]
    target = BytesIO()
    with av.open(target, "w", format=container) as output:
        video = output.add_stream("mpeg4", rate=25) if kind == "mp4" else None
        stream = output.add_stream(codec, rate=int(rate_hz))
        stream.layout = "mono"
        if codec not in {"pcm_s16le", "flac"}:
            stream.bit_rate = bit_rate
        if video is not None:
            video.width = video.height = 64
            video.pix_fmt = "yuv420p"
            for index in range(int(25 * samples.size / rate_hz)):
                picture = av.VideoFrame.from_ndarray(
                    np.full((64, 64, 3), index % 255, np.uint8), format="rgb24"
                )
                output.mux(video.encode(picture))
        whole = np.clip(np.rint(samples * 32_767.0), -32_768, 32_767).astype(np.int16)
        for begin in range(0, whole.size, 4_096):
            frame = av.AudioFrame.from_ndarray(
                whole[None, begin : begin + 4_096], format="s16", layout="mono"
            )
            frame.sample_rate = int(rate_hz)
            frame.pts = begin
            output.mux(stream.encode(frame))
        output.mux(stream.encode(None))
    return target.getvalue()


def clipped(samples: NDArray[np.float32], gain: float) -> NDArray[np.float32]:
    """Overdrive to full scale."""
    return np.clip(samples * gain / np.abs(samples).max(), -1.0, 1.0).astype(np.float32)


def gain_ridden(samples: NDArray[np.float32], rate_hz: float) -> NDArray[np.float32]:
    """Hold the loudness constant as an automatic gain does, with a release of 0.3 s."""
    block = int(0.01 * rate_hz)
    count = samples.size // block
    level = np.sqrt(np.mean(samples[: count * block].reshape(count, block) ** 2, axis=1)) + 1e-5
    held = np.empty(count)
    value = level[0]
    for index, now in enumerate(level):
        value = (
            now if now > value else value * np.exp(-0.01 / 0.3) + now * (1 - np.exp(-0.01 / 0.3))
        )
        held[index] = value
    gain = np.interp(np.arange(samples.size), (np.arange(count) + 0.5) * block, 0.1 / held)
    return np.clip(samples * gain, -1.0, 1.0).astype(np.float32)


def low_passed(samples: NDArray[np.float32], rate_hz: float, edge_hz: float) -> NDArray[np.float32]:
    """Cut everything above an edge, as a codec does."""
    lines = np.fft.rfft(samples)
    lines[np.fft.rfftfreq(samples.size, 1.0 / rate_hz) > edge_hz] = 0.0
    return np.fft.irfft(lines, samples.size).astype(np.float32)


def hum(count: int, rate_hz: float, rng: Generator, *, mains_hz: float = 50.0) -> Floats:
    """Mains hum with harmonics of random strength."""
    time_s = np.arange(count) / rate_hz
    total = np.zeros(count)
    for order in range(1, 31):
        strength = rng.uniform(0.1, 1.0) / order**0.7
        start = rng.uniform(0, 2 * pi)
        total += strength * np.cos(2 * pi * mains_hz * order * time_s + start)
    return total / np.abs(total).max()


def speech_like(count: int, rate_hz: float, rng: Generator) -> Floats:
    """Syllables of gliding pitch with formants, pauses and hiss between them."""
    total = np.zeros(count)
    begin = int(rng.uniform(0, 0.2) * rate_hz)
    base = rng.uniform(90, 230)
    while begin < count:
        length = int(rng.uniform(0.08, 0.45) * rate_hz)
        time_s = np.arange(length) / rate_hz
        shape = np.sin(pi * np.arange(length) / length) ** 0.5
        if rng.random() < 0.25:
            voice = rng.standard_normal(length) * 0.2
        else:
            glide = 1.0 + rng.uniform(-0.25, 0.25) * (time_s / time_s[-1] - 0.5)
            pitch = base * rng.uniform(0.8, 1.25) * glide
            pitch = pitch * (1.0 + 0.01 * np.sin(2 * pi * 5 * time_s))
            phase = 2 * pi * np.cumsum(pitch) / rate_hz
            formants = rng.uniform((300, 900, 2_300), (800, 2_200, 3_300))
            voice = np.zeros(length)
            for order in range(1, int(4_000 / base)):
                weight = sum(1 / (1 + ((order * pitch.mean() - f) / 120.0) ** 2) for f in formants)
                voice += weight * np.cos(order * phase) / order**0.5
        stop = min(begin + length, count)
        total[begin:stop] += (voice * shape)[: stop - begin]
        begin += length + int(rng.exponential(0.08) * rate_hz)
    return total / max(np.abs(total).max(), 1e-9)


def melody(count: int, rate_hz: float, rng: Generator, *, voices: int = 2) -> Floats:
    """Notes of the tempered scale with harmonics, in one to several voices."""
    total = np.zeros(count)
    for _ in range(voices):
        begin = 0
        beat_s = rng.choice([0.2, 0.25, 0.4, 0.5])
        while begin < count:
            length = int(beat_s * rng.choice([1, 1, 2]) * rate_hz)
            time_s = np.arange(length) / rate_hz
            note_hz = 220.0 * 2.0 ** (rng.integers(-12, 25) / 12.0)
            shape = np.minimum(time_s / 0.01, 1.0) * np.exp(-time_s / rng.uniform(0.2, 1.5))
            note = sum(
                rng.uniform(0.2, 1.0) / order * np.cos(2 * pi * note_hz * order * time_s)
                for order in range(1, 8)
                if order * note_hz < rate_hz / 2.2
            )
            stop = min(begin + length, count)
            total[begin:stop] += (note * shape)[: stop - begin]
            begin += length
    return total / np.abs(total).max()
