"""The simulated shops hold to their own plan, so that what is judged by them is judged rightly."""

from dataclasses import replace
from math import gamma, sqrt

import numpy as np
import pytest

from tests.life.shops import DAYS_A_YEAR, Law, Plan, simulated_shop

PLAIN = Plan(offices=400, office_spread=0.0, handpiece_spread=0.0)


def shop_of(plan: Plan, seed: int = 7):
    return simulated_shop(plan, np.random.default_rng(seed))


def test_the_same_seed_gives_the_same_shop():
    first, second = shop_of(Plan(), 3), shop_of(Plan(), 3)
    assert np.array_equal(first.day, second.day)
    assert not np.array_equal(first.day[:9], shop_of(Plan(), 4).day[:9])


@pytest.mark.parametrize("known_by_failure", [0.0, 0.6])
def test_returns_come_at_the_plans_rate_however_the_handpiece_became_known(known_by_failure):
    # The stay by which one becomes known is no return: counted, it would raise the rate.
    shop = shop_of(replace(PLAIN, known_by_failure=known_by_failure))
    expected = np.sum(shop.stop - shop.start) * 0.6 / DAYS_A_YEAR
    assert abs(shop.unit.size - expected) < 4.0 * sqrt(expected)


def test_a_power_law_has_its_mean_returns_by_age():
    # Mean returns by age t are (t / scale) ** shape, whatever the age at which the watch began.
    shop = shop_of(replace(PLAIN, shape=1.6))
    histories = shop.histories_by_age()
    scale = shop.plan.scale_days
    expected = np.sum((histories.stop / scale) ** 1.6 - (histories.start / scale) ** 1.6)
    assert abs(histories.returns - expected) < 4.0 * sqrt(expected)
    assert scale ** (-1.6) * 1000.0**1.6 == pytest.approx(0.6 * 1000.0 / DAYS_A_YEAR)


def test_lives_from_repair_to_repair_are_weibull():
    # After u = (age / scale) ** shape they are exponential: as many failures as units of u.
    plan = replace(PLAIN, law=Law.RENEWAL, shape=2.2, known_by_failure=0.5)
    shop = shop_of(plan)
    assert plan.scale_days * gamma(1.0 + 1.0 / 2.2) == pytest.approx(DAYS_A_YEAR / 0.6)
    for lives in (shop.lives_after_repair(), shop.first_lives()):
        entry, end = ((age / plan.scale_days) ** 2.2 for age in (lives.entry, lives.exit))
        for low, high in ((0.0, 0.5), (0.5, np.inf)):
            hazard = np.sum(np.maximum(np.minimum(end, high) - np.maximum(entry, low), 0.0))
            failed = np.count_nonzero(lives.is_failed & (end > low) & (end <= high))
            assert abs(failed - hazard) < 4.0 * sqrt(hazard)


@pytest.mark.parametrize("law", list(Law))
def test_a_training_takes_away_its_share_of_the_first_cause_alone(law):
    plan = replace(PLAIN, law=law, trained=1.0, prevented=0.5)
    shop = shop_of(plan)
    trained = shop.trained_on[shop.office]
    before = np.sum(np.clip(trained - shop.start, 0.0, shop.stop - shop.start))
    after = np.sum(shop.stop - shop.start) - before
    is_after = shop.day > trained[shop.unit]
    for cause, share in enumerate(plan.causes):
        rate = share * 0.6 / DAYS_A_YEAR
        left = 0.5 if cause == 0 else 1.0
        for is_when, exposure, factor in ((~is_after, before, 1.0), (is_after, after, left)):
            count = np.count_nonzero(is_when & (shop.cause == cause))
            assert abs(count - rate * factor * exposure) < 4.0 * sqrt(rate * factor * exposure)


def test_factors_spread_as_planned_and_frailty_brings_handpieces_in():
    shop = shop_of(Plan(offices=3000, handpieces=3.0))
    assert np.var(shop.office_factor) == pytest.approx(0.15, rel=0.15)
    assert np.var(shop.frailty) == pytest.approx(0.3, rel=0.1)
    by_failure = shop_of(Plan(offices=3000, handpieces=3.0, known_by_failure=1.0, joining=0.0))
    assert np.mean(by_failure.frailty) > 1.05


def test_counts_add_up_and_the_worst_spell_stands_out():
    shop = shop_of(Plan(trained=0.5))
    whole = shop.counts(0.0, shop.plan.days)
    assert whole.count.sum() == shop.unit.size
    assert whole.exposure_days.sum() == pytest.approx(np.sum(shop.stop - shop.start))
    halves = [shop.counts(0.0, 400.0).by_office(), shop.counts(400.0, shop.plan.days).by_office()]
    together = sum(half.count for half in halves)
    assert np.array_equal(together, whole.by_office().count)
    worst = shop.worst_spell(700.0, 180.0)
    spell = shop.counts(520.0, 700.0).by_office()
    assert spell.count[worst] > 1.5 * spell.expected()[worst]


def test_histories_and_lives_hold_the_same_returns():
    shop = shop_of(Plan(known_by_failure=0.4))
    assert shop.histories_by_day().returns == shop.unit.size
    again = shop.lives_after_repair()
    assert again.count == shop.unit.size + np.count_nonzero(shop.from_repair)
    # Each return ends a life after repair, or the first life of a handpiece never repaired before,
    # or a life whose beginning nobody saw.
    unseen = shop.was_repaired & ~shop.from_repair
    firsts = np.unique(shop.unit[unseen[shop.unit]]).size
    assert again.failures + shop.first_lives().failures + firsts == shop.unit.size


def test_a_book_as_it_stood_on_a_day_holds_nothing_later():
    shop = shop_of(Plan(known_by_failure=0.4))
    then = shop.until(500.0)
    assert then.day.max() <= 500.0
    assert then.unit.size == np.count_nonzero(shop.day <= 500.0)
    assert then.counts(0.0, 500.0).count.sum() == shop.counts(0.0, 500.0).count.sum()
    assert then.stop.max() == 500.0
