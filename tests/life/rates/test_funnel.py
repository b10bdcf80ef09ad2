"""Funnel limits: exact quantiles, the line drawn through them, over-dispersion, refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import poisson

from turnwell.errors import InputError
from turnwell.life.rates import funnel
from turnwell.life.rates.funnel import poisson_quantile


def test_limits_at_an_expected_count_of_ten_are_the_poisson_quantiles():
    found = funnel([10], [10.0])
    narrow, wide = found.limits
    assert [wide.lowest[0], narrow.lowest[0], narrow.highest[0], wide.highest[0]] == [2, 4, 17, 21]


@given(st.floats(1e-6, 1e5), st.sampled_from([0.001, 0.025, 0.5, 0.975, 0.999]))
def test_quantiles_are_exact_at_any_mean(mean: float, share: float):
    assert poisson_quantile(share, mean) == poisson.ppf(share, mean)


def test_the_line_runs_between_the_whole_counts():
    at = np.geomspace(0.5, 500.0, 400)
    for limit in funnel(np.round(at), at).limits_at(at):
        count = limit.high * at
        assert np.all((count <= limit.highest) & (count >= limit.highest - 1))


def test_at_large_counts_the_limits_are_those_of_the_normal_law():
    (narrow, wide) = funnel([10_000], [10_000.0]).limits
    assert narrow.high[0] == pytest.approx(1.0 + 1.96 / 100.0, abs=2e-4)
    assert wide.low[0] == pytest.approx(1.0 - 3.09 / 100.0, abs=2e-4)


def test_offices_alike_stay_inside_as_often_as_claimed():
    rng = np.random.default_rng(5)
    expected = rng.uniform(2.0, 60.0, 20_000)
    found = funnel(rng.poisson(expected), expected)
    assert not found.is_over_dispersed
    # Exact limits: at most 2.5 % and 0.1 % above, and not far below.
    assert 0.015 <= np.mean(found.is_above(0.95)) <= 0.026
    assert 0.0002 <= np.mean(found.is_above(0.998)) <= 0.0013


def test_offices_that_differ_widen_the_funnel():
    rng = np.random.default_rng(6)
    expected = np.full(200, 20.0)
    alike = funnel(rng.poisson(expected), expected)
    apart = funnel(rng.poisson(expected * rng.gamma(10.0, 0.1, 200)), expected)
    assert apart.is_over_dispersed
    # Variance of z 1 + 20 / 10; a tenth drawn in at either end leaves 0.68 of a normal variance.
    assert apart.dispersion == pytest.approx(0.68 * 3.0, rel=0.2)
    grown = (apart.limits[0].high - 1.0) / (alike.limits[0].high - 1.0)
    assert grown == pytest.approx(np.sqrt(apart.dispersion))
    assert np.array_equal(apart.limits[0].highest, alike.limits[0].highest)


def test_a_count_at_the_exact_quantile_is_inside():
    found = funnel([17, 18, 10, 10, 10, 10, 10, 10], np.full(8, 10.0))
    assert found.is_above(0.95).tolist()[:3] == [False, True, False]


def test_one_odd_office_does_not_widen_it():
    counts = np.full(50, 10)
    counts[::2] = 13
    counts[0] = 90
    assert not funnel(counts, np.full(50, 10.0)).is_over_dispersed


def test_lower_limits_never_fall_below_nothing():
    rng = np.random.default_rng(7)
    found = funnel(rng.poisson(rng.gamma(0.5, 4.0, 60)), np.full(60, 2.0))
    assert found.is_over_dispersed
    assert found.limits[1].low.min() == 0.0


@pytest.mark.parametrize(
    ("arguments", "options", "says"),
    [
        (([], []), {}, "no office"),
        (([1], [1.0, 2.0]), {}, "counts has shape"),
        (([1.5], [1.0]), {}, "whole numbers"),
        (([1], [0.0]), {}, "leave out offices without risk"),
        (([1], [1.0]), {"target": 0.0}, "target is 0"),
        (([1], [1.0]), {"levels": (1.0,)}, "level is"),
        (([1], [1.0]), {"levels": ()}, "give one at least"),
    ],
)
def test_it_refuses_what_is_no_funnel(arguments, options, says: str):
    with pytest.raises(InputError, match=says):
        funnel(*arguments, **options)


def test_it_names_its_own_levels():
    with pytest.raises(InputError, match=r"this funnel has 0\.95, 0\.998"):
        funnel([1], [1.0]).is_above(0.9)


@pytest.mark.parametrize(("off", "dispersion", "is_over"), [(14, 1.96, False), (15, 2.25, True)])
def test_limits_widen_from_two_standard_errors_of_the_dispersion_on(
    off: int, dispersion: float, is_over: bool
):
    """Eight offices at 100 expected, each as far off: limit 1 + 2 (2 / 8)^(1/2) = 2."""
    found = funnel([100 - off, 100 + off] * 4, [100.0] * 8)
    assert found.dispersion == pytest.approx(dispersion, rel=1e-12)
    assert found.is_over_dispersed is is_over
