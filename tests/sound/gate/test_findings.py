"""Each fault of a recording is found, a sound recording is not blamed, and each names its cost."""

import numpy as np
import pytest
from benchmarks.gate import FAULTS, NO_FAULTS, edge_of_coder, found_in, invented, long_spectra
from scipy.stats import expon

from tests.sound.disturbances import coded, softly_low_passed
from tests.sound.truth import clipped
from turnwell.sound.gate.band import band_findings
from turnwell.sound.gate.clipping import clipped_share
from turnwell.sound.gate.edge import codec_edge_hz
from turnwell.sound.gate.findings import GateFinding, gate_of
from turnwell.sound.gate.gain import gain_riding
from turnwell.sound.gate.speech import only_speech
from turnwell.sound.gate.steps import coarse_steps
from turnwell.sound.gate.suppression import (
    NATURAL_FLUTTER_DB,
    NATURAL_SPREAD_DB,
    flutter_db,
    spread_db,
)
from turnwell.sound.recording import recording_of
from turnwell.words import Message, text_of

RATE_HZ = 48_000.0


@pytest.mark.parametrize("name", FAULTS)
def test_the_fault_is_found(name):
    # The whole campaign, 60 recordings of each, is in benchmarks/gate.py.
    scene, key = FAULTS[name]
    rng = np.random.default_rng(20)
    assert all(key in found_in(scene(rng), scene) for _ in range(2))


@pytest.mark.parametrize("name", NO_FAULTS)
def test_a_sound_recording_is_not_blamed(name):
    scene = NO_FAULTS[name]
    rng = np.random.default_rng(21)
    assert [found_in(scene(rng), scene) for _ in range(2)] == [set()] * 2


@pytest.mark.parametrize("edge_hz", [8_000.0, 12_000.0, 15_000.0, 16_500.0])
def test_the_edge_of_a_low_pass_is_near(edge_hz):
    truth = invented(np.random.default_rng(22), rate_hz=RATE_HZ)
    heard = softly_low_passed(truth.samples, RATE_HZ, edge_hz)
    heard = heard + 1e-6 * np.random.default_rng(23).standard_normal(heard.size)
    found_hz = codec_edge_hz(long_spectra(truth.heard_as(heard)), RATE_HZ)
    assert found_hz == pytest.approx(edge_hz, abs=500.0)


@pytest.mark.parametrize(
    ("kind", "bit_rate"), [("mp3", 64_000), ("m4a", 32_000), ("m4a", 64_000), ("opus", 24_000)]
)
def test_the_edge_of_a_coder_is_near(kind, bit_rate):
    # Held against the coder's own response to white noise, by Welch's method.
    truth = invented(np.random.default_rng(24), rate_hz=RATE_HZ)
    heard = truth.heard_as(coded(truth.samples, RATE_HZ, kind, bit_rate=bit_rate))
    true_hz = edge_of_coder(kind, bit_rate, np.random.default_rng(25))
    assert codec_edge_hz(long_spectra(heard), RATE_HZ) == pytest.approx(true_hz, abs=500.0)


def test_what_has_no_edge_has_half_the_rate():
    truth = invented(np.random.default_rng(26), rate_hz=RATE_HZ)
    assert codec_edge_hz(long_spectra(truth), RATE_HZ) == 24_000.0


@pytest.mark.parametrize("gain", [1.5, 3.0, 20.0])
def test_the_share_cut_off_is_what_was_cut_off(gain):
    truth = invented(np.random.default_rng(27), rate_hz=RATE_HZ)
    true_share = np.mean(np.abs(truth.samples) * gain / np.abs(truth.samples).max() >= 1.0)
    assert clipped_share(clipped(truth.samples, gain)) == pytest.approx(true_share, rel=0.1)


def test_values_above_full_scale_count_only_behind_a_lossy_coder():
    # A recorder of 32-bit floats holds what is louder than full scale unharmed.
    loud = 2.0 * np.random.default_rng(28).standard_normal(48_000).astype(np.float32)
    assert clipped_share(loud, "pcm_f32le") == 0.0
    assert clipped_share(loud, "aac") > 0.5


def test_noise_has_its_natural_spread():
    # Between the tenth and the ninetieth per cent of an exponential variable.
    law_db = 10.0 * np.log10(expon.ppf(0.9) / expon.ppf(0.1))
    assert pytest.approx(law_db, abs=1e-9) == NATURAL_SPREAD_DB
    truth = invented(np.random.default_rng(29), rate_hz=RATE_HZ)
    noise = truth.heard_as(np.random.default_rng(30).standard_normal(288_000))
    assert spread_db(long_spectra(noise), 24_000.0) == pytest.approx(law_db, abs=0.5)


@pytest.mark.parametrize("bits", [1, 2, 4])
def test_few_steps_are_counted(bits):
    steps = 2**bits
    noise = np.random.default_rng(31).uniform(0, steps, 48_000)
    assert coarse_steps((np.floor(noise) / steps - 0.5).astype(np.float32)) == steps


def test_many_steps_and_none_are_not_few():
    noise = np.random.default_rng(32).standard_normal(48_000)
    assert coarse_steps(np.rint(200 * noise).astype(np.float32)) is None
    assert coarse_steps(np.zeros(48_000, np.float32)) is None
    assert coarse_steps(np.zeros(0, np.float32)) is None


@pytest.mark.parametrize(
    ("rate_hz", "edge_hz", "line_1_hz", "keys"),
    [
        (16_000.0, 8_000.0, 8_333.3, ["rate_low"]),
        (18_333.0, 9_166.5, 8_333.3, ["rate_low"]),
        (18_334.0, 9_167.0, 8_333.3, []),
        (48_000.0, 8_700.0, 8_333.3, ["edge_low"]),
        (48_000.0, 8_800.0, 8_333.3, []),
        (8_000.0, 4_000.0, 750.0, []),
    ],
)
def test_line_1_must_fit_into_the_recording(rate_hz, edge_hz, line_1_hz, keys):
    # 2.2 times line 1 for the rate, 1.05 times for the edge.
    assert [f.key for f in band_findings(rate_hz, edge_hz, line_1_hz)] == keys


def test_sharp_resonances_of_a_machine_are_not_noise_suppression():
    # Blows 100 times a second through sharp resonances: bins differ as much as shut ones do, but
    # each stays as it is.
    rng = np.random.default_rng(35)
    blows = (np.arange(384_000) % 480 == 0) * 10.0 + rng.standard_normal(384_000)
    at_hz = np.fft.rfftfreq(blows.size, 1.0 / RATE_HZ)
    gain = sum(1.0 / np.abs(1.0 - (at_hz / f) ** 2 + 0.003j) for f in range(2_000, 22_000, 700))
    samples = np.fft.irfft(np.fft.rfft(blows) * gain)
    recording = recording_of(0.5 * samples / np.abs(samples).max(), RATE_HZ)
    spectra = long_spectra(recording)
    assert spread_db(spectra, 24_000.0) > 15.0
    assert gate_of(recording, spectra, 24_000.0) == ()


def test_noise_scatters_by_no_more_than_theory_says():
    noise = 0.1 * np.random.default_rng(36).standard_normal(480_000)
    found_db = flutter_db(long_spectra(recording_of(noise, RATE_HZ)), 24_000.0)
    # A dozen spectra that overlap by half show a little less.
    assert 0.85 * NATURAL_FLUTTER_DB < found_db < NATURAL_FLUTTER_DB


def test_a_voice_takes_the_place_of_what_it_imitates():
    scene, _ = FAULTS["only talk"]
    truth = scene(np.random.default_rng(33))
    others = tuple(
        GateFinding(key, Message(f"sound.gate.{key}"), ("condition",))
        for key in ("codec_edge", "broken_off", "noise_suppressed")
    )
    kept = only_speech(long_spectra(truth), others)
    assert [finding.key for finding in kept] == ["broken_off", "speech"]


def test_a_gain_that_leaps_or_falls_back_is_no_riding_gain():
    # Somebody begins to talk: the floor leaps. Somebody passes by: it rises and falls.
    rng = np.random.default_rng(34)
    noise = rng.standard_normal(288_000)
    at = np.arange(noise.size) / RATE_HZ
    truth = invented(rng, rate_hz=RATE_HZ)
    for level_db, rode in (
        (20.0 * np.clip((at - 2.2) / 2.0, 0.0, 1.0), True),
        (20.0 * (at > 3.0), False),
        (20.0 * np.clip(1.0 - np.abs(at - 3.5), 0.0, 1.0), False),
        (0.0 * at, False),
    ):
        heard = truth.heard_as(0.01 * noise * 10.0 ** (level_db / 20.0))
        found = gain_riding(long_spectra(heard), [(2.0, 6.0)], 24_000.0)
        assert bool(found) is rode


@pytest.mark.parametrize(
    ("samples", "key", "lost"),
    [
        (np.zeros(48_000), "silent", {"speed", "coast_down", "condition", "level"}),
        (1e-3 * np.random.default_rng(35).standard_normal(48_000), None, set()),
        (2e-4 * np.random.default_rng(36).standard_normal(48_000), "quiet", {"condition"}),
        (
            0.1 * np.random.default_rng(37).standard_normal(4_800),
            "too_short",
            {"speed", "coast_down", "condition"},
        ),
    ],
)
def test_each_finding_names_what_it_takes_away(samples, key, lost):
    truth = invented(np.random.default_rng(38), rate_hz=RATE_HZ).heard_as(samples)
    recording = recording_of(samples, RATE_HZ)
    findings = gate_of(recording, long_spectra(truth), 24_000.0)
    assert [f.key for f in findings] == ([key] if key else [])
    assert {answer for f in findings for answer in f.takes_away} == lost


def test_every_finding_says_what_to_do():
    params = {
        "peak": 0.001,
        "duration_s": 0.1,
        "share": 3.0,
        "steps": 4,
        "edge_khz": 8.0,
        "rise_db": 9.0,
        "rate_hz": 8_000.0,
        "line_khz": 8.3,
        "needed_hz": 18_333.0,
    }
    advice = ("record", "move", "turn", "switch", "check", "send", "hold", "set")
    keys = {key for _, key in FAULTS.values()} | {"silent", "broken_off"}
    for key in keys:
        text = text_of(Message(f"sound.gate.{key}", params), "en")
        assert any(word in text.lower() for word in advice), text
