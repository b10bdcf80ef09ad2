"""Faults that look alike, and clean runs that look like one, in runs of straight lines."""

from dataclasses import replace

import numpy as np
import pytest

from tests.steam.plain import Log, Shape, drawn, plan_of, record_of, with_gap
from tests.steam.truth.faults import clean_case
from tests.steam.truth.plans import Kind
from tests.steam.truth.scoring import cycle_of
from tests.steam.truth.scoring import record_of as logged_of
from turnwell.steam import analyse
from turnwell.steam.fault import FaultKey
from turnwell.steam.record import Record
from turnwell.steam.stage import StageKind

K = FaultKey


def keys(record: Record, shape: Shape) -> list[FaultKey]:
    return [fault.key for fault in analyse(record, plan_of(shape)).faults]


@pytest.mark.parametrize("set_c", [121.0, 134.0])
@pytest.mark.parametrize("step_s", [1.0, 10.0])
def test_superheat_after_one_steam_pulse_is_no_offset_though_air_may_be_in_its_top(set_c, step_s):
    shape = Shape(
        set_c=set_c, lows_kpa=(15.0, 15.0), top_s=10.0, superheat_k=3.0, band_k=6.0, dry_kpa=5.0
    )
    assert keys(record_of(drawn(shape), Log(step_s=step_s)), shape) == [K.SUPERHEAT]


@pytest.mark.parametrize("step_s", [1.0, 5.0])
def test_an_offset_after_one_steam_pulse_is_still_an_offset(step_s):
    shape = Shape(lows_kpa=(15.0, 15.0), top_s=10.0, band_k=6.0, dry_kpa=5.0)
    record = record_of(drawn(shape), Log(step_s=step_s, offset_k=3.0))
    assert keys(record, shape) == [K.SENSOR_OFFSET]


def test_a_sensor_that_reads_low_in_every_stretch_is_no_leak_however_slow_the_pump():
    shape = Shape(set_c=121.0, over_k=1.0, top_s=10.0, dry_kpa=11.0, pull_s=140.0, dry_pull_s=160.0)
    found = keys(record_of(drawn(shape), Log(offset_k=-3.0)), shape)
    assert K.SENSOR_OFFSET in found
    assert K.AIR_LEAK_SUSPECTED not in found


@pytest.mark.parametrize("rest_kpa", [84.56, 101.325])
def test_a_pump_that_takes_its_time_in_drying_without_a_shoulder_is_no_overload(rest_kpa):
    shape = Shape(rest_kpa=rest_kpa, pull_s=50.0, dry_pull_s=150.0, dry_kpa=9.0)
    assert keys(record_of(drawn(shape), Log(), rest_kpa=rest_kpa), shape) == []


@pytest.mark.parametrize("before_s", [10.0, 60.0])
def test_a_drying_whose_beginning_is_among_missing_lines_is_not_called_short(before_s):
    shape = Shape()
    line = drawn(shape)
    at_s = dict(line.marks)[StageKind.DRYING]
    record = with_gap(record_of(line, Log(step_s=2.0)), at_s - before_s, at_s + 120.0 - before_s)
    assert keys(record, shape) == [K.RECORD_GAP]


@pytest.mark.parametrize("kind", Kind)
def test_no_line_is_missing_from_a_roll_written_where_stages_change(kind):
    for seed in range(3):
        case = clean_case(kind, seed, interval_s=1.0)
        record = logged_of(case)
        ends_s = [span.stop_s[1] for span in case.truth.stages]
        held = case.truth.stage("plateau")
        minutes = np.arange(held.start_s[1], held.stop_s[0], 60.0)
        at_s = [0.0, *ends_s, *minutes, record.time_s[-1]]
        rows = sorted({int(np.argmin(np.abs(record.time_s - one))) for one in at_s})
        roll = replace(
            record,
            time_s=record.time_s[rows],
            temperature_c=record.temperature_c[rows],
            pressure_kpa=record.pressure_kpa[rows],
        )
        assert analyse(roll, cycle_of(case)).faults == ()
