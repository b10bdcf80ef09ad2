"""Resampling to the shaft's angle against closed forms."""

import numpy as np
import pytest

from turnwell.sound.orders.angle import Sound, clipped, turned, turns_of
from turnwell.sound.segment import SegmentKind
from turnwell.sound.speed.turning import Turning

RATE_HZ = 96_000.0


def falling(first_hz: float, last_hz: float, *, start_s: float = 0.1, stop_s: float = 0.9):
    time_s = np.array([start_s, stop_s])
    return Turning(SegmentKind.COAST_DOWN, time_s, np.array([first_hz, last_hz]), np.zeros(2))


def tone(frequency_hz: float, count: int = 96_000) -> Sound:
    time_s = np.arange(count) / RATE_HZ
    return Sound(np.cos(2 * np.pi * frequency_hz * time_s).astype(np.float32), RATE_HZ)


def instants(first_hz: float, last_hz: float, angle: np.ndarray) -> np.ndarray:
    """Root of f t + s t²/2 = angle, counted from 0.1 s."""
    slope = (last_hz - first_hz) / 0.8
    return 0.1 + np.real((-first_hz + np.sqrt(first_hz**2 + 2 * slope * angle)) / slope)


@pytest.mark.parametrize(
    ("frequency_hz", "worst_db"), [(1_000.0, -60.0), (8_000.0, -52.0), (15_000.0, -52.0)]
)
def test_a_tone_is_read_at_the_instants_of_equal_angle(frequency_hz, worst_db):
    shaft = falling(3_000.0, 1_000.0)
    result = turned(tone(frequency_hz), shaft, per_turn=48, highest_order=20.0, edge_hz=40_000.0)
    angle = np.arange(result.samples.size) / 48
    expected = np.cos(2 * np.pi * frequency_hz * instants(3_000.0, 1_000.0, angle))
    passed = frequency_hz < 0.75 * 20.0 * np.repeat(result.rotation_hz, 48)
    error = np.abs(result.samples.ravel() - expected)[passed].max()
    assert np.count_nonzero(passed) > 10_000
    assert 20 * np.log10(error) < worst_db


def test_a_line_of_the_shaft_stands_still_in_angle():
    """A chirp that turns 3 times a turn of a slowing shaft becomes a pure third order."""
    time_s = np.arange(96_000) / RATE_HZ
    speed_hz = 3_000.0 - 2_500.0 * (time_s - 0.1)
    phase = 3.0 * np.cumsum(speed_hz) / RATE_HZ
    sound = Sound(np.cos(2 * np.pi * phase).astype(np.float32), RATE_HZ)
    result = turned(
        sound, falling(3_000.0, 1_000.0), per_turn=48, highest_order=20.0, edge_hz=40_000.0
    )
    lines = np.abs(np.fft.rfft(result.samples[:1_024].ravel() * np.hanning(1_024 * 48)))
    peak = 3 * 1_024
    beside = np.concatenate([lines[: peak - 4], lines[peak + 5 :]])
    assert np.argmax(lines) == peak
    assert 20 * np.log10(beside.max() / lines[peak]) < -55


def test_nothing_folds_when_the_shaft_slows_down():
    """At 100 turns a second 48 samples a turn would fold 4 kHz down to 800 Hz."""
    shaft = falling(110.0, 100.0)
    result = turned(tone(4_000.0), shaft, per_turn=48, highest_order=20.0, edge_hz=40_000.0)
    assert 20 * np.log10(np.abs(result.samples[2:-2]).max()) < -55


def test_frequencies_above_the_edge_are_taken_out():
    shaft = falling(3_000.0, 2_900.0)
    result = turned(tone(24_000.0), shaft, per_turn=48, highest_order=20.0, edge_hz=20_000.0)
    assert 20 * np.log10(np.abs(result.samples[4:-4]).max()) < -50


def test_sections_join_without_a_seam():
    """The bound on a section's length leaves no mark: a tone across several stays a tone."""
    sound = tone(5_000.0, 400_000)
    shaft = falling(3_000.0, 3_000.0, start_s=0.1, stop_s=4.1)
    result = turned(sound, shaft, per_turn=48, highest_order=20.0, edge_hz=40_000.0)
    angle = np.arange(result.samples.size) / 48
    expected = np.cos(2 * np.pi * 5_000.0 * (0.1 + angle / 3_000.0))
    assert result.samples.size > 2 * (1 << 17)
    assert np.abs(result.samples.ravel() - expected)[100:-100].max() < 3e-3


def test_turns_are_the_integral_of_the_speed():
    assert turns_of(falling(3_000.0, 1_000.0)) == pytest.approx([0.0, 1_600.0])


def test_only_whole_turns_that_are_heard_are_given():
    sound = tone(1_000.0, 48_000)
    shaft = falling(1_000.0, 1_000.0, start_s=-0.2, stop_s=3.0)
    result = turned(sound, shaft, per_turn=48, highest_order=20.0, edge_hz=40_000.0)
    assert result.samples.shape == (499, 48)
    elsewhere = falling(1_000.0, 1_000.0, start_s=2.0, stop_s=3.0)
    assert turned(sound, elsewhere, per_turn=48, highest_order=20.0, edge_hz=4e4).samples.size == 0


def test_a_stretch_is_clipped_to_instants():
    part = clipped(falling(3_000.0, 1_000.0), 0.3, 0.5)
    assert part is not None
    assert part.time_s == pytest.approx([0.3, 0.5])
    assert part.rotation_hz == pytest.approx([2_500.0, 2_000.0])
    assert clipped(falling(3_000.0, 1_000.0), 0.95, 1.2) is None
