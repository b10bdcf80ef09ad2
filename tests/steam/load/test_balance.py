"""The water balance: what it says, what it will not say, and how its levers stand to it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.steam.plain import Log, Shape, drawn, plan_of, record_of
from turnwell.errors import InputError
from turnwell.measure import Verdict
from turnwell.steam.analyse import analyse
from turnwell.steam.load.balance import Reached, no_balance, water_balance
from turnwell.steam.load.condensate import condensate_g
from turnwell.steam.load.items import Load, LoadItem
from turnwell.steam.water import evaporation_heat_kj_kg, saturation_temperature_c
from turnwell.words import Message


def load(turbines: int = 6, water_before_g: float | None = 0.0) -> Load:
    return Load(
        (
            LoadItem("Air turbines", turbines, 70.0, 0.46),
            LoadItem("Pouches", turbines, 7.0, 1.4, is_metal=False),
        ),
        pouches=turbines,
        water_before_g=water_before_g,
    )


def reached(**changes: float | None) -> Reached:
    values = {"steam_c": 134.0, "drying_kpa": 8.0, "drying_s": 600.0} | changes
    return Reached(**values)  # type: ignore[arg-type]


def test_condensate_is_the_formula_and_its_interval_reaches_up():
    made = water_balance(load(), reached()).condensate
    least = float(condensate_g(6 * (70 * 0.46 + 7 * 1.4), 0.0, start_c=20.0, steam_c=134.0))
    assert made.value == pytest.approx(least, rel=1e-12)
    assert made.high == pytest.approx(1.4 * least, rel=0.05)
    assert made.low is not None
    assert made.low >= 0.95 * least


def test_water_left_is_held_against_the_metal_alone():
    left = water_balance(load(), reached()).left
    assert left.limit is not None
    assert left.limit.high == pytest.approx(0.002 * 6 * 70.0)
    assert left.verdict in {Verdict.NOT_PROVEN, Verdict.OUTSIDE}


def test_a_shallow_short_drying_leaves_more_than_is_allowed():
    left = water_balance(load(), reached(drying_kpa=60.0, drying_s=120.0)).left
    assert left.verdict is Verdict.OUTSIDE


@settings(deadline=None)
@given(st.floats(4.0, 60.0), st.floats(60.0, 3000.0))
def test_deeper_and_longer_leaves_less(kpa: float, seconds: float):
    balances = [
        water_balance(load(), reached(drying_kpa=p, drying_s=s)).left.value
        for p, s in ((kpa, seconds), (0.7 * kpa, seconds), (kpa, 1.5 * seconds))
    ]
    assert all(value is not None for value in balances)
    assert balances[1] <= balances[0] + 1e-12  # type: ignore[operator]
    assert balances[2] <= balances[0] + 1e-12  # type: ignore[operator]


def test_every_lever_saves_something_the_best_first():
    levers = water_balance(load(water_before_g=6.0), reached(drying_kpa=30.0)).levers
    saved = [lever.saved_g for lever in levers]
    assert saved == sorted(saved, reverse=True)
    assert {lever.key for lever in levers} == {"vacuum", "time", "load", "dry_before"}
    assert all(lever.low_g <= lever.saved_g <= lever.high_g for lever in levers)


def test_drying_before_is_no_lever_where_it_went_in_without_water():
    keys = {lever.key for lever in water_balance(load(), reached(drying_kpa=30.0)).levers}
    assert "dry_before" not in keys


def test_more_water_before_is_never_less_water_after():
    left = [water_balance(load(water_before_g=w), reached()).left.value for w in (0.0, 3.0, 9.0)]
    assert left == sorted(left)  # type: ignore[type-var]


def test_without_a_drying_vacuum_the_rest_cannot_be_told():
    balance = water_balance(load(), reached(drying_kpa=None))
    assert balance.condensate.value is not None
    assert balance.left.verdict is Verdict.CANNOT_TELL
    assert balance.levers == ()


def test_an_unknown_load_is_not_guessed():
    balance = no_balance(Message("steam_water.no_load"))
    assert balance.condensate.verdict is balance.left.verdict is Verdict.CANNOT_TELL


def test_it_is_the_same_each_time():
    first, second = (water_balance(load(water_before_g=None), reached()) for _ in range(2))
    assert first.as_dict() == second.as_dict()


def test_what_no_load_has_is_refused():
    with pytest.raises(InputError, match="load is empty"):
        Load((LoadItem("Air turbines", 0, 70.0, 0.46),))
    with pytest.raises(InputError, match="mass of Air turbines is 0"):
        LoadItem("Air turbines", 1, 0.0, 0.46)
    with pytest.raises(InputError, match="501 pieces"):
        LoadItem("Air turbines", 501, 70.0, 0.46)
    with pytest.raises(InputError, match="water left before is -1"):
        load(water_before_g=-1.0)


@pytest.mark.parametrize(("lowest", "seconds"), [(8.0, 600.0), (60.0, 60.0)])
def test_interval_is_that_of_chance_over_the_same_ranges(lowest: float, seconds: float):
    """The lattice against plain Monte Carlo, flash by steps and all constants written out anew."""
    rng = np.random.default_rng(5)
    count = 40_000
    heat = 6 * (70 * 0.46 + 7 * 1.4) * rng.uniform(0.95, 1.05, count)
    start, kpa = rng.uniform(15.0, 25.0, count), rng.uniform(lowest - 2.0, lowest + 2.0, count)
    before = rng.uniform(0.0, 6 * 0.4, count)
    water = rng.uniform(1.0, 1.4, count) * (heat + 4.19 * before) * (134.0 - start) / 2162.04
    left, cold = water + before, saturation_temperature_c(kpa)
    step = (134.0 - cold) / 400
    for index in range(400):
        boiling = evaporation_heat_kj_kg(134.0 - (index + 0.5) * step)
        left = np.maximum(left - (heat + 4.19 * left) * step / boiling, 0.0)
    emissivity = 0.66 * rng.uniform(0.0, 1.0, count) ** 2
    watts = emissivity * 5.670374e-8 * 6 * 0.02 * (407.15**4 - (cold + 273.15) ** 4)
    left = np.maximum(left - seconds * watts / 1e3 / evaporation_heat_kj_kg(cold) * 1e3, 0.0)
    run = reached(drying_kpa=lowest, drying_s=seconds)
    made = water_balance(load(water_before_g=None), run).left
    assert made.value == pytest.approx(np.mean(left), abs=0.06)
    assert made.low == pytest.approx(np.quantile(left, 0.025), abs=0.06)
    assert made.high == pytest.approx(np.quantile(left, 0.975), abs=0.15)


@pytest.mark.parametrize("celsius", [60.0, 273.0])
def test_steam_that_no_sterilizer_holds_is_not_balanced(celsius: float):
    balance = water_balance(load(), reached(steam_c=celsius))
    assert balance.condensate.verdict is balance.left.verdict is Verdict.CANNOT_TELL


def test_a_drying_pressure_that_is_no_number_is_not_guessed():
    assert water_balance(load(), reached(drying_kpa=float("nan"))).left.value is None


def test_a_drying_cut_short_is_run_in_full_before_anything_is_changed():
    # A weak vacuum saves more than the four minutes that were missed, and still stands behind them.
    short = reached(drying_kpa=60.0, drying_s=480.0, missed_s=240.0)
    first, *others = water_balance(load(), short).levers
    assert first.key == "time"
    assert first.change == Message("steam_water.lever.full_time", {"longer_min": 4.0})
    assert others[0].saved_g > first.saved_g
    assert "time" not in {lever.key for lever in others}


@pytest.mark.parametrize(
    ("shape", "word"),
    [
        (Shape(dry_s=300.0, planned_dry_s=720.0), "full_time"),
        (Shape(dry_s=300.0, planned_dry_s=720.0, door=True), "full_time"),
        (Shape(dry_s=720.0, planned_dry_s=720.0), "time"),
    ],
)
def test_only_a_drying_that_missed_its_plan_is_told_to_run_it(shape: Shape, word: str):
    record = record_of(drawn(shape), Log(step_s=2.0))
    water = analyse(record, plan_of(shape), load=load()).water
    assert water is not None
    (time,) = (lever for lever in water.levers if lever.key == "time")
    assert time.change.key == f"steam_water.lever.{word}"
    assert (water.levers[0] is time) or word == "time"
