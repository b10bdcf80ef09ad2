"""The product-limit curve against published tables, other packages, and its own laws."""

import lifelines
import numpy as np
import pytest
import surpyval
from hypothesis import given
from hypothesis import strategies as st

from tests.life.curves.sets import LATE, TWENTY, remission
from tests.life.curves.shop import lives_of
from turnwell.errors import InputError
from turnwell.life import Lives, product_limit, restricted_mean


def test_it_matches_the_remission_times_of_the_textbook():
    """[KLEINMOESCHBERGER2003], table 4.1 (from memory; six digits recomputed)."""
    curve = product_limit(remission()[0])
    assert curve.time.tolist() == [6, 7, 10, 13, 16, 22, 23]
    printed = [0.857143, 0.806723, 0.752941, 0.690196, 0.627451, 0.537815, 0.448179]
    assert curve.survival == pytest.approx(printed, abs=5e-7)
    errors = [0.076360, 0.086935, 0.096350, 0.106815, 0.114054, 0.128234, 0.134591]
    assert curve.survival * np.sqrt(curve.variance) == pytest.approx(errors, abs=5e-7)
    assert curve.median.value == 23


def test_failures_over_time_on_risk_are_those_of_the_textbook():
    """The same set: 9 failures in 359 weeks."""
    drug = remission()[0]
    assert drug.failures / drug.exit.sum() == pytest.approx(0.0250696, abs=5e-8)


def test_half_of_twenty_units_run_past_the_tenth_failure():
    curve = product_limit(TWENTY)
    assert curve.at(386).value == pytest.approx(0.5, abs=1e-12)
    assert curve.quantile(0.5).value == 386


def test_a_late_entry_is_at_risk_after_its_entry_only():
    curve = product_limit(LATE)
    assert curve.at_risk.tolist() == [4, 4, 2, 1]
    assert curve.survival == pytest.approx([0.75, 0.5625, 0.28125, 0.0], abs=1e-15)


@pytest.mark.parametrize("rounding", [0.0, 50.0])
def test_late_entries_agree_with_lifelines(rounding: float):
    lives = lives_of(np.random.default_rng(2), 400, rounding=rounding)
    other = lifelines.KaplanMeierFitter().fit(lives.exit, lives.is_failed, entry=lives.entry)
    curve = product_limit(lives)
    theirs = other.survival_function_at_times(curve.time).to_numpy()
    assert curve.survival == pytest.approx(theirs, abs=1e-12)


def test_its_limits_agree_with_lifelines():
    lives = lives_of(np.random.default_rng(3), 300, entry=0.0)
    other = lifelines.KaplanMeierFitter().fit(lives.exit, lives.is_failed)
    curve = product_limit(lives)
    theirs = other.confidence_interval_.loc[curve.time].to_numpy()
    assert np.column_stack([curve.low, curve.high]) == pytest.approx(theirs, abs=1e-9)


def test_late_entries_agree_with_surpyval():
    lives = lives_of(np.random.default_rng(4), 300)
    other = surpyval.KaplanMeier.fit(lives.exit, c=1 - lives.is_failed, tl=lives.entry)
    curve = product_limit(lives)
    assert curve.survival == pytest.approx(other.sf(curve.time), abs=1e-9)


def test_an_office_of_each_life_gives_greenwoods_variance():
    """Over clusters of one life the variance is Greenwood's, ties or not, without late entry."""
    lives = lives_of(np.random.default_rng(5), 60, entry=0.0, rounding=100.0)
    each = Lives.observed(lives.exit, lives.is_failed, office=np.arange(lives.count))
    curve = product_limit(each)
    running = np.isfinite(curve.variance)
    assert curve.office_variance is not None
    over = curve.office_variance[running] * (lives.count - 1) / lives.count
    assert over == pytest.approx(curve.variance[running], rel=1e-10)


def test_the_variance_over_offices_is_the_sum_over_offices_by_hand():
    """Two offices; the influence of each life written out as in the definition."""
    office = np.array([0, 1, 0, 1, 1])
    lives = Lives.observed([4, 6, 7, 8, 9], [1, 1, 0, 1, 1], entry=[0, 0, 2, 3, 5], office=office)
    curve = product_limit(lives)
    moved = np.zeros(2)
    for place, age in enumerate(curve.time[:3]):
        share = curve.failures[place] / curve.at_risk[place]
        for life in range(5):
            if lives.entry[life] < age <= lives.exit[life]:
                failed = float(lives.exit[life] == age and lives.is_failed[life])
                left = curve.at_risk[place] - curve.failures[place]
                moved[office[life]] += (failed - share) / left
        assert curve.office_variance is not None
        expected = 2.0 * float(moved @ moved)
        assert curve.office_variance[place] == pytest.approx(expected, rel=1e-12)


def test_offices_that_differ_widen_the_interval():
    lives = lives_of(np.random.default_rng(6), 600, offices=12, likeness=0.5)
    alone = Lives.observed(lives.exit, lives.is_failed, entry=lives.entry)
    wide, narrow = product_limit(lives).at(700), product_limit(alone).at(700)
    assert wide.value == narrow.value
    assert wide.high - wide.low > 1.5 * (narrow.high - narrow.low)


def test_a_curve_that_empties_early_says_so():
    lives = Lives.observed([2, 8, 9, 10], [1, 1, 1, 0], entry=[0, 4, 4, 5])
    curve = product_limit(lives)
    assert curve.emptied_at == 2
    assert curve.is_cut_short
    assert curve.at(9).value == 0.0
    later = product_limit(lives, start=5)
    assert later.start == 5
    assert not later.is_cut_short
    assert later.survival == pytest.approx([2 / 3, 1 / 3])


def test_the_last_failure_of_all_is_no_early_end():
    curve = product_limit(LATE)
    assert curve.emptied_at == 9
    assert not curve.is_cut_short


def test_at_share_nought_the_upper_limit_of_before_holds():
    curve = product_limit(LATE)
    assert curve.low[-1] == 0.0
    assert curve.high[-1] == curve.high[-2] > 0.28125


def test_all_failed_at_one_age_leaves_both_ends_open():
    lives = product_limit(Lives.observed([5, 5, 5], [1, 1, 1]))
    assert lives.at(5).low == 0.0
    assert lives.at(5).high == 1.0


def test_before_the_first_failure_the_bound_is_that_of_none_in_twenty():
    """[CLOPPER1934]: none of 20, 97.5 % one-sided, 16.84 % at most."""
    before = product_limit(TWENTY).at(50)
    assert before.value == 1.0
    assert before.low == pytest.approx(1.0 - 0.1684, abs=5e-5)


def test_lives_that_all_run_give_a_bound_and_no_median():
    curve = product_limit(Lives.observed([10, 20, 30], [0, 0, 0]))
    assert curve.at(15).low == pytest.approx(0.025 ** (1 / 2))
    # One that was last seen running at 10 was watched up to and with 10.
    assert curve.at(10).low == pytest.approx(0.025 ** (1 / 3))
    assert curve.median.value == np.inf
    # Three lives without a failure do not deny that half failed at once.
    assert curve.median.low == 0.0
    assert product_limit(Lives.observed([30.0] * 6, [0] * 6)).median.low == 30.0


@given(
    st.lists(
        st.tuples(st.integers(0, 20), st.integers(1, 20), st.booleans(), st.integers(0, 3)),
        min_size=1,
        max_size=40,
    )
)
def test_it_falls_within_its_limits_whatever_the_lives(rows: list[tuple[int, int, bool, int]]):
    entry, length, failed, office = (np.array(each) for each in zip(*rows, strict=True))
    curve = product_limit(Lives.observed(entry + length, failed, entry=entry, office=office))
    assert np.all(np.diff(curve.survival, prepend=1.0) <= 0.0)
    assert np.all(curve.low <= curve.survival)
    assert np.all(curve.survival <= curve.high)
    for p in (0.1, 0.5, 0.9):
        assert curve.quantile(p).low <= curve.quantile(p).high
    assert curve.at(curve.start).value == 1.0 or curve.start == curve.time[0]


@given(st.floats(0.1, 40.0), st.integers(0, 2**32 - 1))
def test_another_unit_of_age_moves_no_share(factor: float, seed: int):
    lives = lives_of(np.random.default_rng(seed), 30)
    other = Lives.observed(lives.exit * factor, lives.is_failed, entry=lives.entry * factor)
    assert product_limit(other).survival == pytest.approx(product_limit(lives).survival, abs=1e-12)


def test_the_restricted_mean_is_the_area_of_lifelines():
    lives = lives_of(np.random.default_rng(8), 300, entry=0.0)
    other = lifelines.KaplanMeierFitter().fit(lives.exit, lives.is_failed)
    area = lifelines.utils.restricted_mean_survival_time(other, t=900.0)
    assert restricted_mean(lives, 900.0).value == pytest.approx(area, rel=1e-9)


def test_where_all_failed_the_restricted_mean_is_the_plain_one():
    mean = restricted_mean(Lives.observed([1, 2, 3, 4, 5, 6], [1] * 6), 6)
    assert mean.value == 3.5
    share, spread = 3.5 / 6, np.std([1, 2, 3, 4, 5, 6]) / np.sqrt(6) / 6
    factor = np.exp(1.959964 * spread / (share * -np.log(share)))
    assert (mean.low, mean.high) == pytest.approx((6 * share**factor, 6 * share ** (1 / factor)))


def test_where_nothing_failed_the_restricted_mean_is_the_whole_stretch():
    """None of two seen to fail, and a third that left early: 0.025^(1/2) pass at least."""
    mean = restricted_mean(Lives.observed([9, 9, 3], [0, 0, 0]), 8)
    assert mean.value == mean.high == 8.0
    assert mean.low == pytest.approx(8.0 * 0.025**0.5, rel=1e-12)


@pytest.mark.parametrize("age", np.arange(1, 60) / 10)
def test_where_all_failed_at_one_age_the_restricted_mean_is_that_age(age: float):
    """Whatever rounding does to it as a share of the stretch."""
    lives = Lives.observed([age, age, age + 0.4], [1, 1, 0], entry=[0, 0, age + 0.1])
    mean = restricted_mean(lives, age + 0.4)
    assert mean.value == mean.low == mean.high == pytest.approx(age)


def test_the_restricted_mean_is_wider_over_offices_that_differ():
    lives = lives_of(np.random.default_rng(6), 600, offices=12, likeness=0.5)
    alone = Lives.observed(lives.exit, lives.is_failed, entry=lives.entry)
    wide, narrow = restricted_mean(lives, 900.0), restricted_mean(alone, 900.0)
    assert wide.high - wide.low > 1.5 * (narrow.high - narrow.low)


def test_it_refuses_what_it_cannot_say():
    with pytest.raises(InputError, match="between two looks"):
        product_limit(Lives.between([1.0], [2.0]))
    with pytest.raises(InputError, match="beyond start 9"):
        product_limit(LATE, start=9)
    with pytest.raises(InputError, match="from 0 to 9"):
        product_limit(LATE).at(9.5)
    with pytest.raises(InputError, match="between 0 and 1"):
        product_limit(LATE).quantile(1.0)
    with pytest.raises(InputError, match="choose an age between"):
        restricted_mean(LATE, 9.5)


@pytest.mark.parametrize("count", [20, 100])
def test_its_interval_covers_the_truth(count: int):
    """A cheap part of ``python -m benchmarks life_curves``; 70 % censored."""
    rng = np.random.default_rng(11)
    truth = np.exp(-((400.0 / 1_000.0) ** 1.5))
    held = 0
    for _ in range(400):
        lives = lives_of(rng, count, censoring=1_000.0, entry=0.0)
        curve = product_limit(lives)
        if curve.end < 400.0:
            continue
        held += curve.at(400.0).low <= truth <= curve.at(400.0).high
    assert 0.92 <= held / 400 <= 0.99


@pytest.mark.parametrize("count", range(2, 80, 2))
def test_the_median_of_an_even_number_is_the_middle_age_whatever_rounding_says(count: int):
    """At 24 the curve multiplies up to a hair above one half."""
    curve = product_limit(Lives.observed(np.arange(1, count + 1), np.ones(count)))
    assert curve.median.value == count / 2
