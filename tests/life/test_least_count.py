"""The least count: what a table of the law says, wherever the search begins, and where it ends."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import poisson

from turnwell.errors import InputError
from turnwell.life.least_count import least_count


@given(
    mean=st.floats(0.01, 500.0),
    share=st.floats(0.001, 0.999),
    near=st.floats(0.0, 1e4),
)
def test_it_is_the_quantile_of_scipy_wherever_it_begins(mean: float, share: float, near: float):
    law = poisson(mean)
    found = least_count(lambda count: float(law.cdf(count)), share, near=near)
    assert law.cdf(found) >= share
    assert found == 0 or law.cdf(found - 1) < share


def test_it_refuses_a_chance_that_no_count_reaches():
    with pytest.raises(InputError, match="asks for a count over 10,000,000"):
        least_count(lambda _: 0.5, 0.9, near=1.0)
