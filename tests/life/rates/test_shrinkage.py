"""Shrunken rates: worked examples, coverage on simulated shops, laws of shrinkage, refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import gamma as gamma_law
from scipy.stats import nbinom

from tests.life.rates.shop import draw
from turnwell.errors import CannotTellError, InputError
from turnwell.life.rates import GammaPrior, shrink
from turnwell.life.rates.predictive import log_negative_binomial, negative_binomial_cdf
from turnwell.life.rates.spread import concentration


@pytest.mark.parametrize(
    ("count", "exposure", "mean", "above"),
    # Asthma mortality, [GELMAN2013] section 2.6: prior Gamma(3, 5), rates a 100,000 persons a year.
    [(3, 2.0, 0.857143, 0.300708), (30, 20.0, 1.32, 0.928544)],
)
def test_a_known_prior_gives_the_worked_posterior(count, exposure, mean, above):
    after = GammaPrior(3.0, 5.0).after(count, exposure)
    assert after.mean == pytest.approx(mean, abs=5e-7)
    assert after.above(1.0) == pytest.approx(above, abs=5e-7)


@pytest.mark.parametrize(("count", "mean"), [(0, 4.545455e-5), (1, 4.772727e-5), (2, 5.0e-5)])
def test_small_counties_are_drawn_to_the_prior(count: int, mean: float):
    # Kidney cancer, [GELMAN2013] section 2.7: prior Gamma(20, 430,000), 1,000 persons for 10 years.
    after = GammaPrior(20.0, 430_000.0).after(count, 10_000.0)
    assert after.mean == pytest.approx(mean, abs=5e-12)


def test_a_posterior_interval_holds_what_it_claims():
    found = GammaPrior(5.0, 2.0).interval(0.9)
    assert gamma_law.cdf([found.low, found.high], 5.0, scale=0.5) == pytest.approx([0.05, 0.95])


@given(st.integers(0, 300), st.floats(0.01, 300.0), st.floats(0.02, 1e4))
def test_the_negative_binomial_is_that_of_scipy(count: int, mean: float, shape: float):
    law = nbinom(shape, shape / (shape + mean))
    assert log_negative_binomial(count, mean, 1.0 / shape) == pytest.approx(
        law.logpmf(count), rel=1e-7, abs=1e-7
    )
    assert negative_binomial_cdf(count, mean, shape) == pytest.approx(law.cdf(count), abs=1e-9)


def test_known_spreads_give_the_closed_form_posterior():
    """Many offices pin the prior down; then each is the gamma posterior of the reference."""
    rng = np.random.default_rng(11)
    expected = rng.uniform(1.0, 40.0, 3_000)
    counts = rng.poisson(expected * rng.gamma(4.0, 0.25, 3_000))
    found = shrink(counts, expected)
    assert found.prior_shape == pytest.approx(4.0, rel=0.1)
    shape, rate = found.prior_shape, found.prior_shape / found.prior_mean
    closed = (shape + counts) / (rate + expected)
    assert found.mean == pytest.approx(closed, rel=0.02)
    low = gamma_law.ppf(0.025, shape + counts, scale=1.0 / (rate + expected))
    assert found.low == pytest.approx(low, rel=0.05)
    over = gamma_law.sf(1.5, shape + counts, scale=1.0 / (rate + expected))
    assert found.above(1.5) == pytest.approx(over, abs=0.02)


def test_offices_alike_are_pooled():
    found = shrink(np.array([10, 9, 11, 10, 10, 9, 11, 10]), np.full(8, 10.0))
    assert found.is_pooled
    assert found.mean == pytest.approx(np.ones(8), abs=0.06)


def test_handpieces_that_come_back_again_do_not_make_an_office_bad():
    """The same total from one handpiece says less of the office than from many."""
    rng = np.random.default_rng(4)
    shop = draw(rng, offices=40, handpieces=(20, 20), between_handpieces=1.0)
    counts = shop.returns(rng)
    office = np.concatenate([shop.office, np.full(20, 40), np.full(20, 41)])
    expected = np.concatenate([shop.expected, np.full(20, 0.3), [5.62], np.full(19, 0.02)])
    spread_out, piled_up = np.ones(20), np.concatenate([[20], np.zeros(19)])
    found = shrink(np.concatenate([counts, spread_out, piled_up]), expected, office=office)
    assert found.counts[40] == found.counts[41]
    assert found.expected[40] == pytest.approx(found.expected[41])
    assert found.above(1.5)[41] < found.above(1.5)[40] - 0.1
    assert found.high[41] / found.low[41] > 1.1 * found.high[40] / found.low[40]


@pytest.mark.parametrize("offices", [5, 30])
def test_intervals_hold_the_true_rates(offices: int):
    rng = np.random.default_rng(offices)
    inside, spreads = [], []
    for _ in range(600 // offices):
        shop = draw(rng, offices=offices)
        found = shrink(shop.returns(rng), shop.expected, office=shop.office)
        inside += list((found.low <= shop.office_rate) & (shop.office_rate <= found.high))
        spread = found.spread.between_handpieces
        spreads.append(spread.low <= 0.7 <= spread.high)
    # 600 offices: one standard error is 0.9 points.
    assert 0.92 <= np.mean(inside) <= 0.98
    assert np.mean(spreads) >= 0.85


def test_leaving_the_handpieces_out_is_overconfident_about_the_offices():
    """What the spread between handpieces is carried for."""
    rng = np.random.default_rng(8)
    widths = []
    for _ in range(10):
        shop = draw(rng, offices=30, handpieces=(5, 15), between_handpieces=1.5)
        counts = shop.returns(rng)
        told = shrink(counts, shop.expected, office=shop.office)
        blind = shrink(shop.totals(counts), shop.totals(shop.expected))
        widths.append(told.spread.between_offices.value / blind.spread.between_offices.value)
    assert np.mean(widths) < 0.97


shops = st.lists(
    st.tuples(st.integers(0, 60), st.floats(0.5, 50.0)), min_size=2, max_size=12
).filter(lambda rows: sum(count for count, _ in rows) > 0)


@settings(deadline=None, max_examples=60)
@given(shops)
def test_shrinkage_lies_between_the_raw_rate_and_the_shop(rows):
    counts, expected = (np.array(column, dtype=float) for column in zip(*rows, strict=True))
    found = shrink(counts, expected)
    raw = counts / expected
    levels = found.spread.level
    low, high = np.minimum(raw, levels.min()), np.maximum(raw, levels.max())
    assert np.all((low * 0.98 <= found.mean) & (found.mean <= high * 1.02))
    assert np.all((found.low <= found.mean) & (found.mean <= found.high))
    assert found.rank.sum() == pytest.approx(counts.size * (counts.size + 1) / 2)


@settings(deadline=None, max_examples=40)
@given(shops, st.floats(1.1, 8.0))
def test_the_chance_of_exceeding_falls_with_the_factor(rows, factor: float):
    counts, expected = (np.array(column, dtype=float) for column in zip(*rows, strict=True))
    found = shrink(counts, expected)
    assert np.all(found.above(factor) <= found.above(1.0) + 1e-12)
    assert np.all((found.above(factor) >= -1e-12) & (found.above(1e-30) == pytest.approx(1.0)))


def test_more_returns_of_an_office_raise_its_rate_and_rank():
    expected = np.full(6, 8.0)
    found = [shrink(np.array([count, 4, 6, 8, 10, 12]), expected) for count in range(0, 40, 2)]
    assert np.all(np.diff([one.mean[0] for one in found]) > 0.0)
    assert np.all(np.diff([one.rank[0] for one in found]) < 0.0)


def test_the_order_of_rows_does_not_matter():
    rng = np.random.default_rng(3)
    shop = draw(rng, offices=8)
    counts, order = shop.returns(rng), rng.permutation(shop.office.size)
    one = shrink(counts, shop.expected, office=shop.office)
    other = shrink(counts[order], shop.expected[order], office=shop.office[order])
    assert one.mean == pytest.approx(other.mean, rel=1e-9)


def test_an_office_without_time_at_risk_is_what_the_shop_is():
    found = shrink([3, 9, 6, 0], [5.0, 5.0, 5.0, 0.0])
    assert found.mean[3] == pytest.approx(float(found.spread.weight @ found.spread.level), rel=0.02)
    assert found.high[3] - found.low[3] > np.max(found.high[:3] - found.low[:3])


def test_the_same_factor_on_all_expected_counts_only_rescales():
    counts, expected = np.array([3, 9, 6, 20]), np.array([5.0, 5.0, 8.0, 9.0])
    one, twice = shrink(counts, expected), shrink(counts, 2.0 * expected)
    assert twice.mean == pytest.approx(one.mean / 2.0, rel=1e-3)


def test_concentration_is_one_over_the_number_of_handpieces_alike():
    expected, office = np.array([2.0, 2.0, 2.0, 7.0]), np.array([0, 0, 0, 1])
    assert concentration(expected, office, 2) == pytest.approx([1 / 3, 1.0])


def test_no_return_at_all_cannot_tell():
    with pytest.raises(CannotTellError, match="no handpiece came back yet"):
        shrink([0, 0], [1.0, 2.0])


@pytest.mark.parametrize(
    ("arguments", "options", "says"),
    [
        (([], []), {}, "no count"),
        (([1, 2], [1.0]), {}, r"counts has shape \(2,\)"),
        (([1.5], [1.0]), {}, "whole numbers"),
        (([1], [-1.0]), {}, "finite and >= 0"),
        (([1, 1], [1.0, 0.0]), {}, "row 2 has returns but no expected count"),
        (([1], [1.0]), {"office": [0.5]}, "office must hold whole numbers"),
        (([1], [1.0]), {"level": 0.0}, "level is 0"),
    ],
)
def test_it_refuses_what_is_no_shop(arguments, options, says: str):
    with pytest.raises(InputError, match=says):
        shrink(*arguments, **options)


def test_a_prior_is_refused_where_it_is_none():
    with pytest.raises(InputError, match="both > 0"):
        GammaPrior(0.0, 1.0)


def test_three_offices_cannot_prove_a_spread_without_end():
    """Flat, the spread would be 2.5 and its end the last one searched."""
    found = shrink([0, 0, 30], [10.0, 10.0, 10.0]).spread.between_offices
    assert 1.5 < found.value < 2.2
    assert found.high < 2.95


@pytest.mark.parametrize("shape", [np.inf, np.nan, -1.0])
def test_a_prior_has_a_finite_shape(shape: float):
    with pytest.raises(InputError, match="gamma prior has shape"):
        GammaPrior(shape, 1.0)
