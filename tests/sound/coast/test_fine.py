"""Turns of a falling shaft, one value each, and where its track ends."""

import numpy as np
import pytest

from turnwell.sound.coast import fine
from turnwell.sound.coast.fine import FinePoints
from turnwell.sound.coast.turns import turn_by_turn
from turnwell.sound.speed.sweep import Sweep

RATE_HZ = 48_000.0
TIME_S = np.arange(24_000) / RATE_HZ


def falling_tone(order, start_hz=6_600.0, slope_hz_s=-3_000.0):
    turns = start_hz * TIME_S + 0.5 * slope_hz_s * TIME_S**2
    return np.cos(2.0 * np.pi * order * turns + 1.0).astype(np.float32)


def down(samples, lines=3):
    node_s = np.array([0.0, 0.2, 0.5])
    return turn_by_turn(samples, RATE_HZ, node_s, 6_600.0 - 3_000.0 * node_s, lines)


@pytest.mark.parametrize("order", [1, 2, 3])
def test_a_line_along_its_path_stands_still_at_half_its_amplitude(order):
    line = down(falling_tone(order)).lines[order - 1, 2:-2]
    assert np.mean(line) == pytest.approx(0.5 * np.exp(1j), abs=2e-3)
    # Seven samples a turn; a sum with hard ends would scatter by a tenth.
    assert np.abs(line - 0.5 * np.exp(1j)).max() < 0.03


def test_other_lines_fall_on_a_zero():
    lines = down(falling_tone(1)).lines[:, 2:-2]
    assert np.abs(np.mean(lines[1:], axis=1)).max() < 1e-3


def test_turns_are_full_when_the_path_says():
    base = down(falling_tone(1))
    expected = 6_600.0 * base.time_s - 1_500.0 * base.time_s**2
    assert base.turns == pytest.approx(expected, abs=1e-4)


def test_a_path_off_the_recording_has_no_turns():
    node_s = np.array([9.0, 9.5])
    assert turn_by_turn(falling_tone(1), RATE_HZ, node_s, np.array([5e3, 4e3]), 1) is None


def points(*speeds_hz):
    speed = np.array(speeds_hz, float)
    return FinePoints(np.arange(speed.size) * 0.02, speed, np.full(speed.size, 0.5))


def test_the_track_ends_where_the_shaft_would_speed_up():
    assert fine._rising_from(points(100, 96, 92, 88, 84, 132, 126, 120, 114, 108)) == 5


def test_one_stray_point_does_not_end_the_track():
    assert fine._rising_from(points(100, 96, 92, 130, 84, 80, 76, 72)) == 8
    assert fine._rising_from(points(100, 96, 92, 20, 84, 80, 76, 72)) == 8


def test_a_last_point_that_rises_is_left_out():
    assert fine._rising_from(points(100, 96, 92, 88, 84, 90)) == 5


def test_a_path_that_rises_once_it_rests_ends_where_it_came_to_rest():
    time_s = 0.01 * np.arange(120)
    fallen_hz = np.maximum(5_000.0 * np.exp(-5.0 * time_s), 314.0)
    fallen_hz[118] = 330.0
    samples = np.random.default_rng(1).standard_normal(60_000).astype(np.float32)
    # A parabola laid over the hole before the rise would pass below zero.
    found = fine.fine_points(
        samples, RATE_HZ, Sweep(time_s, fallen_hz), release_s=0.0, edge_hz=20_000.0
    )
    assert found is None
    falling = fine._falling(Sweep(time_s, fallen_hz), 0.0)
    assert falling.time_s[-1] == pytest.approx(0.55, abs=0.01)
    assert falling.rotation_hz.min() > 314.0
