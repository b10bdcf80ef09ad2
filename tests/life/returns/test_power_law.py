"""The power law against handbooks, its exact limits, and its own laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.stats import chi2

from tests.life.returns.sets import GROWTH, HANDBOOK, ROCOF, TEN, one_unit
from tests.life.returns.shop import histories_of
from turnwell.errors import CannotTellError, InputError
from turnwell.life import Histories, power_law, power_law_of_counts
from turnwell.life.returns.power_spread import reach_of


def test_it_matches_the_handbook_example():
    """[MILHDBK189], appendix C: .7163, .4538, .0645, 15.51, .091."""
    law = power_law(HANDBOOK)
    assert law.shape.value == pytest.approx(0.71633926, abs=5e-9)
    assert law.factor == pytest.approx(0.45384186, abs=5e-9)
    assert law.intensity(300.0).value == pytest.approx(0.06447053, abs=5e-9)
    assert law.gap(300.0).value == pytest.approx(15.510962, abs=5e-7)
    assert law.unbiased_shape == pytest.approx(0.68980818, abs=5e-9)
    assert law.misfit == pytest.approx(0.09106112, abs=5e-9)
    assert law.fits


def test_grouped_counts_match_the_handbook_example():
    """[MILHDBK189], appendix C: .7529, 1.5293, 2.71."""
    law = power_law_of_counts([20, 40, 60, 80, 100], [13, 16, 5, 8, 7])
    assert law.shape.value == pytest.approx(0.75285089, abs=5e-9)
    assert law.factor == pytest.approx(1.5293057, abs=5e-8)
    assert law.gap(100.0).value == pytest.approx(2.7107843, abs=5e-8)
    assert law.misfit is None


def test_the_nist_example_is_met_with_its_limits():
    """[NISTHANDBOOK], 8.4.5.1: shape .483506, gap 310.234, 80 % limits 157.71, 548.56."""
    law = power_law(TEN, level=0.8)
    assert law.shape.value == pytest.approx(0.53722887, abs=5e-9)
    assert law.gap(1500.0).value == pytest.approx(279.21061, abs=5e-6)
    assert law.unbiased_shape == pytest.approx(0.48350598, abs=5e-9)
    assert 10.0 / 1500.0**law.unbiased_shape == pytest.approx(0.29130027, abs=5e-9)
    gap = law.gap_at_end()
    assert (gap.value, gap.low, gap.high) == pytest.approx(
        (310.23401, 157.71383, 548.55660), abs=5e-6
    )


def test_a_watch_ended_by_a_failure_matches_a_package():
    """The documentation prints .61421, .42394, 45.883."""
    law = power_law(GROWTH, failure_terminated=True)
    assert law.shape.value == pytest.approx(0.61421040, abs=5e-9)
    assert law.factor == pytest.approx(0.42394221, abs=5e-9)
    assert law.gap(620.0).value == pytest.approx(45.883004, abs=5e-7)
    assert law.unbiased_shape == pytest.approx(0.6142104 * 20 / 22, abs=5e-8)


def test_thirty_gaps_match_a_package():
    """The documentation prints 1.588, 3.703e-5."""
    law = power_law(ROCOF, failure_terminated=True)
    assert law.shape.value == pytest.approx(1.588053, abs=5e-7)
    assert law.factor == pytest.approx(3.702729e-5, abs=5e-12)


@pytest.mark.parametrize(("failure_terminated", "degrees"), [(False, 44), (True, 42)])
def test_the_exact_interval_is_that_of_chi_square(failure_terminated: bool, degrees: int):
    law = power_law(GROWTH, failure_terminated=failure_terminated)
    ends = law.shape.value * chi2.ppf([0.025, 0.975], degrees) / 44
    assert (law.shape.low, law.shape.high) == pytest.approx(tuple(ends), rel=1e-9)


def test_late_starts_meet_the_greatest_likelihood_found_by_a_general_search():
    histories = histories_of(np.random.default_rng(1), 80, shape=1.6)

    def loss(x: np.ndarray) -> float:
        shape, factor = np.exp(x)
        expected = factor * np.sum(histories.stop**shape - histories.start**shape)
        rates = np.log(factor * shape) + (shape - 1.0) * np.log(histories.at)
        return float(expected - rates.sum())

    found = minimize(
        loss, np.log([1.0, 0.003]), method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-9}
    )
    law = power_law(histories)
    assert (law.shape.value, law.factor) == pytest.approx(tuple(np.exp(found.x)), rel=1e-6)

    def profile(shape: float) -> float:
        watched = np.sum(histories.stop**shape - histories.start**shape)
        return -loss(np.log([shape, histories.returns / watched]))

    for end in (law.shape.low, law.shape.high):
        assert 2.0 * (-found.fun - profile(end)) == pytest.approx(3.841459, abs=1e-4)


def test_an_interval_of_what_is_expected_ends_where_the_likelihood_says():
    """At the end of the profile interval the best law with that expectation lies 1.92 below."""
    law = power_law(TEN)
    for end in (law.expected(1500, 2000).low, law.expected(1500, 2000).high):

        def loss(logarithm: float, end: float = end) -> float:
            shape = np.exp(logarithm)
            factor = end / (2000.0**shape - 1500.0**shape)
            rates = np.log(factor * shape) + (shape - 1.0) * np.log(TEN.at)
            return float(factor * 1500.0**shape - rates.sum())

        least = min(loss(one) for one in np.linspace(np.log(0.1), np.log(2.0), 4001))
        best = law.factor * 1500.0**law.shape.value - np.sum(
            np.log(law.factor * law.shape.value) + (law.shape.value - 1) * np.log(TEN.at)
        )
        assert 2.0 * (least - best) == pytest.approx(3.841459, abs=2e-3)


def test_many_units_give_the_same_shape_over_units_and_by_likelihood():
    law = power_law(histories_of(np.random.default_rng(2), 3_000, shape=1.3))
    assert law.robust_shape is not None
    assert law.shape.low < 1.3 < law.shape.high
    assert law.robust_shape.low == pytest.approx(law.shape.low, rel=0.01)
    assert law.robust_shape.high == pytest.approx(law.shape.high, rel=0.01)


def test_spread_between_units_widens_what_is_expected():
    rng = np.random.default_rng(3)
    steady, spread = (
        power_law(histories_of(rng, 300, mean=5.0, spread=one)).expected(0, 700)
        for one in (0.0, 2.0)
    )
    assert spread.high / spread.low > 1.1 * steady.high / steady.low


def test_offices_are_the_clusters_where_there_are_several():
    law = power_law(histories_of(np.random.default_rng(4), 300, offices=12, likeness=1.0))
    assert law.spread.shape == (12, 2)
    # What the clusters move an estimate by adds up to nothing at the estimate.
    assert law.spread.sum(axis=0) == pytest.approx([0.0, 0.0], abs=1e-8)


def test_a_law_that_is_none_is_denied():
    """Returns crowd in the middle of the watch."""
    law = power_law(one_unit(np.linspace(45.0, 55.0, 40).tolist(), 100.0))
    assert law.fits is False


def test_whether_late_starts_follow_the_law_is_left_open():
    assert power_law(histories_of(np.random.default_rng(7), 30)).fits is None


def test_units_watched_from_new_seldom_deny_a_law_they_follow():
    """Whatever the ends of their watch: 5 % of the sets, here at most 20 of 200."""
    rng = np.random.default_rng(8)
    denied = 0
    for _ in range(200):
        stop = rng.uniform(100.0, 1_000.0, 20)
        unit = np.repeat(np.arange(20), rng.poisson((stop / 300.0) ** 1.5))
        at = stop[unit] * rng.uniform(size=unit.size) ** (1.0 / 1.5)
        denied += power_law(Histories.of(stop, unit, at)).fits is False
    assert denied <= 20


def test_the_scale_is_the_age_of_one_expected_return():
    law = power_law(HANDBOOK)
    assert law.expected(0.0, law.scale.value).value == pytest.approx(1.0)


@given(st.floats(0.05, 50.0), st.integers(0, 2**32 - 1))
def test_another_unit_of_age_moves_no_shape(factor: float, seed: int):
    rng = np.random.default_rng(seed)
    histories = histories_of(rng, 20, shape=1.2)
    other = Histories.of(
        histories.stop * factor,
        histories.unit,
        histories.at * factor,
        start=histories.start * factor,
    )
    one, same = power_law(histories), power_law(other)
    assert same.shape.value == pytest.approx(one.shape.value, rel=1e-8)
    assert same.shape.low == pytest.approx(one.shape.low, rel=1e-7)
    assert same.scale.value == pytest.approx(one.scale.value * factor, rel=1e-7)
    assert same.expected(100 * factor, 900 * factor).high == pytest.approx(
        one.expected(100, 900).high, rel=1e-6
    )


def test_its_intervals_cover_the_truth():
    """A cheap part of ``python -m benchmarks life_curves``."""
    rng = np.random.default_rng(6)
    held = {"shape": 0, "expected": 0}
    for _ in range(200):
        law = power_law(histories_of(rng, 20, shape=1.5))
        held["shape"] += law.shape.low <= 1.5 <= law.shape.high
        expected = law.expected(300, 600)
        truth = 2.0 * ((600 / 700) ** 1.5 - (300 / 700) ** 1.5)
        held["expected"] += expected.low <= truth <= expected.high
    assert held["shape"] >= 183
    assert held["expected"] >= 183


def test_it_refuses_what_gives_no_law():
    with pytest.raises(CannotTellError, match="takes 2 at least"):
        power_law(one_unit([4.0], 10.0))
    with pytest.raises(CannotTellError, match="at the latest ages"):
        power_law(one_unit([10.0, 10.0], 10.0))
    late = Histories.of([1000.0], [0] * 3, [500.1, 500.2, 500.3], start=[500.0])
    with pytest.raises(CannotTellError, match="at the earliest ages"):
        power_law(late)
    with pytest.raises(InputError, match="does not end by a return"):
        power_law(TEN, failure_terminated=True)
    with pytest.raises(InputError, match="start < stop"):
        power_law(TEN).expected(5, 5)
    with pytest.raises(InputError, match="must be > 0"):
        power_law(TEN).intensity(0.0)
    with pytest.raises(InputError, match="use gap for others"):
        power_law(GROWTH, failure_terminated=True).gap_at_end()


@pytest.mark.parametrize(
    ("ends", "counts", "match"),
    [
        ([5, 4], [1, 1], "put them in order"),
        ([4, 5], [1], "one whole number"),
        ([4, 5], [1, 0.5], "one whole number"),
    ],
)
def test_spans_that_are_none_are_refused(ends: list[float], counts: list[float], match: str):
    with pytest.raises(InputError, match=match):
        power_law_of_counts(ends, counts)


@pytest.mark.parametrize(
    ("counts", "match"),
    [
        ([1, 0], "takes 2 at least"),
        ([0, 6], "at the latest ages"),
        ([6, 0], "at the earliest ages"),
    ],
)
def test_counts_that_leave_the_shape_open_cannot_tell(counts: list[int], match: str):
    with pytest.raises(CannotTellError, match=match):
        power_law_of_counts([4, 5], counts)


def test_five_clusters_reach_as_far_as_students_t_says():
    """Each moves the estimate by 1: (5 x 5 / 4)^(1/2) = 2.5 standard errors, t is 2.776."""
    moved = np.array([1.0, -1.0, 1.0, -1.0, 1.0])
    assert reach_of(moved, 0.95) == pytest.approx(2.776 * 2.5, abs=0.002)
