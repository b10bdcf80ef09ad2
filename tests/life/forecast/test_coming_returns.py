"""Returns ahead: calibration on simulated shops, exact sums, laws, refusals."""

import numpy as np
import pytest
from scipy.stats import nbinom

from tests.life.rates.shop import draw
from turnwell.errors import CannotTellError, InputError
from turnwell.life import Estimate
from turnwell.life.forecast import coming_from_growth, coming_returns
from turnwell.life.rates import shrink


def test_counts_fall_inside_as_often_as_claimed():
    rng = np.random.default_rng(1)
    inside, shops = {0.8: [], 0.95: []}, {0.8: [], 0.95: []}
    for _ in range(60):
        shop = draw(rng, offices=25, between_handpieces=1.0)
        history = shrink(shop.returns(rng), shop.expected, office=shop.office)
        ahead = 0.25 * shop.totals(shop.expected)
        later = shop.totals(shop.returns(rng, share=0.25))
        for level in inside:
            found = coming_returns(history, ahead, level=level)
            inside[level] += list((found.low <= later) & (later <= found.high))
            whole = found.all_offices
            shops[level].append(whole.low <= later.sum() <= whole.high)
    # Whole counts cover a little more; 1,500 offices, standard errors 1.0 and 0.6 points.
    assert 0.78 <= np.mean(inside[0.8]) <= 0.92
    assert 0.94 <= np.mean(inside[0.95]) <= 0.99
    # 60 shops: standard errors 5 and 3 points.
    assert 0.7 <= np.mean(shops[0.8]) <= 0.95
    assert np.mean(shops[0.95]) >= 0.87


def test_the_sum_is_that_of_the_offices_laws():
    """Given the shop's spreads, the convolution of the offices' negative binomials."""
    rng = np.random.default_rng(2)
    expected = rng.uniform(5.0, 40.0, 300)
    counts = rng.poisson(expected * rng.gamma(4.0, 0.25, 300))
    history = shrink(counts, expected)
    found = coming_returns(history, 0.1 * expected)
    shape = history.prior_shape + counts
    mean = shape / (history.prior_shape / history.prior_mean + expected) * 0.1 * expected
    law = np.ones(1)
    for each, size in zip(mean, shape, strict=True):
        law = np.convolve(law, nbinom.pmf(range(60), size, size / (size + each)))
    below = np.cumsum(law)
    assert found.shop.expected == pytest.approx(mean.sum(), rel=0.005)
    for count in (int(found.all_offices.low), int(mean.sum()), int(found.all_offices.high)):
        assert found.shop.at_most(count) == pytest.approx(below[count], abs=0.01)


def test_one_gamma_an_office_stands_for_the_whole_mixture():
    rng = np.random.default_rng(3)
    shop = draw(rng, offices=12)
    history = shrink(shop.returns(rng), shop.expected, office=shop.office)
    ahead = 0.5 * history.expected
    found = coming_returns(history, ahead, level=0.9)
    spread = history.spread
    for office in range(12):
        own = 1.0 / spread.variance_of(history.concentration[office : office + 1])[:, 0]
        shape = own + history.counts[office]
        mean = shape / (own / spread.level + history.expected[office]) * ahead[office]
        law = nbinom(shape, shape / (shape + mean))
        assert float(spread.weight @ law.cdf(found.high[office])) >= 0.94
        assert float(spread.weight @ law.cdf(found.low[office] - 1)) <= 0.06
        assert found.mean[office] == pytest.approx(float(spread.weight @ mean))


def test_nothing_ahead_brings_nothing():
    found = coming_returns(shrink([3, 9], [5.0, 5.0]), [0.0, 5.0])
    assert (found.mean[0], found.low[0], found.high[0]) == (0.0, 0, 0)


def test_growth_carries_what_the_power_law_leaves_open():
    sure = coming_from_growth(Estimate(20.0, 20.0, 20.0))
    open_ = coming_from_growth(Estimate(20.0, 10.0, 40.0))
    assert sure.variance == pytest.approx(20.0)
    # Log standard deviation ln(4) / 3.92.
    assert open_.variance == pytest.approx(
        20.0 + 400.0 * np.expm1((np.log(4.0) / 3.92) ** 2), rel=1e-4
    )
    assert open_.interval().low < sure.interval().low
    assert open_.interval().high > sure.interval().high


def test_open_growth_cannot_be_forecast():
    with pytest.raises(CannotTellError, match="open at one end"):
        coming_from_growth(Estimate(20.0, 0.0, 40.0))


@pytest.mark.parametrize(
    ("ahead", "options", "says"),
    [
        ([1.0], {}, r"shape \(1,\) for 2 offices"),
        ([0.0, 0.0], {}, "one > 0"),
        ([np.nan, 1.0], {}, "finite"),
        ([1.0, 1.0], {"level": 1.0}, "level is 1"),
    ],
)
def test_it_refuses_what_is_no_window(ahead, options, says: str):
    with pytest.raises(InputError, match=says):
        coming_returns(shrink([3, 9], [5.0, 5.0]), ahead, **options)


def test_shop_and_offices_vary_as_drawn_from_what_is_not_known():
    """Points, rates and counts drawn one after the other; few offices, little known of them."""
    rng = np.random.default_rng(6)
    history = shrink([2, 1, 9], [4.0, 4.0, 4.0])
    ahead = np.array([6.0, 6.0, 6.0])
    found = coming_returns(history, ahead, level=0.9)
    spread = history.spread
    point = rng.choice(spread.weight.size, 100_000, p=spread.weight)
    shape = spread.office[point, None] ** -2.0
    rate = rng.gamma(shape + history.counts) / (shape / spread.level[point, None] + 4.0)
    drawn = rng.poisson(rate * ahead)
    assert found.mean == pytest.approx(drawn.mean(axis=0), rel=0.01)
    assert np.sqrt(found.shop.variance) == pytest.approx(drawn.sum(axis=1).std(), rel=0.02)
    for office in range(3):
        above = np.mean(drawn[:, office] > found.high[office])
        assert 0.03 < above <= 0.052
