"""What handpieces may do in another window: closed forms, simulation, laws, refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import nbinom

from tests.life.rates.shop import gamma
from turnwell.errors import InputError
from turnwell.life import Estimate
from turnwell.life.rates import Predictive, ShopSpread
from turnwell.life.rates.outlook import Window, outlook

NOTHING = Estimate(0.0, 0.0, 0.0)


def known(office: float, handpiece: float, level: float = 1.0) -> ShopSpread:
    """Give a shop of which everything is known."""
    one = np.ones(1)
    return ShopSpread(level * one, office * one, handpiece * one, one, NOTHING, NOTHING)


@pytest.mark.parametrize(
    ("count", "risk", "ahead"), [(0, 2.0, 3.0), (7, 3.0, 6.0), (60, 20.0, 5.0)]
)
def test_without_a_spread_of_handpieces_it_is_gamma_poisson(count, risk, ahead):
    found = outlook(known(0.5, 0.0), Window.of([count], [risk]), [ahead])
    shape, rate = 4.0 + count, 4.0 + risk
    law = nbinom(shape, rate / (rate + ahead))
    for number in (0, 2, 5, 12):
        assert found.at_most(number) == pytest.approx(law.cdf(number), abs=2e-4)
        assert found.at_least(number) == pytest.approx(law.sf(number - 1), abs=2e-4)
    assert found.expected == pytest.approx(shape / rate * ahead, rel=1e-3)
    assert found.variance == pytest.approx(law.var(), rel=1e-2)


def test_one_handpiece_of_a_known_office_is_negative_binomial():
    found = outlook(known(0.02, 1.0), Window.of([4], [2.0]), [3.0])
    law = nbinom(1.0 + 4, (1.0 + 2.0) / (1.0 + 2.0 + 3.0))
    assert [found.at_most(n) for n in range(12)] == pytest.approx(law.cdf(range(12)), abs=1e-3)


def test_it_agrees_with_simulated_offices_that_had_the_same_counts():
    """Draw many offices, keep those that did exactly this: what they did next is the answer."""
    rng = np.random.default_rng(2)
    expected, ahead = np.array([0.5, 0.5, 1.0]), np.array([1.0, 0.0, 2.0])
    office = gamma(rng, 0.5, 2_000_000)[:, None]
    rate = office * gamma(rng, 0.8, 6_000_000).reshape(-1, 3)
    alike = rate[np.all(rng.poisson(rate * expected) == [2, 0, 1], axis=1)]
    later = rng.poisson(alike * ahead).sum(axis=1)
    found = outlook(known(0.5, 0.8), Window.of([2, 0, 1], expected), ahead)
    assert alike.shape[0] > 20_000
    assert found.expected == pytest.approx(later.mean(), rel=0.02)
    assert found.variance == pytest.approx(later.var(), rel=0.05)
    for number in (1, 4, 9):
        assert found.at_most(number) == pytest.approx(np.mean(later <= number), abs=0.01)


def test_a_new_handpiece_carries_nothing_over_but_the_office():
    shop = known(0.02, 1.0)
    same = outlook(shop, Window.of([6, 0], [2.0, 0.0]), [2.0, 0.0])
    new = outlook(shop, Window.of([6, 0], [2.0, 0.0]), [0.0, 2.0])
    assert same.expected == pytest.approx(2.0 * 7.0 / 3.0, rel=0.01)
    assert new.expected == pytest.approx(2.0, rel=0.01)


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 40), st.floats(0.1, 20.0), st.floats(0.1, 1.0), st.floats(0.0, 1.0))
def test_more_returns_seen_let_more_be_expected(count, risk, office, handpiece):
    shop = known(office, handpiece)
    less = outlook(shop, Window.of([count], [risk]), [1.0]).expected
    more = outlook(shop, Window.of([count + 3], [risk]), [1.0]).expected
    assert more > less
    assert min(1.0, count / risk) * 0.95 <= less <= max(1.0, count / risk) * 1.05


@given(st.floats(0.01, 200.0), st.floats(0.05, 1e6), st.sampled_from([0.5, 0.8, 0.95]))
def test_the_predictive_interval_is_exact_at_whole_counts(mean, shape, level):
    found = Predictive(np.array([mean]), np.array([shape]), np.ones(1))
    law = nbinom(shape, shape / (shape + mean))
    interval = found.interval(level)
    assert interval.low <= interval.value <= interval.high
    assert law.cdf(interval.high) - law.cdf(interval.low - 1) >= level - 1e-9
    assert found.quantile(0.5) == law.ppf(0.5)


def test_a_mixture_lies_between_its_parts():
    two = Predictive(np.array([2.0, 20.0]), np.array([np.inf, 5.0]), np.array([0.5, 0.5]))
    assert two.expected == 11.0
    assert two.variance == pytest.approx(0.5 * 2.0 + 0.5 * (20.0 + 80.0) + 81.0)
    assert float(two.exactly(3)) == pytest.approx(two.at_most(3) - two.at_most(2))
    assert two.at_most(-1) == 0.0
    assert two.at_least(0) == 1.0


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: Window.of([1, 2], [1.0]), "counts has shape"),
        (lambda: Window.of([1, 0.5], [1.0, 1.0]), "count 2 is 0.5; counts must be whole numbers"),
        (lambda: Window.of([1, 2], [1.0, -3.0]), "expected count 2 is -3; these must be finite"),
        (lambda: Window.of([1], [np.nan]), "finite"),
        (lambda: Window.of([1], [0.0]), "no expected count"),
        (lambda: outlook(known(0.5, 0.5), Window.of([1], [1.0]), [1.0, 1.0]), "2 handpieces"),
        (lambda: outlook(known(0.5, 0.5), Window.of([1], [1.0]), [0.0]), "nothing is at risk"),
    ],
)
def test_it_refuses_what_is_no_window(call, says: str):
    with pytest.raises(InputError, match=says):
        call()
