"""Noise dose against the published tables of durations.

NIOSH: DHHS (NIOSH) 98-126, table 1-1 (from memory). OSHA: 29 CFR 1910.95, table G-16 (from memory)
and table G-16a (80 to 87 dB as read, the rest from memory), table A-1 of appendix A (from memory).
"""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnwell.errors import InputError
from turnwell.sound.level.dose import NIOSH, OSHA_LIMIT, OSHA_PROGRAMME, RULES, dose_of
from turnwell.words import text_of

# Hours and minutes.
NIOSH_TABLE = {
    80: (25, 24),
    81: (20, 10),
    82: (16, 0),
    83: (12, 42),
    84: (10, 5),
    85: (8, 0),
    86: (6, 21),
    87: (5, 2),
    88: (4, 0),
    89: (3, 10),
    90: (2, 31),
    91: (2, 0),
    92: (1, 35),
    93: (1, 16),
    94: (1, 0),
    97: (0, 30),
    100: (0, 15),
}
G_16A = {
    80: 32.0,
    81: 27.9,
    82: 24.3,
    83: 21.1,
    84: 18.4,
    85: 16.0,
    86: 13.9,
    87: 12.1,
    88: 10.6,
    89: 9.2,
    90: 8.0,
    95: 4.0,
    100: 2.0,
    105: 1.0,
    110: 0.5,
}
G_16 = {90: 8.0, 95: 4.0, 100: 2.0, 105: 1.0, 110: 0.5, 115: 0.25}
AVERAGES = {10.0: 73.4, 50.0: 85.0, 100.0: 90.0, 200.0: 95.0, 400.0: 100.0, 800.0: 105.0}


@pytest.mark.parametrize(("level_db", "printed"), NIOSH_TABLE.items())
def test_durations_are_those_of_the_niosh_table(level_db: int, printed: tuple[int, int]):
    minutes = 60 * printed[0] + printed[1]
    # The table drops fractions of a minute at some levels and rounds them at others.
    assert 60.0 * NIOSH.allowed_h(level_db) == pytest.approx(minutes, abs=1.0)


@pytest.mark.parametrize(("level_db", "hours"), G_16A.items())
def test_durations_are_those_of_the_programme_table(level_db: int, hours: float):
    assert OSHA_PROGRAMME.allowed_h(level_db) == pytest.approx(hours, abs=0.0501)


@pytest.mark.parametrize(("level_db", "hours"), G_16.items())
def test_durations_are_those_of_the_limit_table(level_db: int, hours: float):
    assert OSHA_LIMIT.allowed_h(level_db) == pytest.approx(hours, rel=1e-12)


@pytest.mark.parametrize(("percent", "average_db"), AVERAGES.items())
def test_averages_are_those_of_the_table(percent: float, average_db: float):
    assert round(OSHA_PROGRAMME.average_db(percent), 1) == average_db


@given(st.floats(80.0, 120.0))
def test_eight_hours_at_a_level_average_to_that_level(level_db: float):
    assert NIOSH.average_db(NIOSH.percent(level_db, 8.0)) == pytest.approx(level_db, abs=1e-9)


@given(st.floats(60.0, 110.0), st.floats(0.0, 10.0), st.floats(0.1, 24.0))
def test_the_interval_of_a_dose_holds_it(level_db: float, half_db: float, hours: float):
    for rule in RULES:
        dose = dose_of(level_db, level_db - half_db, level_db + half_db, hours=hours, rule=rule)
        assert 0.0 <= dose.low_percent <= dose.percent <= dose.high_percent


def test_a_level_below_the_threshold_does_not_count():
    assert OSHA_LIMIT.allowed_h(89.9) == inf
    dose = dose_of(85.0, 82.0, 91.0, hours=8.0, rule=OSHA_LIMIT)
    assert (dose.percent, dose.low_percent) == (0.0, 0.0)
    assert dose.high_percent == pytest.approx(100.0 * 2 ** (1 / 5))
    assert dose.as_dict()["average_db"] is None


def test_two_hours_at_91_are_the_day_of_niosh():
    reading = dose_of(91.0, 88.0, 94.0, hours=2.0).as_reading()
    assert (reading.low, reading.value, reading.high) == (50.0, 100.0, 200.0)
    assert "hygienist" in text_of(reading.why)


@pytest.mark.parametrize("hours", [0.0, -1.0, 24.5, float("nan")])
def test_impossible_hours_are_refused(hours: float):
    with pytest.raises(InputError, match="at most 24"):
        dose_of(85.0, 84.0, 86.0, hours=hours)


def test_an_interval_without_its_level_is_refused():
    with pytest.raises(InputError, match="interval"):
        dose_of(85.0, 86.0, 87.0, hours=1.0)
