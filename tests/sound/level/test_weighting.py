"""The weighting A against the standard's table and against an analogue filter of the same poles.

Table: IEC 61672-1:2013, table 3, as reprinted in open sources; values to 0.1 dB.
"""

import numpy as np
import pytest
from scipy import signal

from turnwell.errors import InputError
from turnwell.sound.level.bands import bands_between
from turnwell.sound.level.weighting import POLES_HZ, a_weighting_db, a_weighting_power

TABLE_DB = {
    10.0: -70.4,
    12.5: -63.4,
    16.0: -56.7,
    20.0: -50.5,
    25.0: -44.7,
    31.5: -39.4,
    40.0: -34.6,
    50.0: -30.2,
    63.0: -26.2,
    80.0: -22.5,
    100.0: -19.1,
    125.0: -16.1,
    160.0: -13.4,
    200.0: -10.9,
    250.0: -8.6,
    315.0: -6.6,
    400.0: -4.8,
    500.0: -3.2,
    630.0: -1.9,
    800.0: -0.8,
    1_000.0: 0.0,
    1_250.0: 0.6,
    1_600.0: 1.0,
    2_000.0: 1.2,
    2_500.0: 1.3,
    3_150.0: 1.2,
    4_000.0: 1.0,
    5_000.0: 0.5,
    6_300.0: -0.1,
    8_000.0: -1.1,
    10_000.0: -2.5,
    12_500.0: -4.3,
    16_000.0: -6.6,
    20_000.0: -9.3,
}
BANDS = {band.nominal_hz: band for band in bands_between(8.0, 23_000.0)}


@pytest.mark.parametrize("nominal_hz", TABLE_DB)
def test_it_rounds_to_the_table_of_the_standard(nominal_hz: float):
    # The table is made for the exact frequency of the band that the nominal one names.
    value_db = float(a_weighting_db([BANDS[nominal_hz].mid_hz])[0])
    assert round(value_db, 1) == TABLE_DB[nominal_hz]


def test_the_poles_round_to_those_the_standard_prints():
    # Annex E prints 20.60, 107.7, 737.9 and 12 194 Hz.
    assert [round(pole, 1) for pole in POLES_HZ] == [20.6, 107.7, 737.9, 12_194.2]


def test_it_agrees_with_an_analogue_filter_of_the_same_poles():
    first, second, third, last = (2.0 * np.pi * pole for pole in (20.6, 107.7, 737.9, 12_194.0))
    frequency_hz = np.geomspace(10.0, 40_000.0, 300)
    poles = [-first, -first, -second, -third, -last, -last]
    _, response = signal.freqs_zpk([0.0] * 4, poles, 1.0, 2.0 * np.pi * frequency_hz)
    _, at_reference = signal.freqs_zpk([0.0] * 4, poles, 1.0, [2.0 * np.pi * 1_000.0])
    expected_db = 20.0 * np.log10(np.abs(response) / np.abs(at_reference[0]))
    assert np.max(np.abs(a_weighting_db(frequency_hz) - expected_db)) < 0.01


def test_constant_pressure_weighs_nothing():
    assert a_weighting_power([0.0])[0] == 0.0
    assert a_weighting_db([0.0])[0] == -np.inf


@pytest.mark.parametrize("wrong", [-1.0, float("nan"), float("inf")])
def test_a_wrong_frequency_is_refused(wrong: float):
    with pytest.raises(InputError, match=">= 0 Hz"):
        a_weighting_power([1_000.0, wrong])
