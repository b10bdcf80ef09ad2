"""Recordings longer than what is worked on at once give what the whole would give."""

import numpy as np
import pytest

from tests.sound.truth import Handpiece, make
from turnwell.sound import Expectation, analyse, recording_of
from turnwell.sound.gate.clipping import clipped_share
from turnwell.sound.gate.steps import coarse_steps
from turnwell.sound.speed import plateaus, spectra
from turnwell.sound.speed.plateaus import HOP_S, WINDOW_S, find_plateaus, without_lines
from turnwell.sound.speed.spectra import likelihoods, spectra_of

RATE_HZ = 48_000.0


@pytest.fixture(scope="module")
def truth():
    return make(Handpiece(room_db=-40.0), np.random.default_rng(4), rate_hz=RATE_HZ)


def long_spectra(samples):
    return spectra_of(samples, RATE_HZ, window_s=WINDOW_S, hop_s=HOP_S, highest_hz=23_000.0)


def test_parts_give_what_the_whole_gives(truth, monkeypatch):
    whole = analyse(recording_of(truth.samples, RATE_HZ), Expectation()).as_dict()
    for room in (plateaus, spectra):
        monkeypatch.setattr(room, "_ROWS_AT_ONCE", 37)
    monkeypatch.setattr(spectra, "_MOST_KEPT", 0)
    parts = analyse(recording_of(truth.samples, RATE_HZ), Expectation()).as_dict()
    assert parts["readings"][0]["value"] == pytest.approx(whole["readings"][0]["value"], rel=1e-9)
    assert parts["segments"] == whole["segments"]


def test_power_that_is_not_kept_is_worked_out_again(truth, monkeypatch):
    kept = long_spectra(truth.samples)
    monkeypatch.setattr(spectra, "_MOST_KEPT", 0)
    anew = long_spectra(truth.samples)
    assert anew.kept is None
    assert kept.kept is not None
    for rows in (slice(None), slice(100, 7, -3), np.array([5, 2, 60])):
        assert np.array_equal(anew.power_of(rows), kept.power[rows])
    assert np.array_equal(anew.loudest, kept.power.max(axis=1))


def test_a_frame_at_a_seam_sees_both_its_neighbours(truth, monkeypatch):
    found = long_spectra(truth.samples)
    lines = likelihoods(found, 23_000.0)
    whole = plateaus._scored_by_parts(found, lines, 2_000.0, 9_000.0)
    monkeypatch.setattr(plateaus, "_ROWS_AT_ONCE", 10)
    parts = plateaus._scored_by_parts(found, lines, 2_000.0, 9_000.0)
    assert np.array_equal(parts.rotation_hz, whole.rotation_hz)
    assert np.array_equal(parts.scores, whole.scores)


def test_lines_of_several_stretches_go_as_one_after_the_other(truth):
    found = long_spectra(truth.samples)
    lines = likelihoods(found, 23_000.0)
    first, *others = find_plateaus(found, lines, 300.0, 9_000.0)
    assert others
    together = without_lines(lines, [first, *others], found.bin_hz)
    one_by_one = lines
    for plateau in (first, *others):
        one_by_one = without_lines(one_by_one, [plateau], found.bin_hz)
    assert np.array_equal(together, one_by_one)
    assert together.sum() < lines.sum()


def test_flat_tops_are_counted_across_parts(monkeypatch):
    tone = np.clip(2.0 * np.sin(np.arange(48_000) * 0.05), -1.0, 1.0).astype(np.float32)
    whole = clipped_share(0.5 * tone)
    monkeypatch.setattr("turnwell.sound.gate.clipping._AT_ONCE", 3)
    assert clipped_share(0.5 * tone) == whole > 0.5


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_the_loudest_stretch_is_found_on_either_side(sign):
    samples = 0.2 * np.random.default_rng(2).uniform(-1.0, 1.0, 100_000)
    # Were the wrong side looked at, the loudest would be the first 0.25, next to the noise.
    samples[40_000:] = np.tile([0.25, 0.0], 30_000)
    samples[70_000] = sign * 0.5
    assert coarse_steps(samples.astype(np.float32)) == 3
