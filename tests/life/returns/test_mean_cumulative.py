"""The mean cumulative function against a worked example, another package, and its own laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from surpyval.recurrent import NonParametricCounting

from tests.life.returns.sets import FIVE
from tests.life.returns.shop import histories_of
from turnwell.errors import InputError
from turnwell.life import Histories, mean_cumulative


def test_it_matches_the_worked_example():
    printed = [0.2, 0.4, 0.6, 0.8, 1.2, 1.6, 1.8, 2.0, 2.333333, 2.666667, 3.666667]
    assert mean_cumulative(FIVE).value == pytest.approx(printed, abs=5e-7)


def test_its_variance_is_that_over_units():
    """Digits from two independent programs; a sum of variances of the steps gives 0.718."""
    expected = [0.032, 0.048, 0.128, 0.112, 0.112, 0.208, 0.112, 0.16, 0.189630]
    expected += [0.145185, 0.145185]
    assert mean_cumulative(FIVE).variance == pytest.approx(expected, abs=5e-7)


def test_late_starts_agree_with_surpyval():
    histories = histories_of(np.random.default_rng(1), 200, spread=0.5)
    times = np.concatenate([histories.at, histories.stop])
    units = np.concatenate([histories.unit, np.arange(histories.count)])
    is_end = np.repeat([0, 1], [histories.returns, histories.count])
    other = NonParametricCounting.fit(times, units, c=is_end, tl=histories.start[units])
    curve = mean_cumulative(histories)
    place = np.searchsorted(other.x, curve.time)
    assert curve.value == pytest.approx(other.mcf_hat[place], rel=1e-9)
    assert curve.variance == pytest.approx(other.var[place], rel=1e-9)


def test_costs_add_up_as_weights():
    weighted = Histories.of([10, 10], [0, 0, 1], [2, 5, 5], weight=[30.0, 10.0, 20.0])
    curve = mean_cumulative(weighted)
    assert curve.value.tolist() == [15.0, 30.0]
    # Up to 2 the units are 15 above and below; up to 5 they are 40 and 20, 10 off 30.
    assert curve.variance.tolist() == [2 * 7.5**2, 2 * 5.0**2]


def test_the_variance_over_offices_takes_their_units_together():
    histories = Histories.of([10, 10, 10, 10], [0, 1, 1, 2], [2, 3, 6, 4], office=[0, 0, 1, 1])
    curve = mean_cumulative(histories, by_office=True)
    assert curve.clusters == 2
    assert curve.is_by_office
    # Three returns of four units at first office, one at the second: 1/4 off the mean each.
    assert curve.variance[-1] == pytest.approx(2 * (3 / 4 - 2 / 4) ** 2)


def test_a_unit_is_watched_after_its_start_and_up_to_its_stop():
    histories = Histories.of([6, 9], [0, 1], [6, 8], start=[0, 6])
    curve = mean_cumulative(histories)
    assert curve.at_risk.tolist() == [1, 1]
    assert curve.value.tolist() == [1.0, 2.0]


def test_it_ends_where_nobody_is_watched():
    histories = Histories.of([5, 20], [0, 1], [3, 15], start=[0, 10])
    curve = mean_cumulative(histories)
    assert (curve.start, curve.end) == (0, 5)
    assert curve.time.tolist() == [3]
    later = mean_cumulative(histories, start=5)
    assert (later.start, later.end) == (10, 20)
    assert later.value.tolist() == [1.0]


def test_at_one_unit_left_the_limits_are_no_nearer_than_those_of_chance():
    """From 17 units on the fifth system is watched alone, whose own mean is the mean."""
    histories = Histories.of([10, 10, 30], [0, 1, 2, 2, 2], [4, 5, 8, 20, 25])
    curve = mean_cumulative(histories)
    assert curve.variance[-1] == curve.variance[-3]
    assert curve.high[-1] - curve.low[-1] > curve.high[-3] - curve.low[-3]


def test_before_the_first_return_the_limit_is_that_of_none():
    """[GARWOOD1936]: none seen, 3.689 at most, here in two units."""
    histories = Histories.of([10, 10], [0], [6])
    before = mean_cumulative(histories).at(5)
    assert before.value == before.low == 0.0
    assert before.high == pytest.approx(3.689 / 2, abs=5e-4)
    assert mean_cumulative(histories).at(0).high == 0.0


def test_one_unit_gives_a_mean_with_open_limits():
    ends = mean_cumulative(Histories.of([10], [0], [6])).at(8)
    assert (ends.value, ends.low, ends.high) == (1.0, 0.0, np.inf)


def test_no_return_at_all_gives_a_curve_without_steps():
    curve = mean_cumulative(Histories.of([10, 10], [], []))
    assert curve.time.size == 0
    assert curve.at(9).value == 0.0


@given(st.integers(0, 2**32 - 1), st.integers(2, 20))
def test_where_all_are_watched_alike_it_is_the_mean_of_their_counts(seed: int, count: int):
    rng = np.random.default_rng(seed)
    unit = rng.integers(0, count, 30)
    histories = Histories.of(np.full(count, 9.0), unit, rng.integers(1, 10, 30))
    curve = mean_cumulative(histories)
    counts = np.bincount(unit, minlength=count)
    assert curve.value[-1] == pytest.approx(counts.mean())
    assert curve.variance[-1] == pytest.approx(counts.var() / count)


@given(st.integers(0, 2**32 - 1))
def test_the_order_of_units_does_not_matter(seed: int):
    rng = np.random.default_rng(seed)
    histories = histories_of(rng, 15, cost=True)
    turned = histories.count - 1 - histories.unit
    other = Histories.of(
        histories.stop[::-1],
        turned,
        histories.at,
        start=histories.start[::-1],
        weight=histories.weight,
    )
    assert mean_cumulative(other).value == pytest.approx(mean_cumulative(histories).value)
    assert mean_cumulative(other).variance == pytest.approx(mean_cumulative(histories).variance)


def test_its_interval_covers_the_truth():
    """A cheap part of ``python -m benchmarks life_curves``."""
    rng = np.random.default_rng(3)
    held = [
        (found := mean_cumulative(histories_of(rng, 20, spread=0.5)).at(500.0)).low
        <= 2.0 * 500.0 / 700.0
        <= found.high
        for _ in range(400)
    ]
    assert 0.92 <= np.mean(held) <= 0.99


def test_it_refuses_ages_nobody_was_watched_at():
    with pytest.raises(InputError, match="from 0 to 28"):
        mean_cumulative(FIVE).at(29)
    with pytest.raises(InputError, match="beyond start 30"):
        mean_cumulative(FIVE, start=30)


def test_few_units_reach_as_far_as_students_t():
    """Twelve, none and none: 4 on average, standard error 4; t is 4.303 at two degrees."""
    curve = mean_cumulative(Histories.of([20, 20, 20], [0] * 12, range(1, 13)))
    assert curve.value[-1] == pytest.approx(4.0)
    assert np.log(curve.high[-1] / curve.value[-1]) == pytest.approx(4.303, abs=5e-4)
    assert np.log(curve.value[-1] / curve.low[-1]) == pytest.approx(4.303, abs=5e-4)
