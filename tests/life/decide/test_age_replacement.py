"""Replacing before failure, from a fit: carried through, or refused where it cannot be shown."""

import re

import numpy as np
import pytest

from tests.life.weibull.published import ten_of_twenty
from turnwell.errors import CannotTellError, InputError
from turnwell.life import Clock, Lives, age_replacement, renewal_age, weibull_fit


def lives(count: int, shape: float, *, offices: int = 1, seed: int = 1) -> Lives:
    rng = np.random.default_rng(seed)
    life, end = 1000.0 * rng.weibull(shape, count), rng.uniform(300.0, 2000.0, count)
    return Lives.observed(
        np.minimum(life, end),
        life <= end,
        office=rng.integers(0, offices, count),
        clock=Clock.CYCLES,
    )


def test_with_many_lives_it_is_the_answer_of_the_known_life():
    best = age_replacement(weibull_fit(lives(20_000, 2.5)), 1.0, 5.0)
    known = renewal_age(2.5, 1000.0, planned_cost=1.0, failure_cost=5.0)
    assert best.age.low < known.age < best.age.high
    assert best.age.value == pytest.approx(known.age, rel=0.02)
    assert best.cost_rate.value == pytest.approx(known.cost_rate, rel=0.02)
    assert best.run_to_failure.value == pytest.approx(known.cost_rate_unrenewed, rel=0.02)
    saving = 1.0 - known.cost_rate / known.cost_rate_unrenewed
    assert best.saving.low < saving < best.saving.high
    assert best.clock is Clock.CYCLES


def test_fewer_lives_leave_more_open():
    wide = age_replacement(weibull_fit(lives(100, 2.5)), 1.0, 5.0).age
    narrow = age_replacement(weibull_fit(lives(2000, 2.5)), 1.0, 5.0).age
    assert wide.high - wide.low > 2.0 * (narrow.high - narrow.low)


def test_it_is_refused_where_the_shape_may_be_one():
    with pytest.raises(CannotTellError, match=r"may be as low as .* more failures"):
        age_replacement(weibull_fit(lives(25, 1.3, seed=2)), 1.0, 5.0)


def test_it_is_refused_where_nothing_wears_out():
    with pytest.raises(CannotTellError, match="nothing says that they wear out"):
        age_replacement(weibull_fit(lives(200, 0.7)), 1.0, 5.0)


def test_it_is_refused_where_offices_alone_make_the_shape_sure():
    # Half of six offices see wear and half none: taken together the shape lies above 1, over
    # offices it does not.
    rng = np.random.default_rng(3)
    ages = np.concatenate([900.0 * rng.weibull(5.0, 60), 900.0 * rng.weibull(0.9, 60)])
    office = np.repeat(np.arange(6), 20)
    pooled = weibull_fit(Lives.observed(ages, np.ones(120)))
    assert pooled.shape.low > 1.0
    assert age_replacement(pooled, 1.0, 5.0).age.value > 0.0
    with pytest.raises(CannotTellError, match="may be as low as"):
        age_replacement(weibull_fit(Lives.observed(ages, np.ones(120), office=office)), 1.0, 5.0)


@pytest.mark.parametrize("failure", [0.5, 1.0])
def test_it_is_refused_where_a_failure_costs_no_more(failure: float):
    with pytest.raises(InputError, match="no more to lose"):
        age_replacement(weibull_fit(lives(200, 2.5)), 1.0, failure)


def test_it_refuses_a_cost_that_is_none():
    with pytest.raises(InputError, match="planned_cost is 0"):
        age_replacement(weibull_fit(lives(200, 2.5)), 0.0, 5.0)


def test_it_says_how_many_failures_would_tell():
    """The way down to the lower end, in ln shape, shrinks with the root of the failures."""
    fit = weibull_fit(ten_of_twenty())
    with pytest.raises(CannotTellError, match="more failures like these") as refused:
        age_replacement(fit, 1.0, 5.0)
    more = int(re.search(r"about (\d+) more failures", str(refused.value))[1])
    way, room = np.log(fit.shape.value / fit.shape.low), np.log(fit.shape.value)
    assert way * np.sqrt(10 / (10 + more)) <= room < way * np.sqrt(10 / (10 + more - 1))
