"""Laws of a fit: units, order, intervals, what it refuses."""

from math import exp, log, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize, minimize_scalar
from scipy.special import gamma

from tests.life.weibull.lives import SCALE, Watch, simulated
from tests.life.weibull.published import cracked_parts, ten_of_twenty
from turnwell.errors import CannotTellError, InputError
from turnwell.life import Clock, Estimate, Lives, WeibullFit, weibull_fit
from turnwell.life.tails import normal_reach
from turnwell.life.weibull.likelihood import Likelihood


def ends(estimate: Estimate) -> list[float]:
    return [estimate.value, estimate.low, estimate.high]


@given(
    seed=st.integers(0, 10_000),
    factor=st.sampled_from([1e-9, 1 / 24, 7.0, 1e12]),
    watch=st.sampled_from(list(Watch)),
)
@settings(max_examples=25, deadline=None)
def test_another_unit_of_time_changes_nothing_but_the_unit(seed: int, factor: float, watch: Watch):
    lives = simulated(watch, 40, np.random.default_rng(seed))
    one = weibull_fit(lives)
    other = weibull_fit(
        Lives.observed(lives.exit * factor, lives.is_failed, entry=lives.entry * factor)
    )
    assert ends(other.shape) == pytest.approx(ends(one.shape), rel=1e-6)
    assert ends(other.scale) == pytest.approx([e * factor for e in ends(one.scale)], rel=1e-6)
    assert ends(other.survival(500.0 * factor)) == pytest.approx(
        ends(one.survival(500.0)), rel=1e-6
    )


@given(seed=st.integers(0, 10_000), watch=st.sampled_from(list(Watch)))
@settings(max_examples=25, deadline=None)
def test_the_order_of_lives_changes_nothing(seed: int, watch: Watch):
    rng = np.random.default_rng(seed)
    lives = simulated(watch, 30, rng)
    one, other = weibull_fit(lives), weibull_fit(lives.chosen(rng.permutation(30)))
    # Where an interval is wide its end is found less sharply: 2e-7 was met.
    assert ends(other.shape) == pytest.approx(ends(one.shape), rel=1e-6)
    assert ends(other.scale) == pytest.approx(ends(one.scale), rel=1e-6)


@given(seed=st.integers(0, 10_000), watch=st.sampled_from(list(Watch)))
@settings(max_examples=15, deadline=None)
def test_it_is_the_highest_point_that_a_general_search_finds(seed: int, watch: Watch):
    lives = simulated(watch, 30, np.random.default_rng(seed), shape=1.0)
    fit = weibull_fit(lives)
    found = minimize(
        lambda x: -fit.likelihood.at(*x).value,
        [fit.maximum.a + 0.3, fit.maximum.m - 0.3],
        method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-13},
    )
    assert fit.maximum.terms.value >= -found.fun - 1e-10


@pytest.mark.parametrize("lives", [ten_of_twenty(), cracked_parts()])
def test_plain_limits_lie_where_the_profile_has_fallen_by_half_of_z_squared(lives: Lives):
    fit = weibull_fit(lives, calibrated=False)
    drop = 0.5 * normal_reach(0.95) ** 2
    for end in (fit.shape.low, fit.shape.high):
        top = _highest(fit.likelihood, fit, lambda m, end=end: (log(end), m), fit.maximum.m)
        assert fit.maximum.terms.value - top == pytest.approx(drop, abs=1e-6)
    height = log(log(2.0))
    for end in ends(fit.median_life)[1:]:
        place = log(end) - fit.likelihood.unit
        top = _highest(
            fit.likelihood,
            fit,
            lambda a, place=place: (a, place - height * exp(-a)),
            fit.maximum.a,
        )
        assert fit.maximum.terms.value - top == pytest.approx(drop, abs=1e-6)
    hazard = log(-log(fit.survival(300.0).low))
    age = log(300.0) - fit.likelihood.unit
    top = _highest(fit.likelihood, fit, lambda a: (a, age - hazard * exp(-a)), fit.maximum.a)
    assert fit.maximum.terms.value - top == pytest.approx(drop, abs=1e-6)


@pytest.mark.parametrize("lives", [ten_of_twenty(), cracked_parts()])
def test_calibrated_limits_of_shape_lie_where_half_of_the_modified_root_says(lives: Lives):
    """By a general search and differences alone: r + ln(q / r) / (2 r) is z sqrt(1 + 1 / (2 n))."""
    fit = weibull_fit(lives)
    top, at = fit.maximum, fit.likelihood.at
    step = 1e-4
    whole = np.empty((2, 2))
    for row in range(2):
        for column in range(2):
            one, other = step * np.eye(2)[row], step * np.eye(2)[column]
            signs = ((1, 1), (1, -1), (-1, 1), (-1, -1))
            bend = sum(f * g * at(*(f * one + g * other + [top.a, top.m])).value for f, g in signs)
            whole[row, column] = -bend / (4.0 * step**2)

    def profile(a: float) -> tuple[float, float]:
        found = minimize_scalar(
            lambda m: -at(a, m).value,
            bracket=(top.m - 0.5, top.m + 0.5),
            options={"xtol": 1e-11},
        )
        return float(found.x), -float(found.fun)

    reach = normal_reach(0.95) * sqrt(1.0 + 0.5 / lives.failures)
    for end, side in ((fit.shape.low, 1.0), (fit.shape.high, -1.0)):
        a = log(end)
        m, height = profile(a)
        r = side * sqrt(2.0 * (top.terms.value - height))
        slope = (profile(a + step)[1] - profile(a - step)[1]) / (2.0 * step)
        bend = (at(a, m + step).value - 2.0 * height + at(a, m - step).value) / step**2
        q = slope * sqrt(-bend / np.linalg.det(whole))
        assert r + log(q / r) / (2.0 * r) == pytest.approx(side * reach, abs=2e-4)


def _highest(likelihood: Likelihood, fit: WeibullFit, place, centre: float) -> float:
    found = minimize_scalar(
        lambda other: -likelihood.at(*place(other)).value,
        bracket=(centre - 0.5, centre + 0.5),
        options={"xtol": 1e-10},
    )
    return -float(found.fun)


def test_plain_intervals_of_one_thing_under_three_names_are_one():
    # A profile interval goes along with any change of scale: quantile and survival say the same.
    fit = weibull_fit(ten_of_twenty(), calibrated=False)
    median = fit.median_life
    for age, side in ((median.low, "low"), (median.high, "high")):
        assert getattr(fit.survival(age), side) == pytest.approx(0.5, abs=1e-6)
    assert ends(fit.quantile(1.0 - exp(-1.0))) == pytest.approx(ends(fit.scale), rel=1e-9)


def test_the_mean_is_that_of_the_law_and_its_interval_holds_it():
    fit = weibull_fit(ten_of_twenty())
    mean = fit.scale.value * gamma(1.0 + 1.0 / fit.shape.value)
    assert fit.mean_life.value == pytest.approx(mean, rel=1e-12)
    assert fit.mean_life.low < mean < fit.mean_life.high
    until = fit.mean_until(500.0)
    assert until.low < until.value < until.high < 500.0
    # Far enough on, the mean up to an age is the mean; with many lives the grid has it too.
    many = weibull_fit(simulated(Watch.ONE_AGE, 5000, np.random.default_rng(3)))
    assert ends(many.mean_until(1e9)) == pytest.approx(ends(many.mean_life), rel=0.005)


def test_with_many_failures_the_interval_is_the_normal_one():
    lives = simulated(Watch.LATE, 20_000, np.random.default_rng(6))
    fit = weibull_fit(lives)
    terms = fit.maximum.terms
    spread = sqrt(-terms.by_mm / fit.maximum.information)
    z = normal_reach(0.95)
    assert log(fit.shape.high / fit.shape.value) == pytest.approx(z * spread, rel=0.02)
    assert log(fit.shape.value / fit.shape.low) == pytest.approx(z * spread, rel=0.02)
    assert fit.shape.low < 2.0 < fit.shape.high
    assert fit.scale.low < SCALE < fit.scale.high


def test_a_higher_level_reaches_farther():
    lives = ten_of_twenty()
    narrow, wide = weibull_fit(lives, level=0.8), weibull_fit(lives, level=0.99)
    assert wide.shape.low < narrow.shape.low < narrow.shape.high < wide.shape.high
    assert wide.scale.level == 0.99


def test_leaving_out_late_entry_moves_the_answer_far():
    lives = simulated(Watch.LATE, 20_000, np.random.default_rng(7))
    told, ignored = weibull_fit(lives), weibull_fit(Lives.observed(lives.low, lives.is_failed))
    assert told.scale.low < SCALE < told.scale.high
    assert ignored.scale.low > 1.05 * SCALE
    assert ignored.shape.low > 2.2


def test_survival_from_new_is_one_and_falls():
    fit = weibull_fit(ten_of_twenty())
    assert ends(fit.survival(0.0)) == [1.0, 1.0, 1.0]
    shares = [fit.survival(age).value for age in (100.0, 300.0, 900.0)]
    assert shares == sorted(shares, reverse=True)
    assert fit.survival(500.0).value == pytest.approx(
        exp(-((500.0 / fit.scale.value) ** fit.shape.value)), rel=1e-12
    )


def test_the_clock_goes_along():
    lives = Lives.observed([100.0, 200.0, 300.0], [1, 1, 0], clock=Clock.CYCLES)
    assert weibull_fit(lives).clock is Clock.CYCLES


REFUSED = {
    "nothing failed": Lives.observed([100.0, 200.0], [0, 0]),
    "the one failure lies at one age": Lives.observed([100.0, 200.0], [0, 1]),
    "the 3 failures lie at one age": Lives.observed([50.0, 50.0, 50.0], [1, 1, 1]),
    "the one failure lies at one age ": Lives.observed([50.0], [1]),
    "no unit was watched from new": Lives.observed(
        [2.1, 2.2, 9.0, 9.0, 9.0], [1, 1, 0, 0, 0], entry=[2.0] * 5
    ),
    "before their first look": Lives.between([0.0, 0.0], [5.0, 6.0]),
    "runs flat": Lives.between([3.0, 3.0, 3.0, 4.0], [4.0, 4.0, 4.0, np.inf]),
    "none was seen to pass": Lives.between([3.0, 3.0], [4.0, 4.0]),
}


@pytest.mark.parametrize("says", list(REFUSED))
def test_it_says_why_it_cannot_tell(says: str):
    with pytest.raises(CannotTellError, match=says):
        weibull_fit(REFUSED[says])


def test_one_failure_that_others_outlived_is_told_with_open_ends():
    fit = weibull_fit(Lives.observed([100.0, 200.0, 500.0], [1, 0, 0]))
    assert fit.shape.low == 0.0
    assert fit.scale.high == np.inf
    assert 0.0 < fit.shape.value < fit.shape.high < np.inf


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: weibull_fit(ten_of_twenty(), level=1.0), "level is 1"),
        (lambda: weibull_fit(ten_of_twenty(), level=0.3), "level is 0.3"),
        (lambda: weibull_fit(ten_of_twenty()).quantile(0.0), "chance is 0"),
        (lambda: weibull_fit(ten_of_twenty()).survival(-1.0), "age is -1"),
        (lambda: weibull_fit(ten_of_twenty()).mean_until(np.inf), "age is inf"),
    ],
)
def test_it_refuses_what_is_out_of_range(call, says: str):
    with pytest.raises(InputError, match=says):
        call()
