"""Fits agree with two other packages and with the log-likelihood as scipy writes it."""

from math import log

import lifelines
import numpy as np
import pytest
import surpyval
from scipy.stats import weibull_min

from tests.life.weibull.lives import Watch, simulated
from tests.life.weibull.published import cracked_parts, ten_of_twenty
from turnwell.life import Lives, weibull_fit
from turnwell.life.weibull.likelihood import likelihood_of

AGREED = 1e-5


@pytest.mark.parametrize("count", [200, 5000])
def test_late_entry_agrees_with_lifelines(count: int):
    lives = simulated(Watch.LATE, count, np.random.default_rng(11))
    fit = weibull_fit(lives)
    other = lifelines.WeibullFitter().fit(lives.exit, lives.is_failed, entry=lives.entry)
    assert fit.scale.value == pytest.approx(other.lambda_, rel=AGREED)
    assert fit.shape.value == pytest.approx(other.rho_, rel=AGREED)
    assert fit.log_likelihood == pytest.approx(other.log_likelihood_, rel=1e-8)


@pytest.mark.parametrize("count", [200, 5000])
def test_late_entry_agrees_with_surpyval(count: int):
    lives = simulated(Watch.LATE, count, np.random.default_rng(12))
    fit = weibull_fit(lives)
    # Entry 0 is an entry like any other, but the package wants a bound below it.
    other = surpyval.Weibull.fit(
        lives.exit,
        c=(~lives.is_failed).astype(int),
        tl=np.where(lives.entry > 0, lives.entry, -1e-9),
    )
    assert (fit.scale.value, fit.shape.value) == pytest.approx(tuple(other.params), rel=AGREED)


def test_failures_between_looks_agree_with_lifelines_and_surpyval():
    lives = cracked_parts()
    fit = weibull_fit(lives)
    other = lifelines.WeibullFitter().fit_interval_censoring(lives.low, lives.high)
    assert fit.scale.value == pytest.approx(other.lambda_, rel=AGREED)
    assert fit.shape.value == pytest.approx(other.rho_, rel=AGREED)
    failed = lives.is_failed
    looks = np.column_stack([lives.low, np.where(failed, lives.high, lives.low)]).tolist()
    kind = np.where(~failed, 1, np.where(lives.low == 0.0, -1, 2))
    ages = [
        high if c == -1 else (low if c == 1 else [low, high])
        for (low, high), c in zip(looks, kind, strict=True)
    ]
    third = surpyval.Weibull.fit(ages, c=kind.tolist())
    assert (fit.scale.value, fit.shape.value) == pytest.approx(tuple(third.params), rel=AGREED)


def _mixed() -> Lives:
    """Give exact, running, looked-at and late lives together."""
    return Lives.between(
        [0.0, 120.0, 300.0, 410.0, 260.0, 350.0, 500.0, 40.0],
        [90.0, 260.0, 300.0, np.inf, 260.0, np.inf, 640.0, 700.0],
        entry=[0.0, 80.0, 0.0, 200.0, 30.0, 0.0, 450.0, 100.0],
    )


@pytest.mark.parametrize("lives", [ten_of_twenty(), cracked_parts(), _mixed()])
@pytest.mark.parametrize(("shape", "scale"), [(0.7, 200.0), (1.7, 600.0), (3.0, 250.0)])
def test_the_log_likelihood_is_that_of_scipy(lives: Lives, shape: float, scale: float):
    likelihood = likelihood_of(lives)
    ours = likelihood.at(log(shape), log(scale) - likelihood.unit).value + likelihood.constant
    assert ours == pytest.approx(_log_likelihood(lives, shape, scale), rel=1e-9)


def _log_likelihood(lives: Lives, shape: float, scale: float) -> float:
    law = weibull_min(shape, scale=scale)
    exact = lives.low == lives.high
    between = lives.is_failed & ~exact
    # What is under watch from its entry on did not fail before it.
    low = np.maximum(lives.low, lives.entry)
    total = law.logpdf(lives.low[exact]).sum() + law.logsf(lives.low[~lives.is_failed]).sum()
    total += np.log(law.sf(low[between]) - law.sf(lives.high[between])).sum()
    return float(total - law.logsf(lives.entry).sum())


@pytest.mark.parametrize("lives", [ten_of_twenty(), cracked_parts(), _mixed()])
@pytest.mark.parametrize(("a", "m"), [(0.5, 0.1), (-0.3, -0.4), (1.1, 0.6)])
def test_slopes_and_curvatures_are_those_of_the_value(lives: Lives, a: float, m: float):
    likelihood = likelihood_of(lives)
    terms, step = likelihood.at(a, m), 1e-5
    right, left = likelihood.at(a + step, m), likelihood.at(a - step, m)
    up, down = likelihood.at(a, m + step), likelihood.at(a, m - step)
    assert (right.value - left.value) / (2 * step) == pytest.approx(terms.by_a, rel=1e-6, abs=1e-6)
    assert (up.value - down.value) / (2 * step) == pytest.approx(terms.by_m, rel=1e-6, abs=1e-6)
    assert (right.by_a - left.by_a) / (2 * step) == pytest.approx(terms.by_aa, rel=1e-6, abs=1e-6)
    assert (up.by_a - down.by_a) / (2 * step) == pytest.approx(terms.by_am, rel=1e-6, abs=1e-6)
    assert (up.by_m - down.by_m) / (2 * step) == pytest.approx(terms.by_mm, rel=1e-6, abs=1e-6)
    many = likelihood.values(a, np.array([m, m + 0.5]))
    assert many[0] == pytest.approx(terms.value, rel=1e-12)
    assert many[1] == pytest.approx(likelihood.at(a, m + 0.5).value, rel=1e-12)
