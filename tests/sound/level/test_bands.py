"""Third-octave bands: their frequencies, and the power they hold against another filter bank."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import signal

from turnwell.errors import InputError
from turnwell.sound.level.bands import (
    Band,
    PowerSpectrum,
    bands_between,
    power_in,
    power_spectrum,
)

RATE_HZ = 48_000.0
# ISO 266 series R10 from 25 Hz to 20 kHz (from memory).
NOMINAL_HZ = [
    *[25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1_000],
    *[1_250, 1_600, 2_000, 2_500, 3_150, 4_000, 5_000, 6_300, 8_000, 10_000, 12_500, 16_000],
    20_000,
]
# IEC 61260-1:2014, table E.1, exact mid-band frequencies in the base-ten system (from memory).
EXACT_HZ = {25.0: 25.119, 100.0: 100.0, 315.0: 316.23, 1_250.0: 1_258.9, 6_300.0: 6_309.6}
BANDS = bands_between(22.0, 22_500.0)


def decibel(power: object) -> np.ndarray:
    return 10.0 * np.log10(np.asarray(power))


def test_the_names_are_those_of_iso_266():
    assert [band.nominal_hz for band in BANDS] == NOMINAL_HZ


@pytest.mark.parametrize(("nominal_hz", "exact_hz"), EXACT_HZ.items())
def test_exact_frequencies_are_those_of_the_standard(nominal_hz: float, exact_hz: float):
    band = next(band for band in BANDS if band.nominal_hz == nominal_hz)
    assert band.mid_hz == pytest.approx(exact_hz, rel=5e-5)


def test_each_band_begins_where_the_last_one_ends():
    for band, following in itertools.pairwise(BANDS):
        assert band.high_hz == pytest.approx(following.low_hz, rel=1e-12)
    assert Band(10).low_hz == pytest.approx(10.0 * Band(0).low_hz, rel=1e-12)


@settings(max_examples=25, deadline=None)
@given(st.floats(30.0, 20_000.0), st.floats(0.0, 6.28), st.floats(1e-4, 1.0))
def test_a_tone_lies_in_its_band_with_its_power(tone_hz: float, phase: float, size: float):
    time_s = np.arange(int(3 * RATE_HZ)) / RATE_HZ
    tone = (size * np.sin(2.0 * np.pi * tone_hz * time_s + phase)).astype(np.float32)
    power = power_in(power_spectrum(tone, RATE_HZ), BANDS)
    assert decibel(power.sum()) == pytest.approx(decibel(size**2 / 2.0), abs=0.02)
    edge_hz = min(abs(tone_hz - edge) for band in BANDS for edge in (band.low_hz, band.high_hz))
    if edge_hz > 2.5:
        at = next(n for n, band in enumerate(BANDS) if band.low_hz < tone_hz < band.high_hz)
        assert decibel(power[at] / (size**2 / 2.0)) == pytest.approx(0.0, abs=0.02)


def test_bands_of_white_noise_rise_by_a_decibel_each_and_sum_to_the_whole():
    noise = np.random.default_rng(3).standard_normal(int(60 * RATE_HZ)).astype(np.float32)
    bands = bands_between(100.0, 20_000.0)
    power = power_in(power_spectrum(noise, RATE_HZ), bands)
    # Equal power in each hertz: three bands, an octave of base ten, add 3 dB.
    expected = np.array([(band.high_hz - band.low_hz) / (0.5 * RATE_HZ) for band in bands])
    spread = 4.34 / np.sqrt(60.0 * 0.23 * np.array([band.mid_hz for band in bands]))
    assert np.all(np.abs(decibel(power / expected)) < 5.0 * spread)
    whole = power_spectrum(noise, RATE_HZ).power.sum()
    assert whole == pytest.approx(np.mean(noise.astype(np.float64) ** 2), rel=2e-3)


def test_bands_agree_with_steep_filters_in_time():
    rng = np.random.default_rng(4)
    noise = rng.standard_normal(int(20 * RATE_HZ))
    for number in (-5, 0, 8, 11):
        band = Band(number)
        filtered = signal.sosfilt(
            signal.butter(12, [band.low_hz, band.high_hz], "bandpass", fs=RATE_HZ, output="sos"),
            noise,
        )
        ours = power_in(power_spectrum(noise.astype(np.float32), RATE_HZ), (band,))[0]
        assert decibel(ours / np.mean(filtered**2)) == pytest.approx(0.0, abs=0.1)


def test_a_bin_that_an_edge_cuts_is_shared():
    # Power in proportion to frequency: a band holds half the difference of its edges' squares.
    rising = PowerSpectrum(np.arange(1_000.0), 1.0, 1)
    band = Band(-10)
    expected = (band.high_hz**2 - band.low_hz**2) / 2.0
    assert power_in(rising, (band,))[0] == pytest.approx(expected, rel=1e-3)


def test_bands_that_the_recording_cannot_part_are_unknown():
    short = np.random.default_rng(5).standard_normal(int(0.2 * RATE_HZ)).astype(np.float32)
    power = power_in(power_spectrum(short, RATE_HZ), bands_between(22.0, 30_000.0))
    assert np.isnan(power[0])  # 25 Hz: 6 Hz wide, in bins of 5 Hz
    assert np.isnan(power[-1])  # 25 kHz: above half the rate
    assert np.isfinite(power[8:-1]).all()


def test_wrong_input_is_refused():
    with pytest.raises(InputError, match="low <= high"):
        bands_between(0.0, 100.0)
    with pytest.raises(InputError, match="at least 16"):
        power_spectrum(np.zeros(8, np.float32), RATE_HZ)
