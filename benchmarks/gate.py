"""The gate: what it finds in recordings whose faults are known, and how near its edge comes.

    python -m benchmarks gate

Recordings come from the generator of the tests, which shares nothing with what looks for faults.
"""

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
from numpy.random import Generator
from scipy.signal import welch
from tests.sound.disturbances import (
    JET,
    ROOM,
    added,
    clipped_before_coding,
    coded,
    compressor,
    gain_ridden_by,
    hum_of,
    noise_suppressed,
    second_handpiece,
    softly_low_passed,
    speech,
    spray,
    suction,
)
from tests.sound.truth import Handpiece, Truth, clipped, gain_ridden, make, speech_like

from turnwell.sound.gate.band import band_findings
from turnwell.sound.gate.edge import codec_edge_hz
from turnwell.sound.gate.findings import gate_of
from turnwell.sound.gate.gain import gain_riding
from turnwell.sound.gate.speech import only_speech
from turnwell.sound.recording import recording_of
from turnwell.sound.speed import plateaus
from turnwell.sound.speed.spectra import Spectra

RUNS = 60


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    yield from confusion()
    yield from edges()


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}


def invented(
    rng: Generator, *, rate_hz: float | None = None, room_db: float | None = None
) -> Truth:
    """Draw a handpiece, its room and its run."""
    is_turbine = rng.random() < 0.7
    is_white = rng.random() < 0.3
    handpiece = Handpiece(
        steady_hz=rng.uniform(4_500, 7_500) if is_turbine else rng.uniform(150, 700),
        amplitudes=(1.0, *rng.uniform(0.05, 0.9, int(rng.integers(0, 5)))),
        start_s=rng.choice([None, 0.4]),
        release_s=rng.uniform(2.5, 3.5),
        drag=(rng.uniform(3e3, 8e3), rng.uniform(0.2, 0.6), rng.uniform(3e-6, 1e-5))
        if is_turbine
        else (rng.uniform(300, 900), 0.5, 0.0),
        drift=0.002,
        wander=1e-4,
        line_to_noise_db=rng.uniform(8, 30),
        room_db=rng.uniform(-45, -15) if room_db is None else room_db,
        tone_drop_db=rng.uniform(-12, 0),
        peak=rng.uniform(0.1, 0.9),
        jet=None if is_white else JET,
        room=None if is_white else ROOM,
    )
    rate_hz = float(rng.choice([44_100, 48_000, 96_000])) if rate_hz is None else rate_hz
    return make(handpiece, rng, rate_hz=rate_hz, duration_s=6.0)


def clean(rng: Generator) -> Truth:
    return invented(rng)


def in_a_loud_room(rng: Generator) -> Truth:
    truth = invented(rng)
    sound = (hum_of, speech, compressor, suction, spray)[int(rng.integers(5))]
    return added(truth, sound(truth, rng), level_db=rng.uniform(-20, 0))


def beside_another(rng: Generator) -> Truth:
    truth = invented(rng)
    return added(truth, second_handpiece(truth, rng).samples, level_db=rng.uniform(-25, -6))


def well_coded(rng: Generator) -> Truth:
    truth = invented(rng, rate_hz=48_000.0)
    kind, bit_rate = (("m4a", 160_000), ("opus", 128_000), ("mp3", 256_000))[int(rng.integers(3))]
    return truth.heard_as(coded(truth.samples, 48_000.0, kind, bit_rate=bit_rate))


def overdriven(rng: Generator) -> Truth:
    truth = invented(rng)
    return truth.heard_as(clipped(truth.samples, rng.uniform(3.0, 20.0)))


def overdriven_and_turned_down(rng: Generator) -> Truth:
    truth = invented(rng)
    return truth.heard_as(rng.uniform(0.2, 0.9) * clipped(truth.samples, rng.uniform(3.0, 20.0)))


def overdriven_and_coded(rng: Generator) -> Truth:
    truth = invented(rng, rate_hz=48_000.0)
    kind, bit_rate = coder(rng)
    gain = rng.uniform(3.0, 20.0)
    heard = clipped_before_coding(truth.samples, 48_000.0, gain, kind, bit_rate=bit_rate)
    return truth.heard_as(heard)


def coder(rng: Generator) -> tuple[str, int]:
    """Draw a lossy coder and its bit rate."""
    kinds = (("m4a", 64_000), ("m4a", 128_000), ("mp3", 96_000), ("mp3", 192_000), ("opus", 64_000))
    return kinds[int(rng.integers(len(kinds)))]


def low_passed(rng: Generator) -> Truth:
    truth = invented(rng)
    edge_hz = float(rng.choice([8_000, 12_000, 15_000, 16_500]))
    heard = softly_low_passed(truth.samples, truth.rate_hz, edge_hz, width_hz=rng.uniform(50, 500))
    return truth.heard_as(heard + 1e-6 * rng.standard_normal(heard.size))


def gain_rode(rng: Generator) -> Truth:
    truth = invented(rng)
    if rng.random() < 0.3:
        return truth.heard_as(gain_ridden(truth.samples, truth.rate_hz))
    heard = gain_ridden_by(
        truth.samples,
        truth.rate_hz,
        attack_s=rng.uniform(0.002, 0.02),
        release_s=10 ** rng.uniform(-0.7, 0.1),
        most_db=rng.uniform(20, 40),
        target=rng.uniform(0.05, 0.2),
    )
    return truth.heard_as(heard)


def voice_processed(rng: Generator) -> Truth:
    truth = invented(rng)
    heard = noise_suppressed(
        truth.samples,
        truth.rate_hz,
        over_floor_db=rng.uniform(6, 12),
        attack_s=rng.uniform(0.005, 0.03),
        hold_s=rng.uniform(0.02, 0.15),
        depth_db=rng.uniform(12, 60),
    )
    return truth.heard_as(heard)


def far_away(rng: Generator) -> Truth:
    truth = invented(rng)
    gain = 10 ** rng.uniform(-3.5, -2.8) / np.abs(truth.samples).max()
    return truth.heard_as(gain * truth.samples)


def cut_short(rng: Generator) -> Truth:
    truth = invented(rng)
    count = int(rng.uniform(0.01, 0.29) * truth.rate_hz)
    return truth.heard_as(truth.samples[count : 2 * count])


def only_talk(rng: Generator) -> Truth:
    truth = stopped(rng)
    voice = speech_like(truth.samples.size, truth.rate_hz, rng)
    noise = 10 ** rng.uniform(-4, -2) * truth.samples / np.abs(truth.samples).max()
    return truth.heard_as(rng.uniform(0.05, 0.9) * (voice + noise) / 1.1)


def stopped(rng: Generator) -> Truth:
    """Record a room, or a jet, without any line."""
    truth = invented(rng)
    handpiece = replace(truth.handpiece, amplitudes=(1e-6,), line_to_noise_db=0.0)
    return make(handpiece, rng, rate_hz=truth.rate_hz, duration_s=6.0)


def stopped_in_a_loud_room(rng: Generator) -> Truth:
    truth = invented(rng)
    sound = (compressor, suction, hum_of)[int(rng.integers(3))](truth, rng)
    noise = 10 ** rng.uniform(-3, -1) * rng.standard_normal(sound.size)
    return truth.heard_as(0.1 * (sound + noise))


def too_slowly_sampled(rng: Generator) -> Truth:
    truth = invented(rng, rate_hz=float(rng.choice([8_000, 11_025, 16_000])))
    return replace(truth, handpiece=replace(truth.handpiece, steady_hz=rng.uniform(7_300, 8_333)))


def voice_message(rng: Generator) -> Truth:
    truth = invented(rng, rate_hz=48_000.0)
    heard = softly_low_passed(truth.samples, 48_000.0, rng.uniform(3_400, 7_000))
    heard = heard + 1e-6 * rng.standard_normal(heard.size)
    turning = replace(truth.handpiece, steady_hz=rng.uniform(7_300, 8_333))
    return replace(truth.heard_as(heard), handpiece=turning)


def in_few_steps(rng: Generator) -> Truth:
    truth = invented(rng)
    steps = float(rng.integers(1, 20)) / np.abs(truth.samples).max()
    return truth.heard_as(np.rint(truth.samples * steps) / steps)


Scene = Callable[[Generator], Truth]
FAULTS: dict[str, tuple[Scene, str]] = {
    "overdriven": (overdriven, "clipped"),
    "overdriven, then turned down": (overdriven_and_turned_down, "clipped"),
    "overdriven, then coded": (overdriven_and_coded, "clipped"),
    "low-passed": (low_passed, "codec_edge"),
    "gain rode": (gain_rode, "gain_rides"),
    "noise suppressed": (voice_processed, "noise_suppressed"),
    "far away": (far_away, "quiet"),
    "cut short": (cut_short, "too_short"),
    "in few steps": (in_few_steps, "coarse"),
    "only talk": (only_talk, "speech"),
    "sampled too slowly": (too_slowly_sampled, "rate_low"),
    "voice message": (voice_message, "edge_low"),
}
NO_FAULTS: dict[str, Scene] = {
    "clean": clean,
    "in a loud room": in_a_loud_room,
    "beside another handpiece": beside_another,
    "well coded": well_coded,
    "nothing turns": stopped,
    "nothing turns, loud room": stopped_in_a_loud_room,
}


# Recordings in which no shaft is found: there the gate is asked whether it is speech.
SILENT_SHAFT = (only_talk, stopped, stopped_in_a_loud_room)
LOSSY = (well_coded, overdriven_and_coded)


def found_in(truth: Truth, scene: Scene) -> set[str]:
    """Keys of what the gate finds, speed and release being known."""
    codec = "aac" if scene in LOSSY else "array"
    recording = recording_of(truth.samples, truth.rate_hz, codec=codec)
    spectra = long_spectra(truth)
    edge_hz = codec_edge_hz(spectra, truth.rate_hz)
    findings = gate_of(recording, spectra, edge_hz)
    if scene in SILENT_SHAFT:
        findings = only_speech(spectra, findings)
    else:
        findings += gain_riding(
            spectra, [(truth.handpiece.release_s, recording.duration_s)], edge_hz
        )
        findings += band_findings(truth.rate_hz, edge_hz, truth.handpiece.steady_hz)
    return {finding.key for finding in findings}


def long_spectra(truth: Truth) -> Spectra:
    """Give the spectra that the gate is given."""
    return plateaus.long_spectra(truth.samples, truth.rate_hz)


def confusion(runs: int = RUNS) -> Iterator[dict[str, str]]:
    """Count what is found in recordings with one fault and with none."""
    for name, (scene, key) in FAULTS.items():
        rng = np.random.default_rng(10)
        found = Counter(other for _ in range(runs) for other in found_in(scene(rng), scene))
        besides = {k: n for k, n in sorted(found.items()) if k != key}
        measured = f"{100 * found[key] / runs:.1f} %; besides it {besides or 'nothing'}"
        yield row(f"{name}: {key} found", measured, ">= 95 %")
    for name, scene in NO_FAULTS.items():
        rng = np.random.default_rng(11)
        found = Counter()
        flagged = 0
        for _ in range(runs):
            keys = found_in(scene(rng), scene)
            found.update(keys)
            flagged += bool(keys)
        measured = f"{100 * flagged / runs:.1f} %; {dict(sorted(found.items())) or 'nothing'}"
        yield row(f"{name}: flagged", measured, "<= 2 %")


def edges(runs: int = 8) -> Iterator[dict[str, str]]:
    """Error of the edge: low-passes, and coders against their own response to white noise."""
    for true_hz in (8_000.0, 12_000.0, 15_000.0, 16_500.0):
        rng = np.random.default_rng(12)
        errors = []
        for _ in range(runs):
            truth = invented(rng, rate_hz=float(rng.choice([44_100, 48_000])))
            heard = softly_low_passed(truth.samples, truth.rate_hz, true_hz)
            heard = heard + 1e-6 * rng.standard_normal(heard.size)
            found = codec_edge_hz(long_spectra(truth.heard_as(heard)), truth.rate_hz)
            errors.append(found - true_hz)
        yield row(f"edge of a low-pass at {true_hz:,.0f} Hz", spread(errors), "± 500 Hz")
    for kind, bit_rate in (
        ("mp3", 64_000),
        ("mp3", 96_000),
        ("mp3", 128_000),
        ("m4a", 32_000),
        ("m4a", 64_000),
        ("m4a", 96_000),
        ("opus", 16_000),
        ("opus", 24_000),
        ("opus", 64_000),
    ):
        rng = np.random.default_rng(13)
        true_hz = edge_of_coder(kind, bit_rate, rng)
        errors = []
        for _ in range(runs):
            truth = invented(rng, rate_hz=48_000.0)
            heard = truth.heard_as(coded(truth.samples, 48_000.0, kind, bit_rate=bit_rate))
            errors.append(codec_edge_hz(long_spectra(heard), 48_000.0) - true_hz)
        name = f"edge of {kind} {bit_rate // 1000} kbit/s, {true_hz:,.0f} Hz"
        yield row(name, spread(errors), "± 500 Hz")


def spread(errors: list[float]) -> str:
    return f"{min(errors):+.0f} to {max(errors):+.0f} Hz, median {np.median(errors):+.0f} Hz"


def edge_of_coder(kind: str, bit_rate: int, rng: Generator) -> float:
    """Find where what a coder leaves of white noise falls by 12 dB for good."""
    noise = (0.1 * rng.standard_normal(480_000)).astype(np.float32)
    frequency_hz, density = welch(
        coded(noise, 48_000.0, kind, bit_rate=bit_rate), 48_000.0, nperseg=2_048
    )
    level_db = 10.0 * np.log10(
        density / np.median(density[(frequency_hz > 1e3) & (frequency_hz < 5e3)])
    )
    passed = np.flatnonzero(level_db > -12.0)
    return float(frequency_hz[passed[-1]])
