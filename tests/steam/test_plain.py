"""Runs of straight lines and sharp corners: no false fault, every fault by its own key.

The runs are drawn without a chamber's physics, as one would from the trade's table of signatures;
only the boiling points are true (CoolProp, in `tests.steam.scene`).
"""

from dataclasses import replace

import numpy as np
import pytest

from tests.steam.plain import Log, Shape, drawn, plan_of, record_of, with_gap
from turnwell.steam import analyse
from turnwell.steam.cycle import Cycle
from turnwell.steam.stage import Ending, StageKind

NO_PLAN = Cycle()
OF_GRAVITY = Shape(
    gravity=True, set_c=121.0, hold_s=1850.0, planned_hold_s=1800.0, heat_s=300.0, dry_s=1500.0
)
OF_GRAVITY = replace(OF_GRAVITY, planned_dry_s=1500.0, venting_kpa=103.0)
CLEAN = {
    "as usual": Shape(),
    "fast steam": Shape(high_kpa=200.0, steam_s=20.0, pull_s=60.0),
    "constant temperature in the vacua": Shape(vacuum_c=60.0),
    "temperature falls with saturation in the drying": Shape(dry_c=None),
    "exhaust to 105 kPa": Shape(vented_kpa=105.0),
    "exhaust to 110 kPa": Shape(vented_kpa=110.0),
    "no admissions": Shape(admissions=0),
    "admissions to the atmosphere": Shape(admit_kpa=101.325),
    "flat at the set temperature": Shape(over_k=0.0),
    "ripple down to the set temperature": Shape(over_k=0.3, ripple_k=0.3, ripple_s=30.0),
    "overshoot": Shape(overshoot_k=1.5),
    "no rest at either end": Shape(rest_s=0.0, start_s=0.1),
    "121 °C": Shape(set_c=121.0, hold_s=930.0, planned_hold_s=900.0),
    "one vacuum": Shape(lows_kpa=(25.0,)),
    "at 1,500 m": Shape(rest_kpa=84.56),
    "gravity": OF_GRAVITY,
    "gravity that vents at the atmosphere itself": replace(OF_GRAVITY, venting_kpa=101.325),
    "gravity at 1,500 m": replace(OF_GRAVITY, rest_kpa=84.56, venting_kpa=86.0),
}
LOGS = {
    "to a tenth": Log(),
    "to three decimals": Log(digit_k=0.001, digit_kpa=0.001),
    "whole": Log(digit_k=1.0, digit_kpa=1.0),
    "noisy": Log(noise_k=0.05, noise_kpa=0.3),
    "off by 0.4 K, clock jitters": Log(offset_k=0.4, jitter_s=0.1),
}


@pytest.mark.parametrize("name", CLEAN)
@pytest.mark.parametrize("log", LOGS)
def test_no_fault_is_said_of_a_plain_clean_run(name, log):
    shape = CLEAN[name]
    line = drawn(shape)
    for step_s in (1.0, 5.0, 10.0):
        record = record_of(line, replace(LOGS[log], step_s=step_s), rest_kpa=shape.rest_kpa)
        for cycle in (plan_of(shape), NO_PLAN):
            review = analyse(record, cycle)
            assert [fault.key.value for fault in review.faults] == []
            expected = Ending.UNKNOWN if shape.gravity else Ending.AIR_INLET
            assert review.course.ending is expected


def spans_of(line):
    """Give start and stop of every drawn stage, from the record's first row."""
    ends = [at_s for _, at_s in line.marks[1:]] + [float(line.time_s[-1])]
    return {
        kind: (start_s - 0.1, stop_s - 0.1)
        for (kind, start_s), stop_s in zip(line.marks, ends, strict=True)
        if kind is not StageKind.NOT_RECOGNISED
    }


@pytest.mark.parametrize("name", CLEAN)
def test_boundaries_of_plain_runs_are_found(name):
    shape = CLEAN[name]
    line = drawn(shape)
    for step_s in (1.0, 2.0, 5.0, 10.0):
        record = record_of(line, Log(step_s=step_s), rest_kpa=shape.rest_kpa)
        course = analyse(record, plan_of(shape)).course
        for kind, drawn_at in spans_of(line).items():
            stage = course.stage(kind)
            assert (stage.start_s, stage.stop_s) == pytest.approx(
                drawn_at, abs=max(10.0, 2.0 * step_s)
            )


def longest_s(inside):
    edges = np.flatnonzero(np.diff(np.concatenate(([0], inside.astype(int), [0]))))
    return 0.1 * float(np.max(edges[1::2] - edges[::2], initial=0))


@pytest.mark.parametrize("name", CLEAN)
@pytest.mark.parametrize("log", ["to a tenth", "to three decimals", "noisy"])
def test_readings_of_plain_runs_are_those_of_the_lines_drawn(name, log):
    shape = CLEAN[name]
    line = drawn(shape)
    celsius, time_s = line.temperature_c, line.time_s
    # The definition, integrated at a tenth of a second; what is under 100 °C counts nothing.
    rate = np.where(celsius >= 100.0, 10.0 ** ((celsius - 121.1) / 10.0), 0.0)
    f0_min = float(np.trapezoid(rate, time_s)) / 60.0
    inside = (celsius >= shape.set_c - 1e-9) & (celsius <= shape.set_c + shape.band_k + 1e-9)
    for step_s in (1.0, 2.0):
        given = replace(LOGS[log], step_s=step_s)
        record = record_of(line, given, rest_kpa=shape.rest_kpa)
        review = analyse(record, plan_of(shape))
        assert review.reading("f0_min").value == pytest.approx(f0_min, rel=0.005)
        assert review.reading("time_in_band_s").value == pytest.approx(
            longest_s(inside), abs=2.0 * step_s + 0.2
        )
        # Half a tenth is rounded away, and a sharp peak lies between two rows.
        slack_k = 0.15 + 4.0 * given.noise_k
        held = (time_s >= spans_of(line)[StageKind.PLATEAU][0]) & inside
        highest_c = float(celsius[held].max())
        assert review.reading("plateau_temperature_high_c").value == pytest.approx(
            highest_c, abs=slack_k
        )
        assert review.reading("saturation_difference_k").value == pytest.approx(
            0.0, abs=0.15 + 4.0 * given.noise_k + 0.45 * given.noise_kpa
        )


SHORT = {"hold_s": 120.0}
FAULTS = {
    "air_not_removed": (
        {"lows_kpa": (45.0,), "air_kpa": 25.0},
        {"air_kpa": 40.0},
        {"lows_kpa": (45.0,), "air_kpa": 30.0, "by_pressure": True},
    ),
    "superheat": ({"superheat_k": 2.5}, {"superheat_k": 5.0}),
    "below_band": (
        {"dip_k": 1.2, "event_s": 15.0},
        {"dip_k": 3.0, "event_s": 90.0},
        {"over_k": -2.0},
    ),
    "above_band": ({"crest_k": 1.2, "event_s": 15.0}, {"over_k": 5.5}),
    "hold_short": (SHORT, {"hold_s": 170.0}),
    "drying_aborted": ({"door": True, "dry_s": 300.0},),
    "vacuum_not_reached": (
        {"dry_kpa": 42.0, "admit_kpa": 60.0},
        {"dry_kpa": 65.0, "admit_kpa": 85.0},
    ),
    "drying_shortened": ({"dry_s": 300.0}, {"dry_s": 500.0}),
    "air_leak_suspected": (
        {"leak": True, "dry_kpa": 14.0, "air_kpa": 12.0, "dry_s": 720.0, "planned_dry_s": 720.0},
    ),
    "overload_suspected": ({"shoulder_kpa": 40.0, "admissions": 0, "heat_s": 400.0},),
    "power_cut": ({"cut_s": 20.0}, {"cut_s": 100.0}),
}
# What of necessity goes with it.
BESIDE = {
    "air_not_removed": {"below_band", "hold_short", "air_leak_suspected"},
    "below_band": {"hold_short"},
    "above_band": {"hold_short"},
    "drying_aborted": {"drying_shortened"},
    "sensor_offset": {"below_band", "above_band", "hold_short"},
    "record_gap": {"hold_short"},
}
BY_PLAN = {"below_band", "above_band", "hold_short", "drying_shortened"}


def assert_found(key, record, shape):
    for cycle in (plan_of(shape), NO_PLAN):
        if cycle is NO_PLAN and key in BY_PLAN:
            continue
        found = {fault.key.value for fault in analyse(record, cycle).faults}
        assert key in found
        assert found - {key} <= BESIDE.get(key, set())


@pytest.mark.parametrize("key", FAULTS)
@pytest.mark.parametrize("step_s", [1.0, 2.0, 5.0, 10.0])
def test_a_plainly_drawn_fault_is_found_under_its_key_alone(key, step_s):
    for levers in FAULTS[key]:
        shape = replace(Shape(), **levers)
        for log in (Log(step_s=step_s), Log(step_s=step_s, noise_k=0.05, noise_kpa=0.3)):
            assert_found(key, record_of(drawn(shape), log), shape)


@pytest.mark.parametrize("offset_k", [-4.0, -2.5, 2.5, 4.0])
@pytest.mark.parametrize("step_s", [1.0, 5.0, 10.0])
def test_a_sensor_that_is_off_throughout_is_found(offset_k, step_s):
    shape = Shape()
    record = record_of(drawn(shape), Log(step_s=step_s, offset_k=offset_k))
    assert_found("sensor_offset", record, shape)


@pytest.mark.parametrize("start_s", [100.0, 700.0, 1100.0])
@pytest.mark.parametrize("step_s", [1.0, 5.0, 10.0])
def test_missing_lines_are_found_wherever_they_lie(start_s, step_s):
    shape = Shape()
    record = record_of(drawn(shape), Log(step_s=step_s))
    holed = with_gap(record, start_s, start_s + max(60.0, 5.0 * step_s))
    assert_found("record_gap", holed, shape)
