"""The difference of two mean curves: by hand, its size, and its laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.life.returns.shop import histories_of
from turnwell.errors import CannotTellError, InputError
from turnwell.life import Clock, Histories, difference, mean_cumulative


def test_it_is_the_first_mean_less_the_second():
    rng = np.random.default_rng(1)
    one, other = histories_of(rng, 60), histories_of(rng, 60, mean=1.0)
    compared = difference(one, other)
    means = mean_cumulative(one), mean_cumulative(other)
    for age in (100.0, 400.0, 800.0):
        expected = means[0].at(age).value - means[1].at(age).value
        assert compared.at(age).value == pytest.approx(expected)
        assert compared.at(age).low < expected < compared.at(age).high


def test_the_test_is_the_one_by_hand():
    """Two units a group, all watched alike; every unit against the mean of all four."""
    one = Histories.of([9, 9], [0, 0, 1], [2, 5, 4])
    other = Histories.of([9, 9], [0], [3])
    compared = difference(one, other)
    # Weight 1 throughout; told 3/2 - 1/2; units off the mean 1 by 1, 0, 0, -1, over 2 each.
    assert compared.statistic == pytest.approx(1.0 / np.sqrt(0.25 + 0.25))
    assert compared.degrees == pytest.approx(2.0)


def test_groups_that_differ_are_told_apart():
    rng = np.random.default_rng(2)
    compared = difference(histories_of(rng, 150), histories_of(rng, 150, mean=1.0))
    assert compared.p < 1e-4
    assert compared.statistic > 0.0


def test_the_later_start_counts_for_both():
    one = Histories.of([20, 20], [0, 1, 1], [3, 4, 12])
    other = Histories.of([20, 18], [0, 1], [11, 15], start=[10, 10])
    compared = difference(one, other)
    assert (compared.start, compared.end) == (10, 20)
    assert compared.at(20).value == pytest.approx(0.5 - 1.0)


def test_an_office_in_both_groups_narrows_the_interval():
    """What an office adds to both its groups falls out of their difference."""
    rng = np.random.default_rng(4)
    factor = rng.gamma(2.0, 0.5, 20)
    office = np.repeat(np.arange(20), 10)

    def group() -> Histories:
        unit = np.repeat(np.arange(200), rng.poisson(3.0 * factor[office]))
        return Histories.of(
            np.full(200, 9.0), unit, 9.0 * rng.uniform(size=unit.size), office=office
        )

    one, other = group(), group()
    apart = Histories.of(other.stop, other.unit, other.at, office=other.office + 20)
    together = difference(one, other, by_office=True).at(9)
    separate = difference(one, apart, by_office=True).at(9)
    assert together.value == separate.value
    assert together.high - together.low < 0.6 * (separate.high - separate.low)


@given(st.integers(0, 2**32 - 1))
def test_the_other_way_round_it_is_the_opposite(seed: int):
    rng = np.random.default_rng(seed)
    one, other = histories_of(rng, 15), histories_of(rng, 10, mean=4.0)
    forward, backward = difference(one, other), difference(other, one)
    assert forward.value == pytest.approx(-backward.value)
    assert forward.low == pytest.approx(-backward.high)
    assert forward.statistic == pytest.approx(-backward.statistic)
    assert forward.p == pytest.approx(backward.p)


@pytest.mark.parametrize("counts", [(20, 20), (10, 40)])
def test_it_seldom_finds_a_difference_where_there_is_none(counts: tuple[int, int]):
    """A cheap part of ``python -m benchmarks life_curves``."""
    rng = np.random.default_rng(5)
    found = sum(
        difference(*(histories_of(rng, count, spread=0.5) for count in counts)).p < 0.05
        for _ in range(300)
    )
    assert found <= 24


def test_units_that_came_back_alike_show_no_difference():
    same = Histories.of([9, 9], [0, 1], [4, 4])
    assert difference(same, same).p == 1.0


def test_it_refuses_what_cannot_be_compared():
    one = Histories.of([9, 9], [0], [4])
    with pytest.raises(InputError, match="different clocks"):
        difference(one, Histories.of([9, 9], [0], [4], clock=Clock.CYCLES))
    with pytest.raises(CannotTellError, match="give two at least"):
        difference(one, Histories.of([9], [0], [4]))
    with pytest.raises(CannotTellError, match="nothing came back"):
        difference(Histories.of([9, 9], [], []), Histories.of([9, 9], [], []))
    with pytest.raises(InputError, match="beyond start 20"):
        difference(one, Histories.of([30, 30], [0], [25], start=[20, 20]))
    with pytest.raises(InputError, match="ask for an age between"):
        difference(one, one).at(10)
