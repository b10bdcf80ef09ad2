"""The log-rank test against published statistics, another package, and its own laws."""

import lifelines
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import ttest_1samp

from tests.life.curves.sets import bland, ovarian, remission, stomach
from tests.life.curves.shop import lives_of
from turnwell.errors import CannotTellError, InputError
from turnwell.life import Clock, Lives, log_rank


def test_it_matches_the_remission_trial():
    """Gehan's data: 16.79 (from memory, six digits recomputed)."""
    assert log_rank(remission()).chi2 == pytest.approx(16.792941, abs=5e-7)


@pytest.mark.parametrize(
    ("groups", "chi2", "p"),
    [
        (ovarian(), 6.91598157449, 0.008542873404),
        (stomach(), 0.835004855038, 0.3608293039),
        (bland(), 7.49659416854, 0.006181578637),
    ],
)
def test_it_matches_the_statistics_in_the_tests_of_scipy(
    groups: tuple[Lives, Lives], chi2: float, p: float
):
    found = log_rank(groups)
    assert found.chi2 == pytest.approx(chi2, abs=1e-10)
    assert found.p == pytest.approx(p, abs=1e-10)
    assert found.degrees == 1


def test_it_matches_the_lung_patients_by_sex():
    """The data set of lifelines; 10.326742, p .00131116."""
    table = lifelines.datasets.load_lung()
    groups = [
        Lives.observed(rows["time"].to_numpy(), rows["status"].to_numpy())
        for _, rows in table.groupby("sex")
    ]
    found = log_rank(groups)
    assert found.chi2 == pytest.approx(10.326742, abs=5e-7)
    assert found.p == pytest.approx(0.00131116, abs=5e-9)


@pytest.mark.parametrize("groups", [2, 4])
def test_it_agrees_with_lifelines_on_more_groups_and_ties(groups: int):
    lives = lives_of(np.random.default_rng(groups), 300, entry=0.0, rounding=50.0)
    group = np.arange(lives.count) % groups
    other = lifelines.statistics.multivariate_logrank_test(lives.exit, group, lives.is_failed)
    found = log_rank([lives.chosen(group == one) for one in range(groups)])
    assert found.chi2 == pytest.approx(other.test_statistic, rel=1e-9)
    assert found.p == pytest.approx(other.p_value, rel=1e-9)
    assert found.degrees == groups - 1


def test_late_entries_are_compared_by_hand():
    """At 5: one of two, both of the first. At 6: one of two, one each, the second fails."""
    first = Lives.observed([5, 7], [1, 0])
    second = Lives.observed([6], [1], entry=[5])
    found = log_rank([first, second])
    assert found.expected.tolist() == [1.5, 0.5]
    assert found.chi2 == pytest.approx(0.5**2 / 0.25)


def test_strata_add_up_within():
    lives = lives_of(np.random.default_rng(9), 200, offices=2)
    group = np.arange(200) % 2
    groups = [lives.chosen(group == one) for one in (0, 1)]
    found = log_rank(groups, strata=[each.office for each in groups])
    alone = [log_rank([each.chosen(each.office == office) for each in groups]) for office in (0, 1)]
    assert found.strata == 2
    assert found.expected == pytest.approx(alone[0].expected + alone[1].expected)
    told = sum(each.observed[0] - each.expected[0] for each in alone)
    variance = sum((each.observed[0] - each.expected[0]) ** 2 / each.chi2 for each in alone)
    assert found.chi2 == pytest.approx(told**2 / variance)


def test_what_groups_of_offices_differ_by_is_judged_over_offices():
    """Offices differ, groups of them do not: lives alone are far too sure."""
    rng = np.random.default_rng(10)
    sure = {"lives": 0, "offices": 0}
    for _ in range(200):
        lives = lives_of(rng, 300, offices=12, likeness=0.5)
        found = log_rank([lives.chosen(lives.office % 2 == one) for one in (0, 1)])
        assert found.over_offices_p is not None
        sure["lives"] += found.p < 0.05
        sure["offices"] += found.over_offices_p < 0.05
    assert sure["lives"] > 30
    assert sure["offices"] <= 22


def test_over_offices_it_is_the_t_test_of_their_sums():
    """Each life's score written out: failures less expected, weighed by who else is at risk."""
    lives = lives_of(np.random.default_rng(12), 80, offices=8, rounding=100.0)
    is_first = np.arange(80) % 2 == 0
    sums = np.zeros(8)
    for age in np.unique(lives.exit[lives.is_failed]):
        at_risk = (lives.entry < age) & (age <= lives.exit)
        failed = at_risk & lives.is_failed & (lives.exit == age)
        off = is_first[at_risk] - is_first[at_risk].mean()
        score = off * (failed[at_risk] - failed.sum() / at_risk.sum())
        np.add.at(sums, lives.office[at_risk], score)
    found = log_rank([lives.chosen(is_first), lives.chosen(~is_first)])
    assert sums.sum() == pytest.approx(found.observed[0] - found.expected[0])
    assert found.over_offices_p == pytest.approx(ttest_1samp(sums, 0.0).pvalue)


def test_the_safe_p_is_the_larger_one():
    found = log_rank(remission())
    assert found.over_offices_p is None
    assert found.safe_p == found.p


@given(st.integers(0, 2**32 - 1))
def test_the_order_of_the_groups_does_not_matter(seed: int):
    lives = lives_of(np.random.default_rng(seed), 60, offices=8, rounding=100.0)
    group = np.arange(60) % 3
    groups = [lives.chosen(group == one) for one in range(3)]
    forward, backward = log_rank(groups), log_rank(groups[::-1])
    assert forward.chi2 == pytest.approx(backward.chi2, rel=1e-8, abs=1e-10)
    assert forward.over_offices_p == pytest.approx(backward.over_offices_p, rel=1e-6)
    assert forward.observed.sum() == pytest.approx(forward.expected.sum())


def test_it_refuses_what_cannot_be_compared():
    lives = Lives.observed([4, 5], [1, 1])
    with pytest.raises(InputError, match="needs two"):
        log_rank([lives])
    with pytest.raises(InputError, match="different clocks"):
        log_rank([lives, Lives.observed([4], [1], clock=Clock.CYCLES)])
    with pytest.raises(InputError, match="one code for each life"):
        log_rank([lives, lives], strata=[[0, 0], [0]])
    with pytest.raises(CannotTellError, match="nothing to compare"):
        log_rank([lives, Lives.observed([20], [1], entry=[10])])
    with pytest.raises(CannotTellError, match="nothing to compare"):
        log_rank([lives, lives], strata=[[0, 0], [1, 1]])
