"""Rates and their ratio: published limits, agreement of interval and p-value, refusals."""

from math import inf

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import binomtest, poisson

from turnwell.errors import CannotTellError, InputError
from turnwell.life.rates import rate, rate_p, rate_ratio

counts = st.integers(min_value=0, max_value=400)
exposures = st.floats(min_value=1e-3, max_value=1e5)


@pytest.mark.parametrize(
    ("count", "low", "high"),
    # Limits of a Poisson count, 95 %: [GARWOOD1936], as tables of them print it.
    [(0, 0.0, 3.68887945), (10, 4.79538870, 18.39035604)],
)
def test_limits_of_one_count_match_the_table(count: int, low: float, high: float):
    found = rate(count, 1.0)
    assert found.low == pytest.approx(low, abs=5e-9)
    assert found.high == pytest.approx(high, abs=5e-9)


def test_observed_over_expected_matches_exact_limits():
    # 137 deaths for 24.19893 expected, a textbook's standardised ratio: 5.66 (4.75 to 6.69).
    found = rate(137, 24.19893)
    assert found.value == pytest.approx(5.66140734, rel=1e-7)
    assert found.low == pytest.approx(4.75312480, rel=1e-7)
    assert found.high == pytest.approx(6.69270933, rel=1e-7)


def test_one_rate_matches_the_tests_of_statsmodels():
    # 15 events in 400 against 0.05, statsmodels/stats/tests/test_rates_poisson.py (exact-c).
    found = rate(15, 400.0)
    assert rate_p(15, 400 * 0.05) == pytest.approx(0.313026269279486, abs=1e-14)
    assert found.low == pytest.approx(0.0209884653319583, abs=1e-15)
    assert found.high == pytest.approx(0.0618505471787146, abs=1e-15)


def test_a_ratio_matches_its_printed_limits():
    # 11 in 800 against 21 in 3011: limits printed by the exact comparison of two rates.
    found = rate_ratio(11, 800.0, 21, 3011.0)
    assert found.ratio.value == pytest.approx(1.9714881, abs=5e-8)
    assert found.ratio.low == pytest.approx(0.8584264, abs=5e-8)
    assert found.ratio.high == pytest.approx(4.2772659, abs=1e-7)
    # Twice the smaller tail, not the sum of less likely counts (0.0797).
    assert found.p == pytest.approx(0.11201732, abs=5e-9)


def test_a_ratio_of_person_years_matches():
    # 41 in 28,010 against 15 in 19,017 person-years, data of statsmodels' tests.
    found = rate_ratio(41, 28010.0, 15, 19017.0)
    assert found.ratio.value == pytest.approx(1.85575866, abs=5e-9)
    assert found.ratio.low == pytest.approx(1.0056841, abs=5e-8)
    assert found.ratio.high == pytest.approx(3.6093003, abs=5e-8)
    assert found.p == pytest.approx(0.04766025, abs=5e-9)


@given(counts, counts, exposures, exposures)
def test_the_ratio_is_that_of_the_binomial_share(first: int, second: int, over: float, base: float):
    assume(first + second > 0)
    share = over / (over + base)
    assume(1e-6 < share < 1 - 1e-6)
    found = rate_ratio(first, over, second, base)
    test = binomtest(first, first + second, share)
    ends = test.proportion_ci(0.95, method="exact")
    tails = [
        binomtest(first, first + second, share, alternative=side).pvalue
        for side in ("less", "greater")
    ]
    assert found.p == pytest.approx(min(1.0, 2.0 * min(tails)), rel=1e-9)
    assert found.ratio.low == pytest.approx(ends.low / (1 - ends.low) * base / over, rel=1e-6)
    if second:
        assert found.ratio.high == pytest.approx(
            ends.high / (1 - ends.high) * base / over, rel=1e-6
        )


@given(counts, counts, exposures, exposures, st.sampled_from([0.8, 0.95, 0.99]))
def test_interval_and_p_value_always_agree(
    first: int, second: int, over: float, base: float, level: float
):
    assume(first + second > 0)
    found = rate_ratio(first, over, second, base, level=level)
    assume(abs(found.p - (1 - level)) > 1e-9)
    is_left_out = not found.ratio.low <= 1.0 <= found.ratio.high
    assert (found.p < 1 - level) == is_left_out


@given(counts, exposures)
def test_the_rate_leaves_out_what_its_p_value_rejects(count: int, over: float):
    found = rate(count, over)
    for factor in (0.5, 0.9, 1.1, 2.0):
        asked = max(found.value, 0.1 / over) * factor
        p = rate_p(count, asked * over)
        assume(abs(p - 0.05) > 1e-9)
        assert (p < 0.05) == (not found.low <= asked <= found.high)


@given(counts, counts, exposures, exposures)
def test_exchanging_the_sides_inverts_the_ratio(first: int, second: int, over: float, base: float):
    assume(first > 0 and second > 0)
    one, other = rate_ratio(first, over, second, base), rate_ratio(second, base, first, over)
    assert one.p == pytest.approx(other.p, rel=1e-9)
    assert one.ratio.low == pytest.approx(1.0 / other.ratio.high, rel=1e-9)
    assert one.ratio.high == pytest.approx(1.0 / other.ratio.low, rel=1e-9)


def test_no_event_on_one_side_leaves_one_end_open():
    none_above = rate_ratio(0, 1.0, 5, 1.0).ratio
    none_below = rate_ratio(5, 1.0, 0, 1.0).ratio
    assert (none_above.value, none_above.low) == (0.0, 0.0)
    assert none_above.high == pytest.approx(1.0 / none_below.low)
    assert (none_below.value, none_below.high) == (inf, inf)


@pytest.mark.parametrize("mean", [0.3, 4.0, 55.0])
def test_the_exact_interval_covers_at_least_what_it_claims(mean: float):
    inside = sum(
        poisson.pmf(count, mean)
        for count in range(int(mean + 12 * mean**0.5 + 20))
        if rate(count, 1.0).low <= mean <= rate(count, 1.0).high
    )
    assert 0.95 <= inside <= 0.997


def test_nothing_on_both_sides_cannot_tell():
    with pytest.raises(CannotTellError, match="neither side had a return"):
        rate_ratio(0, 1.0, 0, 2.0)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: rate(-1, 1.0), "count is -1"),
        (lambda: rate(1.5, 1.0), "count is 1.5"),  # type: ignore[arg-type]
        (lambda: rate(1, 0.0), "exposure is 0"),
        (lambda: rate(1, inf), "exposure is inf"),
        (lambda: rate(1, 1.0, level=1.0), "level is 1"),
        (lambda: rate_p(1, 0.0), "expected is 0"),
        (lambda: rate_ratio(1, 1.0, -2, 1.0), "base_count is -2"),
        (lambda: rate_ratio(1, 1.0, 2, 1.0, null=0.0), "null is 0"),
    ],
)
def test_it_refuses_what_is_no_rate(call, says: str):
    with pytest.raises(InputError, match=says):
        call()
