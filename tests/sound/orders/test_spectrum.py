"""The averaged order spectrum: noise is gamma with mean 1, a line has the level theory gives."""

import numpy as np
import pytest
from scipy import signal, stats

from turnwell.sound.orders.angle import Turned
from turnwell.sound.orders.spectrum import (
    Kind,
    averaged,
    bin_correlation,
    block_turns,
    overlap_variance,
)
from turnwell.sound.segment import SegmentKind

PER_TURN = 40


def turned_noise(turns: int, rng: np.random.Generator, *, hz: float = 100.0) -> Turned:
    samples = rng.standard_normal((turns, PER_TURN)).astype(np.float32)
    return Turned(samples, np.full(turns, hz))


def spectrum_of(
    *pieces: Turned,
    stretch: SegmentKind = SegmentKind.STEADY,
    highest_order: float = 16.0,
    edge_hz: float = 1_700.0,
    speed_error: float = 0.0,
):
    spectrum = averaged(
        pieces,
        stretch=stretch,
        kind=Kind.DIRECT,
        highest_order=highest_order,
        edge_hz=edge_hz,
        speed_error=speed_error,
    )
    assert spectrum is not None
    return spectrum


def with_line(turned: Turned, order: float, amplitude: float) -> Turned:
    angle = np.arange(turned.samples.size) / PER_TURN
    line = amplitude * np.cos(2 * np.pi * order * angle + 0.7).reshape(turned.samples.shape)
    return Turned((turned.samples + line).astype(np.float32), turned.rotation_hz)


def test_noise_of_any_level_is_a_gamma_variable_of_mean_1():
    rng = np.random.default_rng(1)
    values = []
    for _ in range(6):
        noise = turned_noise(3_000, rng)
        # The level changes over time as it does when a shaft slows down.
        level = np.geomspace(1.0, 0.03, 3_000)[:, None]
        spectrum = spectrum_of(
            Turned((noise.samples * level).astype(np.float32), noise.rotation_hz)
        )
        values.append(spectrum.power[spectrum.is_open][::4])
    shape = spectrum.blocks.max() / overlap_variance()
    found = np.concatenate(values)
    assert found.mean() == pytest.approx(1.0, abs=0.01)
    # Reference: the distribution in scipy.stats.
    assert stats.kstest(found, stats.gamma(shape, scale=1.0 / shape).cdf).pvalue > 1e-3
    assert spectrum.overdispersion < 1.15


def test_variance_of_the_average_agrees_with_scipy():
    """Welch's average by scipy with the same window and overlap scatters as much."""
    rng = np.random.default_rng(2)
    window = np.sin(np.pi * np.arange(512) / 512) ** 4
    _, power = signal.welch(
        rng.standard_normal((200, 512 * 8)), window=window, nperseg=512, noverlap=256, axis=-1
    )
    inner = power[:, 10:-10] / power[:, 10:-10].mean()
    assert inner.var() == pytest.approx(overlap_variance() / 15, rel=0.06)
    apart = [np.mean((inner[:, k:] - 1) * (inner[:, : inner.shape[1] - k] - 1)) for k in (0, 1, 2)]
    assert np.array(apart) / apart[0] == pytest.approx(bin_correlation()[:3], abs=0.05)


def test_a_line_has_the_level_that_theory_gives():
    """Power A²/4 (Σw)² over noise s² Σw²: A² N / (4 s² 1.944) for a window of sin⁴."""
    rng = np.random.default_rng(3)
    amplitude, order = 0.1, 2.75
    spectrum = spectrum_of(with_line(turned_noise(6_000, rng), order, amplitude))
    expected = 1.0 + amplitude**2 * 256 * PER_TURN / (4.0 * 35.0 / 18.0)
    found = spectrum.power[round(order / spectrum.order_step)]
    assert 10 * np.log10(found / expected) == pytest.approx(0.0, abs=0.6)


def test_lines_of_the_shaft_are_closed_and_half_orders_only_where_they_stand_out():
    rng = np.random.default_rng(4)
    noise = turned_noise(3_000, rng)
    for order in (1.0, 2.0, 3.0):
        noise = with_line(noise, order, 1.0)
    spectrum = spectrum_of(noise)
    whole = np.rint(np.arange(1, 16) / spectrum.order_step).astype(int)
    half = np.rint(np.arange(1.5, 15) / spectrum.order_step).astype(int)
    assert spectrum.is_shaft[whole].all()
    assert not spectrum.is_shaft[half].any()
    # All that a line of 40 dB leaks lies inside what is closed.
    assert spectrum.power[spectrum.is_open].max() < 2.5
    halves = noise
    for order in np.arange(0.5, 15.0, 1.0):
        halves = with_line(halves, order, 0.3)
    assert spectrum_of(halves).is_shaft[half].all()


def test_orders_beyond_the_edge_are_not_heard():
    """An inner ring of 8 balls of 1 mm strikes 4.84 times a turn: 32 266 Hz at 400 000 rpm."""
    rng = np.random.default_rng(5)
    full = spectrum_of(turned_noise(3_000, rng, hz=400_000 / 60), edge_hz=0.45 * 48_000)
    at = round(4.8399 / full.order_step)
    assert full.blocks[at] == 0
    assert full.highest_order == pytest.approx(0.45 * 48_000 / (400_000 / 60), abs=0.01)
    slow = spectrum_of(turned_noise(3_000, rng, hz=2_000.0), edge_hz=0.45 * 48_000)
    assert slow.blocks[at] > 0


def test_several_stretches_are_pooled():
    rng = np.random.default_rng(6)
    one = turned_noise(2_000, rng)
    pooled = spectrum_of(one, turned_noise(2_000, rng))
    assert pooled.turns == 4_000
    assert pooled.blocks.max() == 2 * spectrum_of(one).blocks.max()


@pytest.mark.parametrize(
    ("turns", "length"), [(63, None), (64, 16), (152, 32), (302, 64), (10_000, 256)]
)
def test_blocks_are_as_long_as_four_of_them_allow(turns, length):
    assert block_turns(turns) == length


def test_too_few_turns_give_no_spectrum():
    few = turned_noise(40, np.random.default_rng(7))
    assert (
        averaged(
            [few],
            stretch=SegmentKind.STEADY,
            kind=Kind.DIRECT,
            highest_order=16.0,
            edge_hz=1_700.0,
        )
        is None
    )


def test_a_bang_in_one_block_does_not_drown_the_others():
    rng = np.random.default_rng(8)
    noise = turned_noise(3_000, rng)
    level = np.ones((3_000, 1))
    level[1_000:1_080] = 100.0
    spectrum = spectrum_of(Turned((noise.samples * level).astype(np.float32), noise.rotation_hz))
    shape = spectrum.blocks.max() / overlap_variance()
    assert spectrum.power[spectrum.is_open].var() * shape < 1.6
