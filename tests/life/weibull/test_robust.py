"""Intervals over offices: what leaving each out and fitting anew gives, and what they cover."""

import numpy as np
import pytest

from tests.life.weibull.lives import SCALE, Watch, simulated
from tests.life.weibull.published import ten_of_twenty
from turnwell.life import Lives, weibull_fit


def alike(
    rng: np.random.Generator, *, offices: int, each: int, spread: float, shape: float = 2.0
) -> Lives:
    """Draw lives whose rate of failing an office shares: gamma, mean 1, of that variance."""
    office = np.repeat(np.arange(offices), each)
    rate = rng.gamma(1.0 / spread, spread, offices)[office] if spread else np.ones(office.size)
    life = SCALE * rng.weibull(shape, office.size) * rate ** (-1.0 / shape)
    end = rng.uniform(200.0, 1400.0, office.size)
    return Lives.observed(np.minimum(life, end), life <= end, office=office)


def test_one_newton_step_stands_for_fitting_without_each_office():
    lives = alike(np.random.default_rng(4), offices=12, each=60, spread=0.2)
    fit = weibull_fit(lives)
    left = [weibull_fit(lives.chosen(lives.office != one)).maximum for one in range(12)]
    unit = fit.likelihood.unit
    moves = np.array([[one.a - fit.maximum.a, one.m - fit.maximum.m] for one in left])
    # Each fit without an office divides by its own largest age.
    others = [np.log(lives.chosen(lives.office != one).exit.max()) for one in range(12)]
    moves[:, 1] += np.array(others) - unit
    jackknife = 11 / 12 * moves.T @ moves
    spread = fit.spread
    assert spread is not None
    size = np.sqrt(jackknife[0, 0] * jackknife[1, 1])
    assert spread.by_aa == pytest.approx(jackknife[0, 0], rel=0.05)
    assert spread.by_am == pytest.approx(jackknife[0, 1], abs=0.05 * size)
    assert spread.by_mm == pytest.approx(jackknife[1, 1], rel=0.05)
    assert spread.offices == 12


@pytest.mark.parametrize(("offices", "printed"), [(5, 2.776), (10, 2.262), (21, 2.086)])
def test_they_reach_as_far_as_students_t_of_one_degree_less_than_offices(
    offices: int, printed: float
):
    """Printed upper points: [NISTHANDBOOK], 1.3.6.7.2."""
    lives = alike(np.random.default_rng(5), offices=offices, each=20, spread=0.2)
    fit = weibull_fit(lives)
    assert fit.spread is not None
    assert fit.robust_scale is not None
    half = 0.5 * np.log(fit.robust_scale.high / fit.robust_scale.low)
    assert half / np.sqrt(fit.spread.by_mm) == pytest.approx(printed, abs=0.0005)


def test_lives_alike_within_an_office_widen_the_scale():
    fit = weibull_fit(alike(np.random.default_rng(1), offices=20, each=40, spread=0.5))
    assert fit.robust_scale is not None
    widths = [np.log(one.high / one.low) for one in (fit.robust_scale, fit.scale)]
    assert widths[0] > 1.5 * widths[1]
    median, survival = fit.robust_quantile(0.5), fit.robust_survival(600.0)
    assert median is not None
    assert survival is not None
    assert median.low < fit.median_life.low < median.value < fit.median_life.high < median.high
    assert survival.low < fit.survival(600.0).low < fit.survival(600.0).high < survival.high
    assert median.value == pytest.approx(fit.median_life.value, rel=1e-12)


def test_quantile_and_survival_over_offices_meet_the_scale():
    fit = weibull_fit(alike(np.random.default_rng(2), offices=20, each=40, spread=0.3))
    scale, quantile = fit.robust_scale, fit.robust_quantile(1.0 - np.exp(-1.0))
    assert scale is not None
    assert quantile is not None
    assert [quantile.low, quantile.high] == pytest.approx([scale.low, scale.high], rel=1e-9)


def test_between_looks_the_spread_is_nearly_that_of_known_ages():
    lives = alike(np.random.default_rng(3), offices=15, each=60, spread=0.3)
    low = np.where(lives.is_failed, np.floor(lives.low), lives.low)
    high = np.where(lives.is_failed, low + 1.0, np.inf)
    exact = weibull_fit(lives).robust_scale
    looked = weibull_fit(Lives.between(low, high, office=lives.office)).robust_scale
    assert exact is not None
    assert looked is not None
    assert [looked.low, looked.high] == pytest.approx([exact.low, exact.high], rel=1e-3)


@pytest.mark.parametrize("offices", [8, 30])
def test_they_cover_where_plain_ones_do_not(offices: int):
    # Shape 1 is that of each office; over offices the law is no Weibull, so the share of lives
    # that pass 400 is what both must cover: (1 + spread x 0.4)^(-1 / spread).
    rng = np.random.default_rng(9)
    truth, runs = (1.0 + 0.3 * 0.4) ** (-1.0 / 0.3), 250
    plain = robust = 0
    for _ in range(runs):
        lives = alike(rng, offices=offices, each=25, spread=0.3, shape=1.0)
        fit = weibull_fit(lives)
        own, over = fit.survival(400.0), fit.robust_survival(400.0)
        assert over is not None
        plain += own.low <= truth <= own.high
        robust += over.low <= truth <= over.high
    # Three standard errors of a share of 250 runs, below 93 and above 97 %.
    assert 0.93 - 0.048 <= robust / runs <= 0.97 + 0.033
    assert plain / runs < 0.87


def test_one_office_has_none():
    fit = weibull_fit(ten_of_twenty())
    assert fit.robust_shape is None
    assert fit.robust_scale is None
    assert fit.robust_quantile(0.5) is None
    assert fit.robust_survival(100.0) is None


def test_where_one_office_alone_tells_there_is_none():
    exits, failed = [100.0, 200.0, 300.0, 50.0, 70.0], [1, 1, 0, 1, 0]
    lives = Lives.observed(exits, failed, office=[0, 0, 0, 1, 1])
    assert weibull_fit(lives).robust_scale is None


def test_numbers_of_offices_may_have_gaps():
    lives = simulated(Watch.RANDOM, 200, np.random.default_rng(8))
    office = np.arange(200) % 7
    even = Lives.observed(lives.exit, lives.is_failed, office=office)
    gaps = Lives.observed(lives.exit, lives.is_failed, office=office * 5 + 2)
    assert weibull_fit(gaps).spread == weibull_fit(even).spread
