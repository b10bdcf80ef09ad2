"""The grid says what the likelihood says, by another way."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import weibull_min

from tests.life.weibull.lives import Watch, simulated
from tests.life.weibull.published import cracked_parts, ten_of_twenty
from turnwell.errors import CannotTellError
from turnwell.life import Clock, Lives, WeibullGrid, weibull_fit, weibull_grid
from turnwell.life.weibull.weighted import weighted_quantiles


def shape_of(shape, scale):
    return shape


def scale_of(shape, scale):
    return scale


def test_weights_add_up_to_one_and_the_clock_goes_along():
    grid = weibull_grid(Lives.observed([100.0, 200.0, 300.0], [1, 1, 0], clock=Clock.CYCLES))
    assert grid.weight.sum() == pytest.approx(1.0, abs=1e-12)
    assert grid.weight.min() > 0.0
    assert (grid.failures, grid.clock) == (2, Clock.CYCLES)


@pytest.mark.parametrize("lives", [ten_of_twenty(), cracked_parts()])
def test_it_is_the_posterior_on_a_plain_fine_grid(lives: Lives):
    # The same prior and widening on a rectangle of 800 by 800, with scipy's log-likelihood.
    shapes = np.exp(np.linspace(np.log(0.2), np.log(6.0), 800))
    middle = weibull_fit(lives).scale.value
    scales = middle * np.exp(np.linspace(-1.2, 3.0, 800))
    b, eta = shapes[:, np.newaxis], scales[np.newaxis, :]
    value = np.zeros((800, 800))
    rows, times = np.unique(np.stack([lives.low, lives.high]), axis=1, return_counts=True)
    for low, high, count in zip(*rows, times, strict=True):
        if low == high:
            value += count * weibull_min.logpdf(low, b, scale=eta)
        elif np.isinf(high):
            value += count * weibull_min.logsf(low, b, scale=eta)
        else:
            inside = weibull_min.sf(low, b, scale=eta) - weibull_min.sf(high, b, scale=eta)
            value += count * np.log(np.maximum(inside, 1e-300))
    value = value / (1.0 + 0.5 / lives.failures) + 0.5 * np.log(b)
    weight = np.exp(value - value.max())
    weight /= weight.sum()
    grid = weibull_grid(lives)
    assert grid.mean(shape_of) == pytest.approx(float((weight * b).sum()), rel=2e-3)
    assert grid.mean(scale_of) == pytest.approx(float((weight * eta).sum()), rel=2e-3)
    tails = [0.025, 0.5, 0.975]
    for function, values in ((shape_of, b), (scale_of, eta)):
        all_values = np.broadcast_to(values, weight.shape).ravel()
        expected = weighted_quantiles(all_values, weight.ravel(), tails)
        told = grid.estimate(function)
        assert [told.low, told.value, told.high] == pytest.approx(expected.tolist(), rel=0.01)


@pytest.mark.parametrize("watch", list(Watch))
def test_with_many_failures_it_says_what_the_profile_says(watch: Watch):
    fit = weibull_fit(simulated(watch, 5000, np.random.default_rng(2)))
    for function, profile in (
        (shape_of, fit.shape),
        (scale_of, fit.scale),
        (lambda b, eta: np.exp(-((600.0 / eta) ** b)), fit.survival(600.0)),
    ):
        told = fit.grid.estimate(function)
        half = 0.5 * (profile.high - profile.low)
        assert told.value == pytest.approx(profile.value, abs=0.05 * half)
        assert told.low == pytest.approx(profile.low, abs=0.06 * half)
        assert told.high == pytest.approx(profile.high, abs=0.06 * half)


@given(seed=st.integers(0, 10_000), factor=st.sampled_from([1e-6, 7.0, 1e9]))
@settings(max_examples=10, deadline=None)
def test_another_unit_of_time_changes_the_scale_only(seed: int, factor: float):
    lives = simulated(Watch.RANDOM, 30, np.random.default_rng(seed))
    one = weibull_grid(lives)
    other = weibull_grid(Lives.observed(lives.exit * factor, lives.is_failed))
    assert other.mean(shape_of) == pytest.approx(one.mean(shape_of), rel=1e-6)
    assert other.estimate(scale_of).high == pytest.approx(
        factor * one.estimate(scale_of).high, rel=1e-6
    )


@pytest.mark.parametrize(
    "lives",
    [
        Lives.observed([5.0], [1]),
        Lives.observed([5.0, 5.0, 5.0], [1, 1, 1]),
        Lives.observed([1.0, 2.0, 5.0], [0, 0, 1]),
        Lives.observed([2.1, 2.2, 9.0, 9.0], [1, 1, 0, 0], entry=[2.0] * 4),
        Lives.between([3.0, 3.0], [4.0, 4.0]),
    ],
)
def test_where_no_fit_exists_the_bounds_close_it(lives: Lives):
    with pytest.raises(CannotTellError):
        weibull_fit(lives)
    grid: WeibullGrid = weibull_grid(lives)
    told = grid.estimate(shape_of)
    assert 0.2 <= told.low < told.value < told.high <= 20.0
    assert grid.estimate(scale_of).is_bounded


@pytest.mark.parametrize(
    ("lives", "says"),
    [
        (Lives.observed([5.0, 6.0], [0, 0]), "nothing failed"),
        (Lives.between([0.0, 0.0], [5.0, 6.0]), "before their first look"),
        (Lives.observed(np.linspace(1000.0, 1001.0, 40), np.ones(40)), "fit no shape from 0.2"),
    ],
)
def test_it_says_why_it_cannot_tell(lives: Lives, says: str):
    with pytest.raises(CannotTellError, match=says):
        weibull_grid(lives)


def test_quantiles_of_infinite_values_step():
    values = np.array([1.0, np.inf, 2.0, np.inf])
    low, high = weighted_quantiles(values, np.ones(4), [0.2, 0.9])
    assert (low, high) == (2.0, np.inf)
