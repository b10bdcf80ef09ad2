"""The parts below the speed: demodulation, smoothing, spectra and their floor."""

import numpy as np
import pytest

from turnwell.sound.speed.claims import claim_of
from turnwell.sound.speed.demodulate import baseband_of
from turnwell.sound.speed.phase import refined
from turnwell.sound.speed.plateaus import Plateau
from turnwell.sound.speed.smoothing import smooth
from turnwell.sound.speed.spectra import likelihoods, spectra_of

RATE_HZ = 48_000.0


def test_baseband_against_sums_written_out():
    rng = np.random.default_rng(1)
    samples = rng.standard_normal(12_000).astype(np.float32)
    node_s, node_hz = np.array([0.0, 0.12, 0.25]), np.array([400.0, 420.0, 380.0])
    base = baseband_of(samples, RATE_HZ, node_s, node_hz, (1, 3), block_s=0.01)
    time_s = np.arange(samples.size) / RATE_HZ
    phase = np.cumsum(np.interp(time_s, node_s, node_hz)) / RATE_HZ
    block = np.floor(phase / 4).astype(int)
    for row, order in enumerate((1, 3)):
        turned = samples * np.exp(-2j * np.pi * order * phase)
        wanted = [turned[block == b].mean() for b in range(1, block.max())]
        # What the lines carry into each other's blocks, up to some thousandths, is taken off.
        assert base.lines[row] == pytest.approx(np.array(wanted), abs=1e-3)
    assert base.turns == pytest.approx(
        np.interp(base.time_s, time_s, phase - node_hz[0] / RATE_HZ), abs=2e-3
    )


def test_baseband_does_not_depend_on_how_samples_are_cut(monkeypatch):
    import sys

    module = sys.modules["turnwell.sound.speed.demodulate"]
    samples = np.random.default_rng(2).standard_normal(50_000).astype(np.float32)
    nodes = np.array([0.0, 1.0]), np.array([900.0, 910.0])
    whole = baseband_of(samples, RATE_HZ, *nodes, (1, 2), block_s=0.004)
    monkeypatch.setattr(module, "_SAMPLES_AT_ONCE", 7_001)
    cut = baseband_of(samples, RATE_HZ, *nodes, (1, 2), block_s=0.004)
    assert cut.time_s == pytest.approx(whole.time_s)
    assert cut.lines == pytest.approx(whole.lines, abs=1e-5)


def test_harmonics_fall_on_zeros_of_the_average():
    time_s = np.arange(48_000) / RATE_HZ
    samples = np.cos(2 * np.pi * 500.0 * time_s).astype(np.float32)
    nodes = np.array([0.0, 1.0]), np.array([500.0, 500.0])
    base = baseband_of(samples, RATE_HZ, *nodes, (1, 2, 3), block_s=0.004)
    size = np.abs(base.lines).mean(axis=1)
    assert size[0] == pytest.approx(0.5, rel=1e-3)
    assert size[1:].max() < 1e-4


def test_blocks_that_begin_between_samples_keep_the_lines_apart():
    # 6,471 Hz at 48 kHz: a turn is 7.4 samples. Line 2 alone must leave nothing at lines 1 and 3.
    turns = 6_471.0 * np.arange(48_000) / RATE_HZ
    samples = np.cos(2 * np.pi * 2.0 * turns).astype(np.float32)
    nodes = np.array([0.0, 1.0]), np.array([6_471.0, 6_471.0])
    base = baseband_of(samples, RATE_HZ, *nodes, (1, 2, 3), block_s=0.004)
    assert np.abs(base.lines[1]) == pytest.approx(0.5, rel=1e-4)
    assert np.abs(base.lines[[0, 2]]).max() < 1e-4  # box averages alone: 2e-3


@pytest.mark.parametrize("wander", [0.0, 0.1, 1.0])
def test_smoothing_covers_the_mean_rate(wander):
    rng = np.random.default_rng(3)
    inside, runs = 0, 200
    for _ in range(runs):
        true = np.cumsum(np.cumsum(wander * rng.standard_normal(128))) + 0.3 * np.arange(128)
        found = smooth(true + rng.standard_normal(128), 1.0, 10.0)
        error = found.mean_rate - (true[-1] - true[0]) / 127
        inside += abs(error) < 1.96 * found.mean_rate_sd
    # 95 % of 200 is 190, binomial standard deviation 3.1.
    assert inside >= 180


@pytest.mark.parametrize("gap", [0.6, 2.0])
def test_smoothing_covers_the_mean_rate_beyond_its_ends(gap):
    # An end's value and its rate err together; as if independent they would hold but 85 %.
    rng = np.random.default_rng(9)
    inside, runs, fine = 0, 200, 10
    for _ in range(runs):
        kicks = rng.standard_normal(80 * fine) * fine**-1.5 * 0.3
        true = np.cumsum(np.cumsum(kicks))
        first, last = 8 * fine, 72 * fine
        seen = true[first : last + 1 : fine]
        found = smooth(seen + rng.standard_normal(seen.size), 1.0, 10.0, before=gap, after=gap)
        off = round(gap * fine)
        steps = seen.size - 1 + 2 * gap
        error = found.mean_rate - (true[last + off] - true[first - off]) / steps
        inside += abs(error) < 1.96 * found.mean_rate_sd
    # 95 % of 200 is 190, binomial standard deviation 3.1.
    assert inside >= 180


def test_without_wander_the_rate_has_the_variance_of_a_straight_line():
    # Least squares: var = 12 s² / (n (n² - 1)).
    rng = np.random.default_rng(4)
    rates = [smooth(rng.standard_normal(100), 1.0, 10.0).mean_rate for _ in range(400)]
    assert np.std(rates) == pytest.approx(np.sqrt(12 / (100 * (100**2 - 1))), rel=0.15)


def test_a_straight_line_comes_back():
    found = smooth(2.0 + 0.25 * np.arange(50), 0.01, 1.0)
    assert found.rate == pytest.approx(np.full(50, 0.25))
    assert found.value == pytest.approx(2.0 + 0.25 * np.arange(50))


def test_floor_of_white_noise_and_its_likelihood():
    rng = np.random.default_rng(5)
    samples = (0.3 * rng.standard_normal(480_000)).astype(np.float32)
    spectra = spectra_of(samples, RATE_HZ, window_s=0.128, hop_s=0.064, highest_hz=22_000.0)
    # Hann window: mean power is s² times the sum of its squares, 3/8 of its length.
    expected = 0.09 * 0.375 * round(0.128 * RATE_HZ)
    assert np.median(spectra.floor) == pytest.approx(expected, rel=0.05)
    level = likelihoods(spectra, 24_000.0)[:, 50:-50]
    # E log(1 + X) for X exponential with mean 1 is e E1(1) = 0.5963.
    assert level.mean() == pytest.approx(0.5963, abs=0.02)


def test_spectra_against_the_general_purpose_transform():
    from scipy.signal import ShortTimeFFT
    from scipy.signal.windows import hann

    samples = np.random.default_rng(6).standard_normal(48_000).astype(np.float32)
    spectra = spectra_of(samples, RATE_HZ, window_s=0.128, hop_s=0.064, highest_hz=20_000.0)
    size, hop = round(0.128 * RATE_HZ), round(0.064 * RATE_HZ)
    transform = ShortTimeFFT(hann(size, sym=False), hop, RATE_HZ)
    power = np.abs(transform.stft(samples.astype(float))) ** 2
    at = np.rint(spectra.time_s / transform.delta_t).astype(int) - transform.p_min
    assert spectra.power[2, 100:200] == pytest.approx(power[100:200, at[2]], rel=1e-3, abs=1e-2)


@pytest.mark.parametrize("found", [2.0, 1.0, 0.5, 1 / 3])
def test_the_octave_is_settled_by_lines_too_weak_for_one_spectrum(found):
    # Line 1 and 3 stand 3 dB over the noise of a bin, line 2 stands 30 dB: whichever multiple was
    # followed, forty spectra together know the rotation line.
    rng = np.random.default_rng(7)
    bin_hz, rotation_hz, frames = 7.8125, 3_300.0, 40
    power = rng.exponential(1.0, (frames, 2_600))
    for order, over in ((1, 6.0), (2, 1_000.0), (3, 6.0)):
        power[:, round(order * rotation_hz / bin_hz)] *= over
    lines = np.log1p(power).astype(np.float32)
    plateau = Plateau(np.arange(frames), np.full(frames, found * rotation_hz), 1.0)
    claim = claim_of(plateau, lines, lines, bin_hz, low_hz=2_500.0, high_hz=8_400.0, is_known=True)
    assert claim.plateau.median_hz == pytest.approx(rotation_hz, rel=1e-6)


def test_a_third_line_alone_is_no_shaft():
    # What the slope of a codec's edge near 21.7 kHz can look like.
    rng = np.random.default_rng(8)
    bin_hz, rotation_hz, frames = 7.8125, 7_226.0, 40
    power = rng.exponential(1.0, (frames, 2_900))
    power[:, round(3 * rotation_hz / bin_hz)] *= 50.0
    lines = np.log1p(power).astype(np.float32)
    plateau = Plateau(np.arange(frames), np.full(frames, rotation_hz), 1.0)
    claim = claim_of(plateau, lines, lines, bin_hz, low_hz=2_500.0, high_hz=8_400.0, is_known=True)
    assert claim.refusal == "no_line"


@pytest.mark.parametrize("walk", [0.003, 0.03, 0.3])
def test_the_spread_of_the_rates_is_held_as_often_as_it_says(walk):
    rng = np.random.default_rng(21)
    held = []
    for _ in range(200):
        rates = np.cumsum(walk * rng.standard_normal(128))
        true = np.cumsum(rates)
        spread = smooth(true + rng.standard_normal(128), 1.0, 10.0).spread
        held.append(spread.low <= np.var(np.gradient(true)) <= spread.high)
    # 95 %: 180 to 200 of 200 in all but 0.1 % of such tests; the prior draws small walks wide.
    assert sum(held) >= 180


@pytest.mark.parametrize("seed", range(10))
def test_noise_alone_shows_no_spread(seed):
    rng = np.random.default_rng([22, seed])
    spread = smooth(0.2 * np.arange(128) + rng.standard_normal(128), 1.0, 10.0).spread
    assert spread.low == 0.0
    assert 0.0 < spread.middle < spread.high


def test_a_line_that_is_not_there_counts_for_nothing():
    # Lines 2 to 6 hold noise alone; by chance each would seem to know something, and much of it.
    rng = np.random.default_rng(23)
    time_s = np.arange(96_000) / RATE_HZ
    nodes = np.array([0.0, 2.0]), np.full(2, 500.0)
    for _ in range(5):
        samples = 0.1 * np.cos(2 * np.pi * 500.0 * time_s) + rng.standard_normal(time_s.size)
        track = refined(
            samples.astype(np.float32),
            RATE_HZ,
            *nodes,
            (1, 2, 3, 4, 5, 6),
            step_s=0.016,
            coarse_step_s=0.024,
        )
        assert track.line_to_noise[0] > 1.0
        assert track.line_to_noise[1:] == pytest.approx(np.zeros(5), abs=1e-5)
