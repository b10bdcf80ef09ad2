"""The best age to renew: published and closed answers, a general search, laws, refusals."""

from math import gamma, inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from turnwell.errors import InputError
from turnwell.life import minimal_repair_interval, renewal_age, run_to_failure_cost


def cost_rate(age: float, shape: float, scale: float, planned: float, failure: float) -> float:
    """Give the cost by the book: [BARLOWPROSCHAN1965], 4.2, the area by quadrature."""
    passed = np.exp(-((age / scale) ** shape))
    area = quad(lambda t: np.exp(-((t / scale) ** shape)), 0.0, age, epsabs=0, epsrel=1e-12)[0]
    return float((planned * passed + failure * (1.0 - passed)) / area)


def test_age_replacement_as_an_open_library_prints_it():
    # Documentation of the package reliability: 493.19 at .0035 for scale 1000, shape 2.5, costs 1
    # and 5; its answer lies on a grid, the optimum between: 493.0470.
    best = renewal_age(2.5, 1000.0, planned_cost=1.0, failure_cost=5.0)
    assert best.age == pytest.approx(493.19, rel=5e-4)
    assert best.age == pytest.approx(493.0470, rel=1e-6)
    assert best.cost_rate == pytest.approx(0.00346204274, abs=1e-11)


def test_running_to_failure_costs_a_failure_each_mean_life():
    closed = 5.0 / (1000.0 * gamma(1.4))
    assert closed == pytest.approx(0.00563530249, abs=1e-11)
    assert run_to_failure_cost(2.5, 1000.0, failure_cost=5.0) == pytest.approx(closed, rel=1e-12)
    best = renewal_age(2.5, 1000.0, planned_cost=1.0, failure_cost=5.0)
    assert best.cost_rate_unrenewed == pytest.approx(closed, rel=1e-12)


def test_minimal_repair_in_closed_form():
    # [BARLOWHUNTER1960]: T = scale (renewal / (repair (shape - 1)))^(1/shape).
    best = minimal_repair_interval(2.5, 1000.0, renewal_cost=1.0, repair_cost=5.0)
    assert best.age == pytest.approx(446.658388, rel=1e-8)
    assert best.cost_rate == pytest.approx(0.00373141244, rel=1e-8)
    assert best.cost_rate_unrenewed == inf


@pytest.mark.parametrize("shape", [0.5, 1.0])
@pytest.mark.parametrize("failure", [1.5, 5.0, 1000.0])
def test_what_does_not_wear_out_has_no_age_at_which_to_replace(shape: float, failure: float):
    best = renewal_age(shape, 1000.0, planned_cost=1.0, failure_cost=failure)
    assert best.age == inf
    assert best.cost_rate == pytest.approx(best.cost_rate_unrenewed, rel=1e-12)
    assert minimal_repair_interval(shape, 1000.0, renewal_cost=1.0, repair_cost=5.0).age == inf


@pytest.mark.parametrize("failure", [0.5, 1.0])
def test_with_no_more_to_lose_there_is_no_age_either(failure: float):
    assert renewal_age(3.0, 1000.0, planned_cost=1.0, failure_cost=failure).age == inf


@given(
    shape=st.floats(1.3, 12.0),
    ratio=st.floats(2.0, 200.0),
    scale=st.sampled_from([0.01, 900.0, 1e8]),
)
@settings(max_examples=30, deadline=None)
def test_no_other_age_costs_less(shape: float, ratio: float, scale: float):
    best = renewal_age(shape, scale, planned_cost=1.0, failure_cost=ratio)
    if best.age == inf:
        ages = scale * np.linspace(0.05, 5.0, 40)
        least = min(cost_rate(age, shape, scale, 1.0, ratio) for age in ages)
        assert best.cost_rate <= least * (1.0 + 1e-9)
        return
    assert best.cost_rate == pytest.approx(cost_rate(best.age, shape, scale, 1.0, ratio), rel=1e-9)
    found = minimize_scalar(
        lambda log_age: cost_rate(float(np.exp(log_age)), shape, scale, 1.0, ratio),
        bracket=(np.log(best.age) - 0.3, np.log(best.age) + 0.3),
    )
    assert best.cost_rate <= found.fun * (1.0 + 1e-9)
    assert best.age == pytest.approx(float(np.exp(found.x)), rel=1e-3)


@given(shape=st.floats(1.2, 6.0), renewal=st.floats(0.1, 50.0), repair=st.floats(0.1, 50.0))
@settings(max_examples=30, deadline=None)
def test_no_other_interval_of_minimal_repair_costs_less(
    shape: float, renewal: float, repair: float
):
    best = minimal_repair_interval(shape, 10.0, renewal_cost=renewal, repair_cost=repair)
    for factor in (0.9, 0.99, 1.01, 1.1):
        age = best.age * factor
        assert (renewal + repair * (age / 10.0) ** shape) / age > best.cost_rate


def test_dearer_failures_are_met_earlier():
    ages = [
        renewal_age(2.0, 1.0, planned_cost=1.0, failure_cost=cost).age for cost in (2, 5, 20, 1e6)
    ]
    assert ages == sorted(ages, reverse=True)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: renewal_age(0.0, 1.0, planned_cost=1, failure_cost=5), "shape is 0"),
        (lambda: renewal_age(2.0, inf, planned_cost=1, failure_cost=5), "scale is inf"),
        (lambda: renewal_age(2.0, 1.0, planned_cost=0, failure_cost=5), "planned_cost is 0"),
        (lambda: renewal_age(2.0, 1.0, planned_cost=1, failure_cost=-5), "failure_cost is -5"),
        (lambda: run_to_failure_cost(2.0, 1.0, failure_cost=inf), "failure_cost is inf"),
        (
            lambda: minimal_repair_interval(2.0, 1.0, renewal_cost=1, repair_cost=0),
            "repair_cost is 0",
        ),
    ],
)
def test_it_refuses_what_is_out_of_range(call, says: str):
    with pytest.raises(InputError, match=says):
        call()


@pytest.mark.parametrize("ratio", [1e6, 1e14])
@pytest.mark.parametrize("shape", [1.2, 2.5])
def test_where_a_failure_costs_the_world_the_age_has_a_closed_answer(ratio: float, shape: float):
    """At ages so low that S is 1: (shape - 1) (age / scale)^shape is 1 / ratio."""
    best = renewal_age(shape, 1000.0, planned_cost=1.0, failure_cost=ratio)
    closed = 1000.0 * (ratio * (shape - 1.0)) ** (-1.0 / shape)
    assert best.age == pytest.approx(closed, rel=1e-4)
