"""Stock: published back-orders, exact quantiles, laws, refusals."""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import nbinom, poisson

from turnwell.errors import InputError
from turnwell.life.forecast import Demand, expected_back_orders, stock_level


def test_back_orders_match_the_table():
    # Poisson pipeline of mean 1, stock 0 to 4: [SHERBROOKE2004] prints 1, .368, .104, .023, .004.
    found = [expected_back_orders(parts, Demand(1.0)) for parts in range(5)]
    assert found == pytest.approx([1.0, 0.367879, 0.103638, 0.023337, 0.004349], abs=5e-7)


def test_a_mean_of_four_needs_eight_parts():
    found = stock_level(Demand(4.0), target=0.95)
    assert found.parts == 8
    assert found.met == pytest.approx(0.978637, abs=5e-7)
    assert Demand(4.0).at_most(7) == pytest.approx(0.948866, abs=5e-7)


@given(st.floats(0.01, 500.0), st.floats(0.05, 0.999))
def test_the_stock_is_the_poisson_quantile(mean: float, target: float):
    assert stock_level(Demand(mean), target=target).parts == poisson.ppf(target, mean)


@given(st.floats(0.01, 200.0), st.floats(0.2, 50.0), st.floats(0.05, 0.99))
def test_an_uncertain_mean_gives_the_negative_binomial_quantile(mean, shape, target):
    law = nbinom(shape, shape / (shape + mean))
    assert stock_level(Demand(mean, shape), target=target).parts == law.ppf(target)


@pytest.mark.parametrize("shape", [0.7, 5.0, inf])
@pytest.mark.parametrize("parts", [0, 1, 4, 9, 30])
def test_back_orders_are_the_sum_over_the_tail(shape: float, parts: int):
    demand = Demand(6.0, shape)
    law = poisson(6.0) if shape == inf else nbinom(shape, shape / (shape + 6.0))
    owed = sum((count - parts) * law.pmf(count) for count in range(parts + 1, 600))
    assert expected_back_orders(parts, demand) == pytest.approx(owed, abs=1e-7)


@given(st.integers(0, 60), st.floats(0.05, 40.0), st.floats(0.2, 100.0))
def test_one_part_more_takes_off_the_chance_of_running_out(parts, mean, shape):
    """EBO(S) - EBO(S + 1) = P(D > S)."""
    demand = Demand(mean, shape)
    less = expected_back_orders(parts, demand) - expected_back_orders(parts + 1, demand)
    assert less == pytest.approx(1.0 - demand.at_most(parts), abs=1e-7)


@given(st.integers(0, 200), st.floats(1.0, 60.0), st.floats(0.1, 12.0))
def test_a_short_record_needs_more_stock_than_a_known_mean(used, months, lead):
    demand = Demand.from_use(used, months, lead)
    assert demand.mean == pytest.approx((used + 0.5) / months * lead)
    assert stock_level(demand).parts >= stock_level(Demand(demand.mean)).parts


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: Demand(0.0), "mean 0"),
        (lambda: Demand(1.0, 0.0), r"shape 0\.0"),
        (lambda: Demand.from_use(-1, 1.0, 1.0), "-1 parts"),
        (lambda: Demand.from_use(1, 0.0, 1.0), "give >= 0"),
        (lambda: stock_level(Demand(1.0), target=1.0), "target is 1"),
        (lambda: stock_level(Demand(1e9)), "lower it"),
        (lambda: expected_back_orders(-1, Demand(1.0)), "parts is -1"),
    ],
)
def test_it_refuses_what_is_no_stock(call, says: str):
    with pytest.raises(InputError, match=says):
        call()
