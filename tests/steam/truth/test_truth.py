"""The invented runs obey what is known of steam and of mixing, and their truth is theirs."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from tests.steam.truth.cycles import simulate
from tests.steam.truth.faults import FAULTS, clean_case, faulty_case
from tests.steam.truth.files import PRESSURES_KPA, draw_shape, written
from tests.steam.truth.known import STEP_S, f0_min
from tests.steam.truth.plans import GRAVITY, VACUUM_DRIED, Kind, Wrong, draw
from tests.steam.truth.saturation import boiling_c, boiling_kpa
from tests.steam.truth.sensors import Logger, draw_logger, logged


def drawn(kind, seed=0, **wrong):
    plan = draw(kind, np.random.default_rng(seed))
    return simulate(replace(plan, wrong=Wrong(**wrong)))


def rows(truth, kind):
    """Rows well inside a stage."""
    span = truth.stage(kind)
    return (truth.time_s > span.start_s[1] + 5.0) & (truth.time_s < span.stop_s[0] - 1.0)


@pytest.mark.parametrize(
    ("pressure_kpa", "published_c"), [(10.0, 45.8075), (101.325, 99.9743), (304.0, 133.9776)]
)
def test_water_boils_where_the_tables_say(pressure_kpa, published_c):
    """IAPWS-IF97, which differs from CoolProp's IAPWS-95 by up to 0.0041 K here."""
    assert boiling_c(pressure_kpa) == pytest.approx(published_c, abs=0.0041)
    assert boiling_kpa(boiling_c(pressure_kpa)) == pytest.approx(pressure_kpa, rel=1e-6)


def test_the_table_is_as_fine_as_the_library():
    pressure_kpa = np.random.default_rng(0).uniform(0.7, 500.0, 200)
    exact = np.asarray(PropsSI("T", "P", 1e3 * pressure_kpa, "Q", 1, "Water")) - 273.15
    assert np.max(np.abs(boiling_c(pressure_kpa) - exact)) < 5e-6


@pytest.mark.parametrize(("vacua", "left_kpa"), [(1, 15.0), (2, 1.25), (3, 0.104), (4, 0.0087)])
def test_air_mixes_ideally(vacua, left_kpa):
    """Each vacuum from 180 to 15 kPa leaves a twelfth."""
    plan = replace(
        draw(Kind.DYNAMIC_134, np.random.default_rng(0)),
        altitude_m=0.0,
        lows_kpa=(15.0,) * vacua,
        highs_kpa=(180.0,) * (vacua - 1),
        left_kpa=100.0,
    )
    truth = simulate(plan)
    at = np.searchsorted(truth.time_s, truth.stage("heating").start_s[0]) - 1
    assert truth.air_kpa[at] == pytest.approx(left_kpa, rel=0.01)


@pytest.mark.parametrize("kind", Kind)
@pytest.mark.parametrize("seed", range(3))
def test_a_plateau_is_saturated_at_the_steams_own_pressure(kind, seed):
    truth = drawn(kind, seed)
    held = rows(truth, "plateau")
    steam_c = boiling_c(truth.pressure_kpa[held] - truth.air_kpa[held])
    away_k = np.abs(truth.temperature_c[held] - steam_c)
    assert np.max(away_k) < 0.3  # the sensor's lag at the end of the rise
    assert np.median(away_k) < 0.15  # the control's ripple, which the sensor follows late
    assert abs(truth.difference_k) < 1.2


@pytest.mark.parametrize("kind", Kind)
@pytest.mark.parametrize("seed", range(3))
def test_a_clean_run_does_what_was_asked_of_it(kind, seed):
    truth = drawn(kind, seed)
    plan = truth.plan
    assert truth.time_in_band_s >= plan.hold_s
    assert plan.set_c <= truth.plateau_low_c <= truth.plateau_high_c <= plan.set_c + plan.band_k
    if kind in VACUUM_DRIED:
        assert truth.drying_s >= plan.dry_s
        assert truth.drying_low_kpa < (30.0 if kind is Kind.WEAK_PUMP_134 else 15.0)
    assert (truth.stage("air removal") is None) == (kind in GRAVITY)


@pytest.mark.parametrize("kind", Kind)
def test_stages_follow_each_other(kind):
    stages = drawn(kind).stages
    for former, latter in pairwise(stages):
        assert former.stop_s == latter.start_s
        assert former.start_s[0] <= former.start_s[1] < former.stop_s[1]


def test_pressure_turns_where_the_stages_do():
    truth = drawn(Kind.DYNAMIC_134, 3)
    slope = np.gradient(truth.pressure_kpa, STEP_S)

    def mean_slope(from_s, to_s):
        return slope[(truth.time_s > from_s) & (truth.time_s < to_s)].mean()

    for stage, before, after in (("heating", -1, 1), ("exhaust", 0, -1), ("air inlet", 0, 1)):
        at_s = truth.stage(stage).start_s[0]
        former, latter = mean_slope(at_s - 3.0, at_s - 0.3), mean_slope(at_s + 0.3, at_s + 3.0)
        assert np.sign(latter) == after
        assert np.sign(former) == before or abs(former) < 0.2 * abs(latter)


def test_lethality_is_the_exact_one_of_a_ramp():
    """F = τ z / (ln 10 (b - a)) (L(b) - L(a)): 3.90865 min for 111.1 to 121.1 °C in 10 min."""
    time_s = np.linspace(0.0, 600.0, 6001)
    assert f0_min(time_s, 111.1 + time_s / 60.0) == pytest.approx(3.90865, abs=1e-5)


def test_air_lowers_the_temperature_of_a_pressure():
    """18.22 kPa of air read 2 K too cold at 134 °C, as the tables of saturation give."""
    truth = drawn(Kind.DYNAMIC_134, 1, air_kpa=18.22)
    held = rows(truth, "plateau")
    away_k = truth.temperature_c[held] - boiling_c(truth.pressure_kpa[held])
    assert np.median(away_k) == pytest.approx(-2.0, abs=0.05)


def test_superheat_shows_only_above_saturation():
    assert drawn(Kind.DYNAMIC_134, 1, superheat_k=3.0).difference_k == pytest.approx(3.0, abs=0.4)


def test_a_record_holds_what_the_logger_adds_and_nothing_else():
    truth = drawn(Kind.DYNAMIC_121, 2)
    quiet = Logger(noise_k=0.0, noise_kpa=0.0, mean_s=0.1, offset_k=0.25)
    record = logged(truth, quiet, np.random.default_rng(0))
    seen = np.interp(record.time_s, truth.time_s, truth.temperature_c)
    assert np.max(np.abs(record.temperature_c - seen - 0.25)) <= 0.05 + 1e-6
    assert f0_min(record.time_s, record.temperature_c - 0.25) == pytest.approx(
        truth.f0_min, rel=0.005
    )


def test_records_are_the_same_for_the_same_seed():
    def one():
        rng = np.random.default_rng(5)
        truth = simulate(draw(Kind.GRAVITY_121, rng))
        return logged(truth, draw_logger(rng), rng)

    assert np.array_equal(one().temperature_c, one().temperature_c)


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_the_same_for_the_same_seed_and_clear_or_not(name):
    clear, again, near = (
        faulty_case(name, 4),
        faulty_case(name, 4),
        faulty_case(name, 4, clear=False),
    )
    assert np.array_equal(clear.record.temperature_c, again.record.temperature_c)
    assert clear.clear
    assert not near.clear
    assert clear.keys <= {key.split(",", maxsplit=1)[0] for key in FAULTS}


@pytest.mark.parametrize("seed", range(5))
def test_faults_are_as_large_as_they_are_called(seed):
    short = faulty_case("hold_short", seed).truth
    assert short.time_in_band_s < 0.9 * short.plan.hold_s
    below = faulty_case("below_band", seed).truth
    assert below.plateau_low_c < below.plan.set_c - 1.0
    assert below.time_in_band_s < below.plan.hold_s
    above = faulty_case("above_band", seed).truth
    assert above.plateau_high_c > above.plan.set_c + above.plan.band_k + 1.0
    vacuum = faulty_case("vacuum_not_reached", seed).truth
    assert vacuum.drying_low_kpa >= 40.0
    drying = faulty_case("drying_shortened", seed).truth
    assert drying.drying_s < 0.85 * drying.plan.dry_s


@pytest.mark.parametrize("seed", range(40))
def test_a_file_holds_its_record_to_the_digits_written(seed):
    rng = np.random.default_rng(seed)
    case = clean_case(list(Kind)[seed % len(Kind)], seed, interval_s=10.0)
    shape = draw_shape(rng)
    file = written(case.truth, case.record, shape, rng)
    good = np.isin(np.round(case.record.time_s), np.round(file.time_s))
    assert good.sum() == file.time_s.size
    assert file.time_s.size == case.record.time_s.size - shape.broken
    assert file.usable == file.time_s.size - shape.reversed_
    coarse_kpa = PRESSURES_KPA[shape.pressure] * (0.5 if shape.pressure == "mmHg" else 0.51)
    away_kpa = np.abs(file.pressure_kpa - case.record.pressure_kpa[good])
    assert np.max(away_kpa) <= coarse_kpa
    assert np.max(np.abs(file.temperature_c - case.record.temperature_c[good])) < 0.051
    assert {"time", "temperature", "pressure"} <= set(file.columns)


def test_files_are_of_every_shape():
    shapes = [draw_shape(np.random.default_rng(seed)) for seed in range(300)]
    assert len({shape.delimiter for shape in shapes}) == 6
    assert len({shape.tongue for shape in shapes}) == 10
    assert len({shape.time for shape in shapes}) == 9
    assert len({(shape.pressure, shape.gauge) for shape in shapes}) == 12
    assert len({shape.encoding for shape in shapes}) == 4
