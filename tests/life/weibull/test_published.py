"""Fits give what handbooks and libraries print for published lives."""

from math import gamma, sqrt

import pytest

from tests.life.weibull.published import bearings, cracked_parts, service_times, ten_of_twenty
from turnwell.life import Clock, weibull_fit


def test_ten_failures_in_twenty_as_the_handbook_prints_them():
    # [NISTHANDBOOK], 8.4.1.3: scale 606.5280, shape 1.7208, log-likelihood -75.135, mean 540.737,
    # standard deviation 323.806.
    fit = weibull_fit(ten_of_twenty())
    assert fit.scale.value == pytest.approx(606.5280, abs=6e-4)
    assert fit.shape.value == pytest.approx(1.7208, abs=5e-5)
    assert fit.log_likelihood == pytest.approx(-75.135, abs=5e-4)
    assert fit.mean_life.value == pytest.approx(540.737, abs=5e-4)
    power = 1.0 / fit.shape.value
    spread = fit.scale.value * sqrt(gamma(1.0 + 2.0 * power) - gamma(1.0 + power) ** 2)
    assert spread == pytest.approx(323.806, abs=5e-4)
    assert (fit.count, fit.failures, fit.clock) == (20, 10, Clock.DAYS)


def test_ten_failures_in_twenty_to_more_digits():
    # The same, computed once more with a bracketing solver on the one-dimensional likelihood.
    fit = weibull_fit(ten_of_twenty())
    assert fit.scale.value == pytest.approx(606.5275, rel=1e-6)
    assert fit.shape.value == pytest.approx(1.720797, abs=1e-6)
    assert fit.log_likelihood == pytest.approx(-75.134618, abs=1e-6)


def test_plain_profile_limits_of_ten_failures():
    # No figure is published; these came from two programs that share nothing with this one.
    fit = weibull_fit(ten_of_twenty(), calibrated=False)
    assert (fit.shape.low, fit.shape.high) == pytest.approx((0.905645, 2.885738), abs=1e-5)
    assert (fit.scale.low, fit.scale.high) == pytest.approx((437.557, 1118.878), abs=6e-3)


def test_service_times_as_the_tests_of_scipy_print_them():
    # scipy/stats/tests/test_continuous_fit_censored.py: shape 2.149, scale 28.99.
    fit = weibull_fit(service_times())
    assert fit.shape.value == pytest.approx(2.149375, abs=1e-5)
    assert fit.scale.value == pytest.approx(28.99635, rel=1e-5)


def test_bearings_as_an_open_library_prints_them():
    # The docstring of surpyval's loader: scale 81.875, shape 2.102; the digits by four programs.
    fit = weibull_fit(bearings())
    assert fit.scale.value == pytest.approx(81.87456, rel=1e-6)
    assert fit.shape.value == pytest.approx(2.101848, rel=1e-6)
    assert fit.log_likelihood == pytest.approx(-113.69196, abs=5e-6)


def test_parts_found_cracked_at_inspections():
    # [NELSON1982]: shape 1.486, scale 71.7; the digits by lifelines, surpyval and scipy.
    fit = weibull_fit(cracked_parts())
    assert fit.shape.value == pytest.approx(1.485367, abs=1e-6)
    assert fit.scale.value == pytest.approx(71.69040, rel=1e-6)
    assert fit.log_likelihood == pytest.approx(-309.66841, abs=5e-6)
