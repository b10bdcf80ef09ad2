"""Cumulative incidence against published figures, another package, and its own laws."""

import lifelines
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.life.curves.sets import LATE, three_causes
from tests.life.curves.shop import lives_of
from turnwell.errors import InputError
from turnwell.life import NO_CAUSE, Lives, cumulative_incidence, product_limit


def test_shares_and_errors_match_the_tests_of_statsmodels():
    curves = cumulative_incidence(three_causes()).curves
    shares = [float(curve.share[-1]) for curve in curves]
    assert shares == pytest.approx([0.17037037, 0.20740741, 0.26666667], abs=5e-9)
    errors = [float(np.sqrt(curve.variance[-1])) for curve in curves]
    assert errors == pytest.approx([0.08976251, 0.10610391, 0.12787781], abs=5e-9)


def test_shares_and_survival_add_up_to_one():
    incidence = cumulative_incidence(three_causes())
    total = sum(curve.share for curve in incidence.curves) + incidence.survival
    assert total == pytest.approx(np.ones(total.size), abs=1e-12)
    assert incidence.survival[-1] == pytest.approx(0.35555556, abs=5e-9)


def test_it_agrees_with_lifelines():
    lives = lives_of(np.random.default_rng(1), 300, entry=0.0)
    kinds = np.where(lives.is_failed, lives.cause + 2, 0)
    other = lifelines.AalenJohansenFitter(calculate_variance=False)
    theirs = other.fit(lives.exit, kinds, event_of_interest=2).cumulative_density_
    incidence = cumulative_incidence(lives)
    assert incidence.at(500.0, 0).value == pytest.approx(
        float(theirs[theirs.index <= 500.0].iloc[-1, 0]), abs=1e-12
    )


def test_one_cause_alone_is_the_product_limit_turned_over():
    lives = Lives.observed(
        LATE.exit, LATE.is_failed, entry=LATE.entry, cause=[0, 0, -1, 0, 0], cause_names=["wear"]
    )
    (curve,) = cumulative_incidence(lives).curves
    plain = product_limit(LATE)
    assert curve.share == pytest.approx(1.0 - plain.survival)
    error = plain.survival[:-1] * np.sqrt(plain.variance[:-1])
    assert np.sqrt(curve.variance[:-1]) == pytest.approx(error)
    assert curve.low[:-1] == pytest.approx(1.0 - plain.high[:-1])
    assert curve.high[:-1] == pytest.approx(1.0 - plain.low[:-1])


def test_an_office_of_each_life_gives_the_variance_of_the_delta_method():
    lives = lives_of(np.random.default_rng(2), 50, entry=0.0, rounding=100.0)
    each = Lives.observed(
        lives.exit,
        lives.is_failed,
        cause=lives.cause,
        cause_names=lives.cause_names,
        office=np.arange(50),
    )
    for curve in cumulative_incidence(each).curves:
        assert curve.office_variance is not None
        assert curve.office_variance * 49 / 50 == pytest.approx(curve.variance, abs=1e-12)


def test_offices_that_differ_widen_the_interval():
    lives = lives_of(np.random.default_rng(3), 900, offices=12, likeness=0.5)
    alone = Lives.observed(
        lives.exit, lives.is_failed, entry=lives.entry, cause=lives.cause, cause_names=["a", "b"]
    )
    wide = cumulative_incidence(lives).at(700, 0)
    narrow = cumulative_incidence(alone).at(700, 0)
    assert wide.value == narrow.value
    assert wide.high - wide.low > 1.3 * (narrow.high - narrow.low)


def test_failures_nobody_settled_are_a_kind_of_their_own():
    lives = Lives.observed(
        [1, 2, 3, 4], [1, 1, 1, 0], cause=[0, -1, 0, -1], cause_names=["bearing", "chuck"]
    )
    incidence = cumulative_incidence(lives)
    assert [curve.cause for curve in incidence.curves] == [0, NO_CAUSE]
    assert incidence.failures_not_settled == 1
    assert incidence.at(3, 0).value == 0.5
    assert incidence.at(3, NO_CAUSE).value == 0.25


def test_a_cause_nothing_failed_of_has_an_upper_limit():
    """None of four up to age 1: 60.24 % at most [CLOPPER1934]."""
    lives = Lives.observed(
        [1, 2, 3, 4], [1, 1, 1, 0], cause=[0, 0, 0, -1], cause_names=["bearing", "chuck"]
    )
    never = cumulative_incidence(lives).at(1, 1)
    assert never.value == never.low == 0.0
    assert never.high == pytest.approx(0.6024, abs=5e-5)


@given(
    st.lists(
        st.tuples(st.integers(0, 20), st.integers(1, 20), st.integers(-2, 2), st.integers(0, 3)),
        min_size=1,
        max_size=40,
    )
)
def test_shares_add_up_and_lie_within_their_limits(rows: list[tuple[int, int, int, int]]):
    """Code -2 runs on, -1 failed of nobody knows what."""
    entry, length, kind, office = (np.array(each) for each in zip(*rows, strict=True))
    lives = Lives.observed(
        entry + length,
        kind > -2,
        entry=entry,
        cause=np.maximum(kind, -1),
        cause_names=["a", "b", "c"],
        office=office,
    )
    incidence = cumulative_incidence(lives)
    total = incidence.survival + sum(curve.share for curve in incidence.curves)
    assert total == pytest.approx(np.ones(incidence.time.size), abs=1e-12)
    for curve in incidence.curves:
        assert np.all(curve.low <= curve.share + 1e-12)
        assert np.all(curve.share <= curve.high + 1e-12)
    assert sum(curve.failures for curve in incidence.curves) == lives.failures


def test_it_refuses_what_it_cannot_say():
    incidence = cumulative_incidence(three_causes())
    with pytest.raises(InputError, match="ask for an age between"):
        incidence.at(10, 0)
    with pytest.raises(InputError, match="3 causes are named"):
        incidence.at(5, 3)
    with pytest.raises(InputError, match="between two looks"):
        cumulative_incidence(Lives.between([1.0], [2.0]))


def test_a_cause_not_seen_yet_is_bounded_by_those_that_were_watched_all_the_way():
    """None of two seen: 1 - 0.025^(1/2) at most [CLOPPER1934]; the one that left early is out."""
    names = ["bearing", "chuck"]
    lives = Lives.observed([2, 8, 9], [0, 1, 1], cause=[-1, 1, 0], cause_names=names)
    open_share = cumulative_incidence(lives).at(5, 0)
    assert open_share.value == open_share.low == 0.0
    assert open_share.high == pytest.approx(1.0 - 0.025**0.5, rel=1e-12)


@pytest.mark.parametrize("count", range(3, 60, 7))
def test_where_all_fail_of_one_cause_its_share_ends_at_the_whole(count: int):
    ages = np.arange(1.0, count + 1.0)
    lives = Lives.observed(ages, np.ones(count), cause=np.zeros(count, int), cause_names=("worn",))
    share = cumulative_incidence(lives).at(float(count), 0)
    assert share.value == pytest.approx(1.0)
    assert share.value <= share.high <= 1.0
