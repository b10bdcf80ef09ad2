"""Each fault is found by its signature, and clean runs have none."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from tests.steam.scene import DYNAMIC, GRAVITY, Run, dried, dynamic, gravity, pressure_kpa, rested
from turnwell.measure import Basis, Limit
from turnwell.steam.cycle import Cycle, Sensors
from turnwell.steam.fault import Fault, FaultKey
from turnwell.steam.faults import faults_of, questions_of
from turnwell.steam.faults.signs import signs_of
from turnwell.steam.record import Record
from turnwell.steam.stage import Pulse, Sure
from turnwell.steam.stages import course_of
from turnwell.words import text_of

K = FaultKey
RUN = dried(dynamic()).record()


def found(record: Record, cycle: Cycle = DYNAMIC) -> tuple[Fault, ...]:
    return faults_of(record, cycle, course_of(record, cycle), Sensors())


def keys(record: Record, cycle: Cycle = DYNAMIC) -> list[FaultKey]:
    return [fault.key for fault in found(record, cycle)]


def door(seconds: int = 250) -> Run:
    run = dynamic().vacuum(6.0, 25.0, seconds).air(101.3, 2, towards_c=40.0)
    return run.air(101.3, 90, towards_c=35.0)


def off_by(offset_k: float, **options: float) -> Record:
    """A run controlled by a temperature sensor that is off."""
    return dried(dynamic(hold_over_k=0.6 - offset_k)).record(offset_k=offset_k, **options)


def overloaded() -> Run:
    return dynamic().boil_down(9.0, 120.0, 500).vacuum(8.0, 40.0, 160).air(101.3, 40).air(101.3, 30)


def cut_in_hold() -> Run:
    run = dynamic()
    pressures, temperatures = run.pressures[:-1], run.temperatures[:-1]
    return Run(
        101.3, [*pressures[:-1], pressures[-1][:90]], [*temperatures[:-1], temperatures[-1][:90]]
    )


FAULTS: dict[str, tuple[FaultKey, Callable[[], Run]]] = {
    "air, control by temperature": (
        K.AIR_NOT_REMOVED,
        lambda: dried(dynamic(lows_kpa=(45.0,), air_kpa=25.0)),
    ),
    "air, control by pressure": (
        K.AIR_NOT_REMOVED,
        lambda: dried(
            dynamic(
                lows_kpa=(45.0,),
                hold_over_k=0.3,
                under_k=3.0,
                air_kpa=pressure_kpa(134.3) - pressure_kpa(131.3),
            )
        ),
    ),
    "superheat": (K.SUPERHEAT, lambda: dried(dynamic(over_k=3.0))),
    "never in the band": (K.BELOW_BAND, lambda: dried(dynamic(hold_over_k=-2.0))),
    "above the band": (K.ABOVE_BAND, lambda: dried(dynamic(hold_over_k=6.0))),
    "held too short": (K.HOLD_SHORT, lambda: dried(dynamic(hold_s=120))),
    "door": (K.DRYING_ABORTED, door),
    "drying cut short": (K.DRYING_SHORTENED, lambda: dried(dynamic(), seconds=300)),
    "no vacuum": (K.VACUUM_NOT_REACHED, lambda: dried(dynamic(), low_kpa=55.0)),
    "leak": (
        K.AIR_LEAK_SUSPECTED,
        lambda: dried(dynamic(air_kpa=12.0, tau_s=60.0), low_kpa=14.0, tau_s=60.0),
    ),
    "overload": (K.OVERLOAD_SUSPECTED, overloaded),
    "power cut": (K.POWER_CUT, cut_in_hold),
}
# A temperature held low by air, or high by superheat, lies outside the band, too.
ALONGSIDE = {K.BELOW_BAND, K.ABOVE_BAND}


@pytest.mark.parametrize("step_s", [1, 5, 10])
@pytest.mark.parametrize("case", FAULTS)
def test_a_clear_fault_is_found_and_no_other(case: str, step_s: int):
    key, run = FAULTS[case]
    got = keys(run().record(step_s=step_s))
    assert key in got
    assert set(got) - {key} <= ALONGSIDE


@pytest.mark.parametrize("offset_k", [-4.0, -2.5, 2.5, 4.0])
def test_a_temperature_sensor_that_is_off_is_not_taken_for_air_or_superheat(offset_k: float):
    assert keys(off_by(offset_k)) == [K.SENSOR_OFFSET]


@pytest.mark.parametrize(("pulses", "left_kpa"), [(1, 15.0), (2, 1.25), (3, 0.104), (4, 0.0087)])
def test_the_air_that_ideal_mixing_leaves(pulses: int, left_kpa: float):
    # Vacua to 15 kPa with steam to 180 kPa between them: each keeps 15 / 180 of what is left.
    at_s = [100.0 * number for number in range(pulses)]
    course = replace(
        course_of(RUN, DYNAMIC), pulses=tuple(Pulse(at, 15.0, at + 50.0, 180.0) for at in at_s)
    )
    signs = signs_of(RUN, DYNAMIC, course, Sensors())
    assert signs.left_air_kpa() == pytest.approx(left_kpa, rel=6e-3)
    assert signs.left_air_kpa(50.0) == pytest.approx(15.0, rel=1e-6)


def test_the_air_of_the_first_pulse_hides_no_offset():
    # 18 kPa of air at the only steam pulse's top make 3.3 K there; the sensor reads 3 K too much.
    run = dynamic(lows_kpa=(18.0, 18.0), hold_over_k=-2.4)
    run.temperatures[3] = run.temperatures[3] - 3.3
    run.temperatures[2][-8:] -= 3.3
    assert keys(dried(run).record(offset_k=3.0)) == [K.SENSOR_OFFSET]


def test_a_pressure_that_is_off_at_rest_is_named():
    record = dried(dynamic()).record(offset_kpa=15.0)
    assert keys(record) == [K.SENSOR_OFFSET]
    assert "116" in text_of(found(record)[0].evidence)


CLEAN: dict[str, tuple[Cycle, Callable[[float], Run]]] = {
    "134 °C": (DYNAMIC, lambda a: dried(dynamic(atmosphere_kpa=a))),
    "121 °C": (
        replace(DYNAMIC, set_c=121.0, hold_s=900.0),
        lambda a: dried(dynamic(set_c=121.0, hold_s=930, atmosphere_kpa=a)),
    ),
    "single vacuum": (DYNAMIC, lambda a: dried(dynamic(lows_kpa=(25.0,), atmosphere_kpa=a))),
    "gravity": (
        GRAVITY,
        lambda a: rested(gravity(atmosphere_kpa=a).air(a, 1300, towards_c=95.0)),
    ),
    "weak pump": (
        DYNAMIC,
        lambda a: dried(
            dynamic(lows_kpa=(34.0, 34.0, 34.0, 34.0), atmosphere_kpa=a, tau_s=60.0),
            low_kpa=30.0,
            tau_s=60.0,
        ),
    ),
}


@pytest.mark.parametrize("step_s", [1, 2, 5, 10])
@pytest.mark.parametrize("kind", CLEAN)
def test_a_clean_run_has_no_fault_at_any_altitude_with_sensors_a_little_off(kind: str, step_s: int):
    cycle, run = CLEAN[kind]
    rng = np.random.default_rng(step_s)
    for atmosphere_kpa in (101.3, 84.0):
        record = run(atmosphere_kpa).record(
            step_s=step_s,
            offset_k=float(rng.choice([-0.3, 0.3])),
            offset_kpa=float(rng.choice([-1.0, 1.0])),
            step_k=float(rng.choice([0.1, 1.0])),
            seed=step_s,
        )
        assert keys(record, cycle) == []


def test_the_two_kinds_of_air_are_told_apart_in_the_evidence():
    by_temperature, by_pressure = (
        text_of(found(run().record())[0].evidence)
        for run in (FAULTS["air, control by temperature"][1], FAULTS["air, control by pressure"][1])
    )
    assert "The temperature is right" in by_temperature
    assert "under the set one" in by_pressure


def test_air_is_told_without_a_plan_but_time_and_band_are_not():
    record = FAULTS["air, control by temperature"][1]().record()
    assert keys(record, Cycle()) == [K.AIR_NOT_REMOVED]
    assert keys(dried(dynamic(hold_s=120), seconds=300).record(), Cycle()) == []


def test_a_dip_is_below_the_band_and_a_hold_in_two_parts_is_not_called_short():
    run = dynamic()
    run.temperatures[-2][100:112] -= 3.0
    run.pressures[-2][100:112] -= 26.0
    record = dried(run).record()
    assert keys(record) == [K.BELOW_BAND]
    fault = found(record)[0]
    assert fault.start_s is not None
    assert fault.stop_s is not None
    assert fault.stop_s - fault.start_s == pytest.approx(12.0, abs=3.0)


def test_a_gap_is_named_with_its_time_in_the_plateau():
    record = dried(dynamic()).record()
    keep = (record.time_s < 620.0) | (record.time_s > 680.0)
    cut = replace(
        record,
        time_s=record.time_s[keep],
        temperature_c=record.temperature_c[keep],
        pressure_kpa=record.pressure_kpa[keep],
    )
    faults = found(cut)
    assert [fault.key for fault in faults] == [K.RECORD_GAP]
    assert "62 s of it in the plateau" in text_of(faults[0].evidence)


def test_a_planned_depth_is_held_against_the_drying():
    limit = Limit(low=None, high=10.0, source="maker", basis=Basis.OWN)
    record = dried(dynamic(), low_kpa=25.0).record()
    assert keys(record) == []
    assert keys(record, replace(DYNAMIC, drying_pressure=limit)) == [K.VACUUM_NOT_REACHED]


def test_a_gravity_run_without_a_pump_misses_no_vacuum():
    record = rested(gravity().air(101.3, 1300, towards_c=95.0)).record()
    assert K.VACUUM_NOT_REACHED not in keys(record, GRAVITY)


def test_a_door_after_the_planned_time_is_no_fault():
    assert keys(door(640).record()) == []


def test_a_small_difference_is_explained_by_the_sensors_bounds():
    assert keys(off_by(0.7)) == []
    record = off_by(0.9)
    narrow = Sensors(temperature_k=0.1, pressure_kpa=0.5)
    faults = faults_of(record, DYNAMIC, course_of(record, DYNAMIC), narrow)
    assert [(fault.key, fault.sure) for fault in faults] == [(K.SENSOR_OFFSET, Sure.LIKELY)]


def test_every_fault_has_its_texts_and_its_questions():
    for key, run in FAULTS.values():
        faults = found(run().record())
        fault = next(fault for fault in faults if fault.key is key)
        assert text_of(fault.name)
        assert any(digit.isdigit() for digit in text_of(fault.evidence))
        questions = questions_of(faults)
        assert {"indicators", "lumen_water", "wet_at_start"} <= {one.key for one in questions}
        assert all(text_of(one.text).endswith(("?", ".")) for one in questions)
        assert len(questions) > len(questions_of(()))


def test_questions_are_asked_once_and_those_of_the_faults_first():
    faults = found(door().record())
    asked = [one.key for one in questions_of(faults)]
    assert asked[0] == "door_opened"
    assert len(asked) == len(set(asked))
