"""The generator keeps its word: speed law, levels, spectra, and each disturbance."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.signal import welch

from tests.sound.disturbances import (
    JET,
    added,
    clipped_before_coding,
    coded,
    compressor,
    gain_ridden_by,
    hum_of,
    noise_suppressed,
    rms,
    second_handpiece,
    softly_low_passed,
    speech,
    spray,
    suction,
    with_clock_error,
)
from tests.sound.truth import Colour, Handpiece, coloured, make

RATE_HZ = 48_000.0
RUNNING = Handpiece(start_s=None, release_s=None)


def power_in(samples, low_hz, high_hz, rate_hz=RATE_HZ):
    """Power between two frequencies, by Welch's method."""
    frequency_hz, density = welch(samples, rate_hz, nperseg=8_192)
    inside = (frequency_hz >= low_hz) & (frequency_hz < high_hz)
    return float(density[inside].sum() * (frequency_hz[1] - frequency_hz[0]))


def peak_hz(samples, low_hz, high_hz, rate_hz=RATE_HZ):
    """Frequency of the strongest line, by a parabola through a padded spectrum."""
    power = np.log(np.abs(np.fft.rfft(samples * np.hanning(samples.size), 4 * samples.size)) + 1e-9)
    step_hz = rate_hz / (4 * samples.size)
    low = int(low_hz / step_hz)
    at = low + int(np.argmax(power[low : int(high_hz / step_hz)]))
    left, middle, right = power[at - 1 : at + 2]
    return (at + 0.5 * (left - right) / (left - 2 * middle + right)) * step_hz


def db(ratio):
    return 10.0 * np.log10(ratio)


@pytest.mark.parametrize(
    "drag", [(6_000.0, 0.4, 8e-6), (15_000.0, 0.0, 0.0), (600.0, 0.5, 0.0), (0.0, 0.0, 2e-5)]
)
def test_the_coast_down_obeys_its_law(drag):
    # The same equation by another integrator, of order 8 with its own steps.
    a, b, c = drag
    truth = make(
        Handpiece(start_s=None, release_s=0.5, drag=drag), np.random.default_rng(1), duration_s=3.0
    )
    at = np.linspace(0.0, 2.4, 60)
    start = 2.0 * np.pi * 6_500.0
    law = solve_ivp(
        lambda _, w: -(a + b * w + c * w * w) * (w > 0),
        (0.0, 2.5),
        [start],
        method="DOP853",
        t_eval=at,
        rtol=1e-10,
        max_step=0.01,
    )
    expected = np.maximum(law.y[0], 0.0) / (2.0 * np.pi)
    found = truth.at_hz(0.5 + at)
    # What the rotor loses within one step of the grid: the last step before it stops is left out.
    step_hz = (a + 1.0) * truth.grid_s[1] / (2.0 * np.pi)
    turning = expected > step_hz
    assert np.abs(found - expected)[turning].max() < 1e-3
    assert found[~turning].max(initial=0.0) <= step_hz


def test_line_1_lies_where_and_as_loud_as_stated():
    truth = make(RUNNING, np.random.default_rng(2), duration_s=4.0)
    assert peak_hz(truth.samples, 6_000, 7_000) == pytest.approx(6_500.0, abs=0.01)
    line = power_in(truth.samples, 6_450, 6_550)
    assert db(line / truth.line_1_rms**2) == pytest.approx(0.0, abs=0.2)


@pytest.mark.parametrize("jet", [None, Colour(), JET])
def test_noise_beside_line_1_is_as_loud_as_stated(jet):
    handpiece = Handpiece(start_s=None, release_s=None, line_to_noise_db=5.0, jet=jet)
    truth = make(handpiece, np.random.default_rng(3), duration_s=8.0)
    beside = power_in(truth.samples, 6_150, 6_400) + power_in(truth.samples, 6_600, 6_850)
    assert db(truth.line_1_rms**2 / (beside * 128.0 / 500.0)) == pytest.approx(5.0, abs=0.5)


def test_coloured_noise_has_its_slope_and_its_humps():
    colour = Colour(slope_db=-4.0, humps=((6_000.0, 0.2, 10.0),))
    noise = coloured(960_000, RATE_HZ, np.random.default_rng(4), colour)
    assert rms(noise) == pytest.approx(1.0, rel=1e-2)
    frequency_hz, density = welch(noise, RATE_HZ, nperseg=4_096)
    low, high, hump = (density[np.abs(frequency_hz - f) < 60].mean() for f in (500, 2_000, 6_000))
    assert db(low / high) == pytest.approx(8.0, abs=0.7)
    assert db(hump / high) == pytest.approx(10.0 - 4.0 * np.log2(3.0), abs=0.7)


def test_the_jet_stops_with_the_air_and_the_room_stays():
    handpiece = Handpiece(
        release_s=3.0, line_to_noise_db=-40.0, jet=JET, room=Colour(slope_db=-5.0)
    )
    truth = make(handpiece, np.random.default_rng(5), duration_s=6.0)
    on, off = truth.samples[72_000:140_000], truth.samples[150_000:]
    assert db(rms(on) ** 2 / rms(off) ** 2) == pytest.approx(25.0, abs=1.0)
    # The jet hisses, the room rumbles.
    assert power_in(on, 4_000, 24_000) > 5 * power_in(on, 0, 4_000)
    assert power_in(off, 0, 4_000) > 5 * power_in(off, 4_000, 24_000)


def test_the_blade_line_goes_with_the_air():
    handpiece = Handpiece(
        steady_hz=2_000.0,
        release_s=2.0,
        blades=8,
        drag=(100.0, 0.0, 0.0),
        line_to_noise_db=30.0,
    )
    truth = make(handpiece, np.random.default_rng(6), duration_s=4.0)
    on, off = truth.samples[60_000:90_000], truth.samples[100_000:130_000]
    blade = power_in(on, 15_900, 16_100) - power_in(on, 15_600, 15_800)
    assert db(blade / truth.line_1_rms**2) == pytest.approx(-12.0, abs=0.3)
    beside = power_in(off, 15_400, 15_600)
    assert power_in(off, 15_900, 16_100) < 1.5 * beside


@pytest.mark.parametrize("sound", [hum_of, speech, compressor, suction])
def test_what_the_room_adds_has_its_level(sound):
    truth = make(Handpiece(), np.random.default_rng(7), duration_s=5.0)
    mixed = added(truth, sound(truth, np.random.default_rng(8)), level_db=-6.0)
    # What is left after the handpiece at its new scale is taken out.
    left = mixed.samples - truth.samples * (mixed.scale / truth.scale)
    assert db(rms(left) ** 2 / mixed.line_1_rms**2) == pytest.approx(-6.0, abs=0.05)
    assert np.abs(mixed.samples).max() <= 0.9 + 1e-6


def test_hum_stands_at_multiples_of_the_mains():
    truth = make(Handpiece(), np.random.default_rng(9), duration_s=5.0)
    sound = hum_of(truth, np.random.default_rng(10), mains_hz=60.0)
    lines = np.abs(np.fft.rfft(sound)) ** 2
    assert lines[:: 60 * 5].sum() == pytest.approx(lines.sum(), rel=1e-6)


def test_suction_and_compressor_rumble():
    truth = make(Handpiece(), np.random.default_rng(11), duration_s=5.0)
    for sound in (suction, compressor):
        samples = sound(truth, np.random.default_rng(12))
        assert power_in(samples, 0, 5_000) > 0.9


def test_spray_lasts_as_long_as_the_air():
    truth = make(Handpiece(release_s=3.0), np.random.default_rng(13), duration_s=5.0)
    sound = spray(truth, np.random.default_rng(14))
    assert rms(sound[48_000:140_000]) == pytest.approx(1.0, rel=0.1)
    assert np.abs(sound[:20_000]).max() == 0.0
    assert np.abs(sound[150_000:]).max() < 1e-3


def test_a_second_handpiece_turns_at_its_own_speed():
    truth = make(RUNNING, np.random.default_rng(15), duration_s=2.0)
    other = second_handpiece(truth, np.random.default_rng(16), steady_hz=5_500.0)
    mixed = added(truth, other.samples, level_db=-3.0)
    assert peak_hz(mixed.samples, 5_000, 6_000) == pytest.approx(other.mean_hz(0, 2), rel=2e-3)
    assert peak_hz(mixed.samples, 6_000, 7_000) == pytest.approx(6_500.0, rel=1e-5)


def test_a_gain_that_rides_holds_the_loudness():
    truth = make(Handpiece(release_s=3.0), np.random.default_rng(17), duration_s=6.0)
    ridden = gain_ridden_by(truth.samples, RATE_HZ, target=0.1)
    # It answers louder moments more quickly than softer ones, and so stays a little below.
    assert rms(ridden[100_000:140_000]) == pytest.approx(0.1, rel=0.15)
    assert rms(ridden[-48_000:]) == pytest.approx(0.1, rel=0.15)
    assert rms(truth.samples[-48_000:]) < 0.2 * rms(truth.samples[100_000:140_000])


def test_a_largest_gain_is_kept():
    silence = np.full(48_000, 1e-4, np.float32)
    ridden = gain_ridden_by(silence, RATE_HZ, most_db=20.0)
    assert ridden.max() == pytest.approx(1e-3, rel=1e-3)


def test_noise_suppression_takes_noise_and_leaves_what_rises():
    rng = np.random.default_rng(18)
    time_s = np.arange(144_000) / RATE_HZ
    tone = 0.3 * np.cos(2 * np.pi * 6_500.0 * time_s) * (time_s > 1.5)
    noise = 0.01 * rng.standard_normal(time_s.size)
    out = noise_suppressed((tone + noise).astype(np.float32), RATE_HZ, over_floor_db=12.0)
    # Opened by the tone after its attack; what lies far from it is mostly taken away.
    opened = slice(77_000, 96_000)
    assert rms(out[opened]) == pytest.approx(0.3 / np.sqrt(2), rel=0.05)
    assert power_in(out[24_000:70_000], 0, 24_000) < 0.3 * 0.01**2


def test_noise_suppression_that_always_opens_changes_nothing():
    samples = (0.1 * np.random.default_rng(19).standard_normal(48_000)).astype(np.float32)
    out = noise_suppressed(samples, RATE_HZ, over_floor_db=-200.0, attack_s=1e-6)
    assert np.allclose(out, samples, atol=1e-6)


def test_clipping_before_a_coder_leaves_peaks_over_full_scale():
    truth = make(RUNNING, np.random.default_rng(20), duration_s=2.0)
    heard = clipped_before_coding(truth.samples, RATE_HZ, 4.0, "m4a", bit_rate=96_000)
    assert np.abs(heard).max() > 1.05
    assert np.abs(coded(truth.samples, RATE_HZ, "m4a")).max() < 0.7


def test_a_low_pass_is_down_by_half_at_its_edge():
    noise = np.random.default_rng(21).standard_normal(480_000).astype(np.float32)
    out = softly_low_passed(noise, RATE_HZ, 8_000.0)
    density = power_in(out, 2_000, 7_000) / 5_000
    assert db(power_in(out, 7_980, 8_020) / (40 * density)) == pytest.approx(-6.0, abs=1.0)
    assert power_in(out, 8_300, 24_000) < 1e-6


@pytest.mark.parametrize("ppm", [-100.0, 50.0])
def test_a_clock_error_shifts_every_frequency(ppm):
    truth = make(RUNNING, np.random.default_rng(22), duration_s=5.0)
    heard = with_clock_error(truth.samples, ppm)
    # Half a sample of 240,000 is 2 ppm.
    assert peak_hz(heard, 6_000, 7_000) / 6_500.0 - 1.0 == pytest.approx(-ppm * 1e-6, abs=2.5e-6)
    with pytest.raises(ValueError, match="longer"):
        with_clock_error(truth.samples[:4_800], ppm)
