"""A speed given by another tachometer is refined by the shaft's own lines, or kept."""

import numpy as np
import pytest

from turnwell.sound.orders import given_turning


def shaft(speed_hz: float, level: float, *, seconds: float = 8.0, rate_hz: float = 12_000.0):
    rng = np.random.default_rng(1)
    time_s = np.arange(int(seconds * rate_hz)) / rate_hz
    sound = rng.standard_normal(time_s.size)
    for order in range(1, 8):
        sound += level / order * np.cos(2 * np.pi * order * speed_hz * time_s + order)
    return sound.astype(np.float32)


@pytest.mark.parametrize("given_hz", [29.2, 29.95, 30.6])
def test_the_speed_moves_to_where_whole_orders_stand_out(given_hz):
    turning = given_turning(shaft(29.873, 0.3), 12_000.0, given_hz)
    assert turning.rotation_hz == pytest.approx([29.873] * 2, rel=2e-4)
    assert abs(turning.rotation_hz[0] - 29.873) < 4 * turning.sd_hz[0]
    assert turning.time_s[-1] == pytest.approx(8.0, abs=1e-3)


def test_without_lines_the_given_speed_is_kept_with_its_tolerance():
    turning = given_turning(shaft(29.873, 0.0), 12_000.0, 29.5)
    assert turning.rotation_hz == pytest.approx([29.5] * 2)
    assert turning.sd_hz == pytest.approx([0.295] * 2)


@pytest.mark.parametrize("seconds", [0.0, 0.01])
def test_too_short_a_recording_keeps_the_given_speed(seconds):
    sound = shaft(29.873, 0.3, seconds=seconds)
    turning = given_turning(sound, 12_000.0, 29.95)
    assert turning.rotation_hz == pytest.approx([29.95] * 2)
