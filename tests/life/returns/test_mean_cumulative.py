"""The mean cumulative function against a worked example, another package, and its own laws."""

import pytest

from turnwell.life import Histories, mean_cumulative

# Five systems of the documentation of an open package of reliability methods.
FIVE = Histories.of(
    [17, 19, 26, 24, 28],
    [0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4],
    [5, 10, 15, 6, 13, 17, 12, 20, 25, 13, 15, 16, 22, 25],
)


def test_it_matches_the_worked_example():
    printed = [0.2, 0.4, 0.6, 0.8, 1.2, 1.6, 1.8, 2.0, 2.333333, 2.666667, 3.666667]
    assert mean_cumulative(FIVE).value == pytest.approx(printed, abs=5e-7)


def test_its_variance_is_that_over_units():
    expected = [0.032, 0.048, 0.128, 0.112, 0.112, 0.208, 0.112, 0.16, 0.189630]
    expected += [0.145185, 0.145185]
    assert mean_cumulative(FIVE).variance == pytest.approx(expected, abs=5e-7)
