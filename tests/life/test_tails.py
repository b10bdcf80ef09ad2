"""Levels of coverage: how far intervals reach, and that every method refuses what is no level."""

from collections.abc import Callable

import numpy as np
import pytest

from turnwell.errors import InputError
from turnwell.life import (
    Histories,
    Lives,
    cumulative_incidence,
    difference,
    mean_cumulative,
    power_law,
    product_limit,
    rate,
    restricted_mean,
    scale_bound,
    shrink,
)
from turnwell.life.tails import normal_reach, student_reach, tail_of

LIVES = Lives.observed([2, 4, 8, 8], [1, 1, 0, 0], office=[0, 1, 0, 1])
RUNNING = Lives.observed([8, 9], [0, 0])
HISTORIES = Histories.of([9, 9, 9], [0, 0, 1, 2, 2], [2, 5, 4, 3, 8])
ONE_UNIT = Histories.of([9], [0, 0], [2, 5])


@pytest.mark.parametrize(
    ("level", "printed"), [(0.90, 1.645), (0.95, 1.960), (0.99, 2.576), (0.50, 0.674)]
)
def test_normal_reaches_match_the_printed_table(level: float, printed: float):
    """Upper points of the normal law as every handbook prints them, [NISTHANDBOOK] 1.3.6.7.1."""
    assert normal_reach(level) == pytest.approx(printed, abs=0.0005)


@pytest.mark.parametrize(("degrees", "printed"), [(1, 12.706), (4, 2.776), (30, 2.042)])
def test_student_reaches_match_the_printed_table(degrees: int, printed: float):
    """Upper points of Student's t, [NISTHANDBOOK] 1.3.6.7.2."""
    assert student_reach(0.95, degrees) == pytest.approx(printed, abs=0.0005)


def test_both_tails_and_the_level_add_up_to_all():
    assert 2.0 * tail_of(0.9) + 0.9 == pytest.approx(1.0)


@pytest.mark.parametrize("level", [0.0, 1.0, 1.5, -0.1, float("nan")])
@pytest.mark.parametrize(
    "asked",
    [
        lambda level: product_limit(LIVES, level=level),
        lambda level: cumulative_incidence(LIVES, level=level),
        lambda level: restricted_mean(LIVES, 8, level=level),
        lambda level: mean_cumulative(HISTORIES, level=level),
        lambda level: mean_cumulative(ONE_UNIT, level=level),
        lambda level: difference(HISTORIES, HISTORIES, level=level),
        lambda level: power_law(HISTORIES, level=level),
        lambda level: rate(3, 1.0, level=level),
        lambda level: scale_bound(RUNNING, shape=1.5, level=level),
        lambda level: shrink(np.array([3, 4]), np.array([3.0, 3.0]), level=level),
    ],
)
def test_it_refuses_what_is_no_level(asked: Callable[[float], object], level: float):
    with pytest.raises(InputError, match=r"level is .*must lie between 0 and 1"):
        asked(level)
