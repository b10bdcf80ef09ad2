"""Before and after a visit: size under selection, power, laws, sentences, refusals."""

from math import inf

import numpy as np
import pytest
from benchmarks.life_rates import Visit, visited
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import nbinom

from tests.life.rates.shop import draw
from tests.life.rates.test_outlook import known
from turnwell.errors import InputError
from turnwell.life.rates import change, shrink, spell
from turnwell.words import text_of


def test_a_bad_spell_alone_is_seldom_called_a_change():
    """Nothing changes, and the office with the worst quarter is visited; see the campaign."""
    case = Visit(offices=40, between_offices=0.4, between_handpieces=1.0)
    found = [visited(case, np.random.default_rng([1, run])) for run in range(300)]
    assert np.mean([one.p < 0.05 for one in found]) <= 0.06
    plain = np.mean([one.plain is not None and one.plain.p < 0.05 for one in found])
    assert plain >= 0.09
    # All those plain claims say that the visit helped.
    helped = [one.plain.ratio.value < 1.0 for one in found if one.plain and one.plain.p < 0.05]
    assert np.mean(helped) > 0.9


def test_the_interval_holds_the_true_change_and_sees_a_large_one():
    case = Visit(offices=40, handpieces=(30, 60), factor=0.3, window="history")
    found = [visited(case, np.random.default_rng([2, run])) for run in range(100)]
    assert np.mean([one.factor.low <= 0.3 <= one.factor.high for one in found]) >= 0.91
    assert np.mean([one.p < 0.05 for one in found]) >= 0.7


def test_with_much_known_before_it_agrees_with_the_plain_ratio():
    found = change([400], [400.0], [250], [400.0], shop=known(2.0, 0.0))
    assert found.plain is not None
    assert found.factor.value == pytest.approx(found.plain.ratio.value, rel=0.01)
    assert found.factor.low == pytest.approx(found.plain.ratio.low, rel=0.01)
    assert found.factor.high == pytest.approx(found.plain.ratio.high, rel=0.01)


def test_an_office_like_all_others_is_held_against_the_shop():
    """Without a spread, a bad spell is luck: the later count is compared with the shop's rate."""
    found = change([20], [10.0], [11], [10.0], shop=known(0.02, 0.0))
    assert found.without_change.expected == pytest.approx(10.0, rel=0.02)
    assert found.by_itself == pytest.approx(0.5, abs=0.02)
    assert not found.is_changed
    warned = found.warning()
    assert warned is not None
    assert "returns fall by 50 %" in text_of(warned)


def test_no_bad_spell_needs_no_warning():
    assert change([4], [10.0], [6], [10.0], shop=known(0.5, 0.0)).warning() is None
    assert change([0], [10.0], [6], [10.0], shop=known(0.5, 0.0)).by_itself == inf


windows = st.lists(
    st.tuples(st.integers(0, 5), st.floats(0.2, 4.0), st.integers(0, 5), st.floats(0.2, 4.0)),
    min_size=1,
    max_size=8,
)


@settings(deadline=None, max_examples=80)
@given(windows, st.floats(0.05, 1.0), st.floats(0.0, 1.0), st.sampled_from([0.8, 0.95]))
def test_the_interval_leaves_out_no_change_exactly_where_p_is_small(rows, office, handpiece, level):
    counts, risk, later, ahead = (np.array(column) for column in zip(*rows, strict=True))
    found = change(counts, risk, later, ahead, shop=known(office, handpiece), level=level)
    if abs(found.p - (1.0 - level)) > 1e-6:
        assert (found.p < 1.0 - level) == (not found.factor.low <= 1.0 <= found.factor.high)
    assert found.is_changed == (found.p < 1.0 - level)


@settings(deadline=None, max_examples=30)
@given(windows)
def test_more_returns_after_give_a_larger_factor(rows):
    counts, risk, later, ahead = (np.array(column) for column in zip(*rows, strict=True))
    shop = known(0.4, 0.5)
    one = change(counts, risk, later, ahead, shop=shop).factor
    more = change(counts, risk, later + 1, ahead, shop=shop).factor
    assert (more.low, more.value, more.high) > (one.low, one.value, one.high)


def test_no_return_after_leaves_nothing_as_the_lower_end():
    found = change([8], [4.0], [0], [4.0], shop=known(0.4, 0.3)).factor
    assert (found.value, found.low) == (0.0, 0.0)
    assert 0.3 < found.high < 1.0


@pytest.mark.parametrize(
    ("after", "says"), [(1, "Returns fell: 1 came"), (14, "Cannot tell"), (60, "Returns rose: 60")]
)
def test_the_sentence_says_what_the_interval_allows(after: int, says: str):
    found = change([15], [15.0], [after], [15.0], shop=known(0.4, 0.0))
    assert text_of(found.sentence()).startswith(says)


def test_a_longer_window_shows_what_a_short_one_cannot():
    found = change([15], [15.0], [2], [3.0], shop=known(0.3, 0.0))
    assert not found.is_changed
    times = found.longer_window(factor=0.5)
    assert 3.0 < times < 30.0
    count = round(0.5 * times * found.without_change.expected)
    assert change([15], [15.0], [count], [3.0 * times], shop=known(0.3, 0.0)).is_changed
    # One return before says so little of the office that no window would do.
    little = change([1], [1.0], [2], [3.0], shop=known(2.0, 0.0))
    assert little.longer_window(factor=0.9) == inf


def test_a_bad_spell_is_named_and_a_usual_one_is_not():
    rng = np.random.default_rng(9)
    simulated = draw(rng, offices=30, handpieces=(20, 20))
    history = shrink(simulated.returns(rng), simulated.expected, office=simulated.office)
    rest, risk = np.ones(20), np.full(20, 1.0)
    bad = spell([12] + [0] * 19, risk / 4, rest, risk, shop=history.spread)
    usual = spell([5] + [0] * 19, risk / 4, rest, risk, shop=history.spread)
    assert bad.is_bad
    assert not usual.is_bad
    assert text_of(bad.sentence()).startswith("A bad spell came first: 12 returns")
    assert text_of(usual.sentence()).startswith("No bad spell came first: 5 returns")
    # The worst of forty spells is often that bad.
    worst = spell([12] + [0] * 19, risk / 4, rest, risk, shop=history.spread, looked_at=40)
    assert worst.chance_of_any == pytest.approx(1.0 - (1.0 - bad.chance) ** 40)


def test_spells_are_called_unusual_as_often_as_they_are():
    rng = np.random.default_rng(10)
    named = []
    for _ in range(12):
        simulated = draw(rng, offices=25, handpieces=(5, 40), rate=1.0)
        rest, seen = simulated.returns(rng), simulated.returns(rng, share=0.25)
        history = shrink(rest + seen, 1.25 * simulated.expected, office=simulated.office)
        for office in range(25):
            own = simulated.office == office
            risk = simulated.expected[own]
            named.append(spell(seen[own], risk / 4, rest[own], risk, shop=history.spread).is_bad)
    # One in ten at most, and less for whole counts: 300 spells, standard error 1.7 points.
    assert 0.03 <= np.mean(named) <= 0.13


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda s: change([1], [1.0], [0], [0.0], shop=s), "nothing was at risk after"),
        (lambda s: change([1], [1.0], [1, 1], [1.0, 1.0], shop=s), "ahead has 2 handpieces"),
        (lambda s: change([1], [1.0], [1], [1.0], shop=s, level=1.0), "level is 1"),
        (
            lambda s: change([1], [1.0], [1], [1.0], shop=s).longer_window(factor=1.0),
            "factor is 1",
        ),
        (lambda s: spell([1], [1.0], [1], [1.0], shop=s, looked_at=0), "looked_at is 0"),
    ],
)
def test_it_refuses_what_is_no_comparison(call, says: str):
    with pytest.raises(InputError, match=says):
        call(known(0.5, 0.5))


@pytest.mark.parametrize("after", [3, 8, 15])
def test_the_change_has_as_much_chance_above_as_below(after: int):
    """By the negative binomial of scipy for each part, the later count shared out in halves."""
    found = change([10], [10.0], [after], [10.0], shop=known(0.3, 0.0))
    parts = found.without_change
    mean = found.factor.value * parts.mean
    law = nbinom(parts.shape, parts.shape / (parts.shape + mean))
    half = parts.weight @ (law.cdf(after - 1) + 0.5 * law.pmf(after))
    assert half == pytest.approx(0.5, abs=1e-6)
