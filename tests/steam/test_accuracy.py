"""How near the analysis comes to the truth, on a few invented runs of each kind.

The whole campaign is ``python -m benchmarks steam_accuracy``; this is a cheap part of it.
"""

from functools import cache

import numpy as np
import pytest

from tests.steam.truth.faults import FAULTS, clean_case, faulty_case
from tests.steam.truth.files import draw_shape, written
from tests.steam.truth.plans import VACUUM_DRIED, Kind
from tests.steam.truth.reading import outcome_of
from tests.steam.truth.scoring import alarms, missed, review_of, stage_errors

SEEDS = range(100, 106)
WELL = ("right", "asked")


@cache
def clean(kind, seed, interval_s=None):
    case = clean_case(kind, seed, interval_s=interval_s)
    return case, review_of(case)


@cache
def faulty(name, seed):
    case = faulty_case(name, seed)
    return case, review_of(case)


@pytest.mark.parametrize("kind", Kind)
@pytest.mark.parametrize(
    ("interval_s", "percent"), [(1.0, 0.5), (2.0, 0.5), (5.0, 2.0), (10.0, 4.5)]
)
def test_lethality_is_that_of_the_run(kind, interval_s, percent):
    for seed in SEEDS:
        case, review = clean(kind, seed, interval_s)
        true_min = case.truth.f0_min * 10.0 ** (case.logger.offset_k / 10.0)
        assert review.reading("f0_min").value == pytest.approx(true_min, rel=percent / 100.0)


@pytest.mark.parametrize("kind", Kind)
def test_the_interval_of_the_lethality_holds_the_runs(kind):
    for seed in SEEDS:
        case, review = clean(kind, seed)
        reading = review.reading("f0_min")
        assert reading.low <= case.truth.f0_min <= reading.high


@pytest.mark.parametrize("kind", Kind)
def test_boundaries_are_found(kind):
    """Of each kind, 59 in 60 within two rows or 10 s, and none lost."""
    errors = [error for seed in SEEDS for error in stage_errors(*clean(kind, seed))]
    assert all(np.isfinite(error.error_s) for error in errors)
    assert sum(not error.within for error in errors) <= len(errors) / 60


@pytest.mark.parametrize("kind", Kind)
def test_no_fault_is_said_of_a_clean_run(kind):
    assert [alarms(*clean(kind, seed)) for seed in SEEDS] == [set()] * len(SEEDS)


@pytest.mark.parametrize("name", FAULTS)
def test_a_clear_fault_is_found(name):
    assert [missed(*faulty(name, seed)) for seed in SEEDS] == [set()] * len(SEEDS)


@pytest.mark.parametrize("name", FAULTS)
def test_nothing_is_said_beside_a_fault_but_what_follows_from_it(name):
    assert [alarms(*faulty(name, seed)) for seed in SEEDS] == [set()] * len(SEEDS)


@pytest.mark.parametrize("kind", VACUUM_DRIED)
def test_drying_is_as_long_and_as_deep_as_it_was(kind):
    for seed in SEEDS:
        case, review = clean(kind, seed)
        early_s, late_s = case.truth.stage("drying").start_s
        slack_s = late_s - early_s + 2.0 * case.logger.interval_s
        longest_s = case.truth.drying_s + slack_s + 10.0
        assert case.truth.drying_s - 10.0 <= review.reading("drying_time_s").value <= longest_s
        lowest_kpa = case.truth.drying_low_kpa + case.logger.offset_kpa
        assert review.reading("drying_lowest_pressure_kpa").value == pytest.approx(
            lowest_kpa, abs=5.0 * case.logger.noise_kpa + case.logger.step_kpa
        )


@pytest.mark.parametrize("kind", [Kind.DYNAMIC_134, Kind.WEAK_PUMP_134, Kind.SINGLE_VACUUM_134])
def test_vacua_and_admissions_are_counted(kind):
    for seed in SEEDS:
        case, review = clean(kind, seed)
        assert review.reading("air_removal_pulses").value == len(case.truth.plan.lows_kpa)
        assert len(review.course.admissions) == len(case.truth.plan.admissions)


def test_no_fault_is_said_of_a_clean_printer_roll():
    said = {}
    for kind in Kind:
        for seed in SEEDS[:3]:
            case = clean_case(kind, seed, printer=True)
            said[kind, seed] = alarms(case, review_of(case))
    assert {where: keys for where, keys in said.items() if keys} == {}


def shuffled(seed):
    rng = np.random.default_rng([seed, 3])
    pace_s = float(rng.choice([2.0, 5.0, 10.0, 15.0, 30.0]))
    case = clean_case(list(Kind)[seed % len(Kind)], seed, interval_s=pace_s)
    return written(case.truth, case.record, draw_shape(rng), rng), case


def test_files_are_read_right_or_asked_about():
    """Of 45 files none is read wrong in silence, none refused, and all but two are read right."""
    outcomes = {}
    for seed in range(2000, 2045):
        file, case = shuffled(seed)
        outcomes[seed] = (file.decidable, outcome_of(file, case))
    silent = {seed: said for seed, (_, said) in outcomes.items() if said.word not in WELL}
    asked = [seed for seed, (told, said) in outcomes.items() if told and said.word == "asked"]
    assert silent == {}
    assert len(asked) <= 2
