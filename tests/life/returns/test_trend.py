"""Trend tests against a handbook, a package, every order of a few gaps, and their size."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import kendalltau, ttest_1samp
from surpyval.recurrent import laplace as their_laplace

from tests.life.returns.sets import ROCOF, TEN, one_unit
from tests.life.returns.shop import histories_of
from turnwell.errors import CannotTellError, InputError
from turnwell.life import Histories, trend


def test_the_nist_example_is_met():
    """[NISTHANDBOOK], 8.2.3.4: R = 33, 37.23 (from memory, digits recomputed); U by hand."""
    found = trend(TEN)
    assert found.reversals == 33
    assert found.reversals_p == pytest.approx(2 * 0.03627508, abs=1e-8)
    assert found.chi2 == pytest.approx(37.228081, abs=5e-7)
    assert found.degrees == 20
    assert found.chi2_p == pytest.approx(2 * 0.01098636, abs=1e-8)
    assert found.laplace == pytest.approx(-1.326949, abs=5e-7)


def test_a_watch_ended_by_a_failure_matches_a_package():
    """The documentation prints U = 2.409."""
    found = trend(ROCOF, failure_terminated=True)
    assert found.laplace == pytest.approx(2.409438, abs=5e-7)
    assert found.returns == 29


def test_laplace_agrees_with_surpyval_on_one_unit():
    theirs = their_laplace(TEN.at, T=1500.0)
    assert trend(TEN).laplace == pytest.approx(theirs.statistic, rel=1e-9)


@pytest.mark.parametrize("count", [4, 6])
def test_reversals_have_the_chances_of_all_orders(count: int):
    """Every order of the gaps in turn: no p is exceeded more often than it says."""
    lengths = np.array([1.0, 2.0, 4.0, 8.0, 16.0, 32.0])[:count]
    values = np.array(
        [
            trend(one_unit(np.cumsum(order).tolist(), 70.0)).reversals_p
            for order in permutations(lengths)
        ],
        dtype=np.float64,
    )
    for p in np.unique(values[values < 1.0]):
        assert np.mean(values <= p + 1e-12) == pytest.approx(p)


def test_many_gaps_agree_with_kendalls_tau():
    rng = np.random.default_rng(1)
    gaps = rng.exponential(10.0, 60)
    found = trend(one_unit(np.cumsum(gaps).tolist(), float(gaps.sum()) + 5.0))
    tau = kendalltau(np.arange(60), gaps, method="exact")
    assert found.reversals is not None
    assert found.reversals * 4 / (60 * 59) - 1 == pytest.approx(tau.statistic)
    assert found.reversals_p == pytest.approx(tau.pvalue, abs=0.01)


def test_ties_never_speak_for_a_trend():
    even = trend(one_unit([10.0, 20.0, 30.0, 40.0, 50.0], 55.0))
    assert even.reversals == 0
    assert even.reversals_p == 1.0


def test_each_unit_counts_in_its_own_window():
    """One late in its window, one as much early: nothing is left."""
    found = trend(Histories.of([10, 30], [0, 1], [9, 21], start=[0, 20]))
    assert found.laplace == pytest.approx(0.0)
    assert found.laplace_p == 1.0


def test_a_rising_rate_is_found_by_all_tests():
    found = trend(histories_of(np.random.default_rng(2), 200, mean=6.0, shape=2.5))
    assert found.laplace > 3.0
    assert found.robust_laplace is not None
    assert found.robust_laplace > 3.0
    assert found.chi2 < found.degrees
    assert found.reversals is not None
    assert found.expected_reversals is not None
    assert found.reversals < found.expected_reversals
    assert found.p < 1e-3


def test_bunches_of_returns_fool_laplace_but_not_over_units():
    rng = np.random.default_rng(3)
    plain = used = 0
    for _ in range(200):
        found = trend(histories_of(rng, 20, bunch=1.5))
        assert found.is_robust_used
        plain += found.laplace_p < 0.05
        used += found.p < 0.05
    assert plain > 25
    assert used <= 20


def test_offices_are_the_clusters_where_there_are_several():
    found = trend(histories_of(np.random.default_rng(4), 100, offices=7))
    assert found.clusters == 7


def test_one_unit_has_no_test_over_units():
    found = trend(TEN)
    assert found.robust_laplace is None
    assert not found.is_robust_used
    assert found.p == found.laplace_p


@given(st.integers(0, 2**32 - 1))
def test_a_watch_run_backwards_turns_laplace_round(seed: int):
    histories = histories_of(np.random.default_rng(seed), 10)
    back = histories.start[histories.unit] + histories.stop[histories.unit] - histories.at
    turned = Histories.of(histories.stop, histories.unit, back, start=histories.start)
    assert trend(turned).laplace == pytest.approx(-trend(histories).laplace, abs=1e-9)


def test_it_refuses_what_shows_nothing():
    with pytest.raises(CannotTellError, match="nothing came back"):
        trend(Histories.of([10], [], []))
    with pytest.raises(CannotTellError, match="nothing came back"):
        trend(one_unit([10.0], 10.0), failure_terminated=True)
    single = trend(one_unit([4.0], 10.0))
    assert single.reversals is None
    assert single.reversals_p is None


@pytest.mark.parametrize("count", [13, 20])
@pytest.mark.parametrize("seed", range(5))
def test_just_beyond_the_exact_counts_the_normal_law_is_as_good(count: int, seed: int):
    """Half a pair further out: without that the p would be off by up to 0.06."""
    gaps = np.random.default_rng(seed).exponential(10.0, count)
    found = trend(one_unit(np.cumsum(gaps).tolist(), float(gaps.sum()) + 5.0))
    exact = kendalltau(np.arange(count), gaps, method="exact").pvalue
    assert found.reversals_p == pytest.approx(exact, abs=0.009)


def test_a_watch_that_did_not_end_by_a_return_is_not_said_to():
    with pytest.raises(InputError, match="unit 1 does not end by a return"):
        trend(TEN, failure_terminated=True)


def test_the_test_over_units_is_students_on_their_sums():
    """Of how far each unit's returns lie off the middle of its watch, by scipy."""
    histories = histories_of(np.random.default_rng(5), 9)
    middle = (histories.start + histories.stop) / 2.0
    off = histories.at - middle[histories.unit]
    sums = [off[histories.unit == unit].sum() for unit in np.unique(histories.unit)]
    theirs = ttest_1samp(sums, 0.0)
    found = trend(histories)
    assert found.robust_laplace == pytest.approx(theirs.statistic, rel=1e-9)
    assert found.robust_laplace_p == pytest.approx(theirs.pvalue, rel=1e-9)
