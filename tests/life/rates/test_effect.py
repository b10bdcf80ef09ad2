"""What an action would bring: exact products, updating by comparisons, ranking, refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta as beta_law
from scipy.stats import gamma as gamma_law
from scipy.stats import nbinom

from tests.life.rates.shop import draw, gamma
from tests.life.rates.test_outlook import known
from turnwell.errors import CannotTellError, InputError
from turnwell.life.rates import (
    Action,
    Amount,
    CauseCounts,
    Predictive,
    Window,
    change,
    effectiveness,
    expected_effects,
    mean_cost,
    outlook,
    shrink,
    yearly_returns,
)

SHARES = {"oil": 0.5, "water": 0.3, "drop": 0.2}


def test_a_product_is_that_of_simulation():
    rng = np.random.default_rng(1)
    size = 400_000
    drawn = rng.gamma(5.76, 12 / 5.76, size) * rng.beta(4, 8, size) * rng.beta(2, 3, size)
    made = Amount.gamma(12.0, 5.0).times(Amount.beta(4.0, 8.0)).times(Amount.beta(2.0, 3.0))
    found = made.estimate()
    assert made.mean == pytest.approx(12.0 * (4 / 12) * (2 / 5), rel=1e-9)
    assert np.mean(drawn < found.low) == pytest.approx(0.025, abs=0.002)
    assert np.mean(drawn > found.high) == pytest.approx(0.025, abs=0.001)


@given(st.floats(0.5, 60.0), st.floats(0.5, 60.0))
def test_a_share_keeps_its_mean_and_its_interval(alpha: float, beta: float):
    amount = Amount.beta(alpha, beta)
    law = beta_law(alpha, beta)
    assert amount.mean == pytest.approx(law.mean(), rel=1e-9)
    found = amount.estimate(0.8)
    assert law.cdf(found.high) - law.cdf(found.low) == pytest.approx(0.8, abs=0.02)


@given(st.floats(0.1, 1e4), st.floats(0.02, 1.5))
def test_an_amount_keeps_its_mean_and_its_interval(mean: float, spread: float):
    amount = Amount.gamma(mean, spread * mean)
    law = gamma_law(spread**-2, scale=mean * spread**2)
    assert amount.mean == pytest.approx(mean, rel=1e-9)
    found = amount.estimate(0.8)
    assert law.cdf(found.high) - law.cdf(found.low) == pytest.approx(0.8, abs=0.02)


@given(st.lists(st.tuples(st.floats(0.0, 1e3), st.floats(0.01, 5.0)), min_size=1, max_size=300))
def test_points_of_equal_chance_keep_the_mean(rows):
    values, weights = (np.array(column) for column in zip(*rows, strict=True))
    found = Amount.of(values, weights)
    assert found.mean == pytest.approx(np.average(values, weights=weights), rel=1e-9, abs=1e-9)
    assert np.all(np.diff(found.points) >= -1e-9)


def test_without_comparisons_the_prior_stays():
    found = effectiveness(2.0, 3.0)
    law = beta_law(2.0, 3.0)
    assert found.estimate().value == pytest.approx(0.4, abs=1e-4)
    assert found.estimate().low == pytest.approx(law.ppf(0.025), abs=2e-3)
    assert found.estimate().high == pytest.approx(law.ppf(0.975), abs=2e-3)
    assert found.comparisons == 0


def test_a_comparison_updates_the_prior_by_bayes():
    """One office of known prior: the later count is negative binomial, thinned by the share."""
    one = change([30], [20.0], [8], [20.0], shop=known(0.5, 0.0))
    found = effectiveness(2.0, 3.0, [one])
    share = np.linspace(0.0005, 0.9995, 1000)
    mean = (4.0 + 30) / (4.0 + 20) * 20.0 * (1.0 - share)
    chance = beta_law.pdf(share, 2.0, 3.0) * nbinom.pmf(8, 34.0, 34.0 / (34.0 + mean))
    assert found.estimate().value == pytest.approx(np.average(share, weights=chance), abs=2e-3)
    assert found.estimate().value > 0.5
    assert found.comparisons == 1


def test_a_bad_spell_that_ended_does_not_count_as_an_effect():
    """Nothing was done, and the worst of fifty was looked at: the prior is not drawn upward."""
    rng = np.random.default_rng(3)
    shifts = []
    for _ in range(40):
        shop = draw(rng, offices=50, between_offices=0.1, between_handpieces=0.5, rate=0.3)
        before, after = shop.returns(rng), shop.returns(rng)
        spread = shrink(before, shop.expected, office=shop.office).spread
        excess = (shop.totals(before) - shop.totals(shop.expected)) / shop.totals(shop.expected)
        own = shop.office == np.argmax(excess)
        risk = shop.expected[own]
        one = change(before[own], risk, after[own], risk, shop=spread)
        shifts.append(effectiveness(2.0, 3.0, [one]).estimate().value - 0.4)
    assert np.mean(shifts) < 0.0


def test_an_effect_that_is_there_is_found():
    rng = np.random.default_rng(4)
    comparisons = []
    for _ in range(12):
        rate = gamma(rng, 0.5, 1)
        before, after = rng.poisson(rate * 20.0), rng.poisson(0.3 * rate * 20.0)
        comparisons.append(change(before, [20.0], after, [20.0], shop=known(0.5, 0.0)))
    found = effectiveness(2.0, 3.0, comparisons).estimate()
    assert found.low < 0.7 < found.high
    assert found.high - found.low < 0.3


def test_yearly_returns_are_the_office_rate():
    found = yearly_returns(outlook(known(0.5, 0.0), Window.of([30], [20.0]), [10.0])).estimate()
    law = gamma_law(34.0, scale=10.0 / 24.0)
    assert found.value == pytest.approx(law.mean(), rel=1e-3)
    assert [found.low, found.high] == pytest.approx(law.ppf([0.025, 0.975]), rel=0.02)


def fixed(share: float):
    return effectiveness(2e5 * share, 2e5 * (1.0 - share))


def test_actions_come_in_the_order_of_what_they_prevent():
    yearly = yearly_returns(Predictive(np.array([10.0]), np.array([40.0]), np.ones(1)))
    causes = CauseCounts({"oil": 2.0, "water": 18.0})
    found = expected_effects(
        yearly,
        causes,
        SHARES,
        [
            Action("teach_oil", ("oil",), fixed(0.5)),
            Action("purge_water", ("water",), fixed(0.5)),
            Action("both", ("oil", "water"), fixed(0.5)),
        ],
        cost=Amount.exactly(100.0),
    )
    assert [one.key for one in found] == ["both", "purge_water", "teach_oil"]
    # Shares: (5 x shop + own) / 25.
    assert found[1].prevented.value == pytest.approx(10.0 * (1.5 + 18.0) / 25.0 * 0.5, rel=2e-3)
    assert found[2].prevented.value == pytest.approx(10.0 * (2.5 + 2.0) / 25.0 * 0.5, rel=2e-3)
    money = found[1].money
    assert money is not None
    assert money.value == pytest.approx(100.0 * found[1].prevented.value, rel=1e-9)
    assert money.high == pytest.approx(100.0 * found[1].prevented.high, rel=0.02)


def test_unsettled_causes_widen_and_stay_as_in_the_shop():
    yearly = Amount.exactly(10.0)
    action = [Action("oil", ("oil",), fixed(0.5))]
    settled = expected_effects(yearly, CauseCounts({"oil": 20.0}), SHARES, action)[0]
    mixed = expected_effects(yearly, CauseCounts({"oil": 20.0}, 20.0), SHARES, action)[0]
    assert mixed.cause_share.value == pytest.approx((settled.cause_share.value + 0.5) / 2.0)
    width = settled.cause_share.high - settled.cause_share.low
    assert mixed.cause_share.high - mixed.cause_share.low > 1.5 * width


@settings(deadline=None, max_examples=25)
@given(st.floats(0.5, 50.0), st.floats(0.05, 0.95), st.floats(0.0, 20.0), st.floats(0.5, 20.0))
def test_never_more_is_prevented_than_comes_back(mean, share, own, other):
    yearly = Amount.gamma(mean, 0.3 * mean)
    causes = CauseCounts({"oil": own, "drop": other})
    found = expected_effects(yearly, causes, SHARES, [Action("oil", ("oil",), fixed(share))])[0]
    assert 0.0 <= found.prevented.low <= found.prevented.high <= yearly.points.max()
    everything = expected_effects(
        yearly, causes, SHARES, [Action("all", ("oil", "water", "drop"), fixed(share))]
    )[0]
    assert everything.cause_share.value == pytest.approx(1.0)
    assert everything.prevented.value >= found.prevented.value


def test_the_mean_cost_narrows_with_the_number_of_costs():
    few, many = mean_cost([80.0, 120.0]), mean_cost([80.0, 120.0] * 50)
    assert few.mean == many.mean == pytest.approx(100.0)
    assert many.estimate().low == pytest.approx(100.0 - 1.96 * 20.1 / 10.0, rel=0.01)
    assert few.estimate().low < many.estimate().low


def test_without_settled_causes_it_cannot_tell():
    with pytest.raises(CannotTellError, match="no return of this office has a settled cause"):
        expected_effects(Amount.exactly(5.0), CauseCounts({}, 4.0), SHARES, [])


@pytest.mark.parametrize(
    ("call", "error", "says"),
    [
        (lambda: effectiveness(0.0, 1.0), InputError, "alpha is 0"),
        (lambda: CauseCounts({"oil": -1.0}), InputError, "the count of oil is -1"),
        (lambda: Action("oil", (), fixed(0.5)), InputError, "works against no cause"),
        (lambda: mean_cost([100.0]), CannotTellError, "1 costs are known"),
        (lambda: mean_cost([-1.0, 2.0]), InputError, "a cost must be"),
        (lambda: Amount.of([], []), InputError, "0 values"),
        (lambda: Amount.of([1.0], [0.0]), InputError, "add up to nothing"),
        (lambda: Amount.of([-1.0], [1.0]), InputError, "finite and >= 0"),
        (lambda: Amount.gamma(0.0, 1.0), InputError, "mean is 0"),
        (lambda: Amount.beta(0.0, 1.0), InputError, "alpha is 0"),
        (lambda: Amount.exactly(1.0).estimate(1.0), InputError, "level is 1"),
        (
            lambda: expected_effects(Amount.exactly(1.0), CauseCounts({"a": 1}), {"a": 0.5}, []),
            InputError,
            "add up to 1",
        ),
    ],
)
def test_it_refuses_what_is_no_effect(call, error, says: str):
    with pytest.raises(error, match=says):
        call()
