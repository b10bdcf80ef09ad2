"""The whole chain on simulated shops: a cheap part of ``python -m benchmarks life_shops``.

Bounds leave two standard errors of a share of so many trials; the campaign has more of them.
"""

from dataclasses import replace

import numpy as np
from benchmarks._shop_lives import cover_ahead
from benchmarks._shops import SHOPS, USUAL, WORN, expected_of, holds
from benchmarks.life_shops import (
    PRIOR,
    VISITED_ON,
    next_quarter,
    shop_quarter,
    trainings,
    true_ratios,
    visited,
)

from tests.life.shops import DAYS_A_YEAR, Shop, simulated_shop
from turnwell.life import effectiveness, mean_cumulative, shrink, weibull_fit


def shops(plan, number: int, runs: int) -> list[Shop]:
    return [simulated_shop(plan, np.random.default_rng([number, run])) for run in range(runs)]


def test_a_visit_for_a_bad_spell_seldom_passes_for_a_change_but_by_the_plain_ratio():
    found = [
        visited(SHOPS["offices alike"], np.random.default_rng([1, run]), since=VISITED_ON - 120.0)
        for run in range(200)
    ]
    assert np.mean([one.is_changed for one in found]) <= 0.06
    assert np.mean([one.plain is not None and one.plain.p < 0.05 for one in found]) > 0.1


def test_a_true_fall_is_seen_and_measured_rightly():
    plan = replace(USUAL, handpieces=25.0)
    found = [visited(plan, np.random.default_rng([2, run]), prevented=0.75) for run in range(80)]
    assert np.mean([one.is_changed and one.factor.value < 1.0 for one in found]) > 0.75
    assert np.mean([holds(one.factor, 0.25) for one in found]) > 0.90


def test_the_share_an_action_prevents_is_learnt_from_its_trainings():
    errors, widths = [], []
    for run in range(12):
        truth = float(np.random.default_rng([3, run]).uniform(0.1, 0.9))
        plan = replace(USUAL, offices=30, trained=0.5, prevented=truth, rate_a_year=1.5)
        shop = simulated_shop(plan, np.random.default_rng([4, run]))
        found = effectiveness(*PRIOR, trainings(shop, is_whole=False)).estimate()
        errors.append(found.value - truth)
        widths.append(found.high - found.low)
    prior = effectiveness(*PRIOR).estimate()
    assert np.mean(widths) < 0.5 * (prior.high - prior.low)
    assert np.sqrt(np.mean(np.square(errors))) < 0.15


def test_intervals_of_office_rates_hold_the_truth_however_handpieces_became_known():
    for name in ("as assumed", "known by failure"):
        inside: list[bool] = []
        for shop in shops(SHOPS[name], 5, 40):
            counts = shop.counts(0.0, shop.plan.days)
            found = shrink(counts.count, expected_of(counts), office=counts.office)
            truth = true_ratios(shop)
            inside += list((found.low <= truth) & (truth <= found.high))
        assert 0.92 < np.mean(inside) < 0.98


def test_the_next_quarter_lies_in_its_interval():
    drawn = shops(USUAL, 6, 25)
    assert np.mean([hit == 0 for shop in drawn for hit in next_quarter(shop)]) > 0.95
    assert np.mean([shop_quarter(shop) for shop in drawn]) > 0.85


def test_returns_under_warranty_come_as_forecast():
    plan = replace(WORN, offices=40, rate_a_year=1.0)
    told = [cover_ahead(plan, np.random.default_rng([7, run])) for run in range(200)]
    seen = [one for one in told if one is not None]
    assert len(seen) == 200
    assert np.mean([ahead.low <= came <= ahead.high for came, ahead in seen]) > 0.92
    came, said = (sum(each) for each in zip(*[(c, a.value) for c, a in seen], strict=True))
    assert abs(came / said - 1.0) < 0.1


def test_late_entry_leaves_no_bias_in_first_lives():
    fits = [weibull_fit(shop.first_lives()) for shop in shops(WORN, 8, 120)]
    assert np.mean([holds(fit.shape, WORN.shape) for fit in fits]) > 0.91
    assert np.mean([holds(fit.scale, WORN.scale_days) for fit in fits]) > 0.91
    assert abs(np.median([fit.scale.value for fit in fits]) / WORN.scale_days - 1.0) < 0.02


def test_offices_that_differ_need_the_interval_over_offices():
    over, units = [], []
    for shop in shops(USUAL, 9, 120):
        histories, truth = shop.histories_by_day(), 2.0 * USUAL.rate_a_year
        curves = (mean_cumulative(histories, by_office=flag) for flag in (True, False))
        robust, plain = (holds(curve.at(2.0 * DAYS_A_YEAR), truth) for curve in curves)
        over.append(robust)
        units.append(plain)
    assert np.mean(over) > 0.90
    assert np.mean(units) < 0.86
