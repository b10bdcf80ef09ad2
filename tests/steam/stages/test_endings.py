"""How a run ended is said only where the rows show it, and a record cut off is said to be."""

from dataclasses import replace

import numpy as np
import pytest

from tests.steam.stages.shapes import Drawn, vacuum_run
from tests.steam.truth.faults import clean_case, faulty_case
from tests.steam.truth.plans import Kind
from tests.steam.truth.scoring import cycle_of, record_of, review_of
from turnwell.steam import analyse
from turnwell.steam.cycle import Cycle
from turnwell.steam.fault import FaultKey
from turnwell.steam.record import Record
from turnwell.steam.stage import Ending, StageKind, Sure
from turnwell.steam.stages import course_of

AT_134 = Cycle(set_c=134.0, band_k=4.0, hold_s=180.0, dry_s=600.0)
NO_PLAN = Cycle()


def until(record: Record, stop_s: float) -> Record:
    """The rows up to a time."""
    kept = record.time_s <= stop_s
    return replace(
        record,
        time_s=record.time_s[kept],
        temperature_c=record.temperature_c[kept],
        pressure_kpa=record.pressure_kpa[kept],
    )


@pytest.mark.parametrize("interval_s", [10.0, 15.0, 20.0, 30.0, 60.0])
@pytest.mark.parametrize("kind", [Kind.DYNAMIC_134, Kind.SINGLE_VACUUM_134, Kind.WEAK_PUMP_134])
def test_a_coarse_record_that_stops_at_its_air_inlet_is_no_power_cut(kind, interval_s):
    """The runs are clean; nothing is logged once the chamber is at the atmosphere."""
    for seed in range(6):
        case = clean_case(kind, seed, interval_s=interval_s)
        record = until(record_of(case), case.truth.stage("air inlet").stop_s[0])
        for cycle in (cycle_of(case), NO_PLAN):
            review = analyse(record, cycle)
            assert review.faults == ()
            assert review.course.ending in {Ending.AIR_INLET, Ending.UNKNOWN}


def in_the_vacuum(step_s: float, *, share: float = 0.5) -> Record:
    run = vacuum_run(admissions=0)
    start_s = run.edges_s()[(StageKind.DRYING, "start")]
    return run.record(step_s=step_s, stop_s=start_s + share * 600.0)


@pytest.mark.parametrize("step_s", [1.0, 2.0, 5.0, 10.0])
def test_fine_rows_that_end_in_the_vacuum_far_short_of_the_plan_are_a_cut(step_s):
    (fault,) = analyse(in_the_vacuum(step_s), AT_134).faults
    assert fault.key is FaultKey.POWER_CUT
    assert fault.sure is Sure.LIKELY


@pytest.mark.parametrize("step_s", [20.0, 60.0])
def test_coarse_rows_that_end_in_the_vacuum_leave_the_ending_open(step_s):
    review = analyse(in_the_vacuum(step_s), AT_134)
    assert review.course.ending is Ending.UNKNOWN
    assert [fault.key for fault in review.faults] == [FaultKey.DRYING_SHORTENED]
    assert "how_it_ended" in [question.key for question in review.questions]


def test_a_drying_that_ran_as_planned_up_to_the_last_row_is_not_said_to_be_cut():
    review = analyse(in_the_vacuum(1.0, share=0.98), AT_134)
    assert review.faults == ()
    assert review.course.ending is Ending.UNKNOWN


@pytest.mark.parametrize("interval_s", [10.0, 20.0, 30.0])
def test_the_door_is_found_at_coarse_steps_by_the_temperature_that_collapses(interval_s):
    for seed in range(8):
        case = faulty_case("drying_aborted", seed, interval_s=interval_s)
        assert FaultKey.DRYING_ABORTED in [fault.key for fault in review_of(case).faults]


def test_at_a_row_a_minute_the_door_is_never_called_a_controlled_inlet():
    for seed in range(12):
        review = review_of(faulty_case("drying_aborted", seed, interval_s=60.0))
        assert review.course.ending in {Ending.DOOR, Ending.UNKNOWN}
        assert {fault.key for fault in review.faults} & {
            FaultKey.DRYING_ABORTED,
            FaultKey.DRYING_SHORTENED,
        }


@pytest.mark.parametrize("cut_s", [3.0, 8.0, 15.0, 40.0, 120.0])
@pytest.mark.parametrize("cycle", [AT_134, NO_PLAN])
def test_a_record_that_ends_under_pressure_is_cut_however_short_its_hold(cut_s, cycle):
    run = vacuum_run(over_k=0.5)
    start_s = run.edges_s()[(StageKind.PLATEAU, "start")]
    (fault,) = analyse(run.record(stop_s=start_s + cut_s + 4.0), cycle).faults
    assert fault.key is FaultKey.POWER_CUT


@pytest.mark.parametrize("hold_s", [4.0, 8.0, 15.0])
def test_the_set_temperature_reached_and_left_at_once_is_a_plateau_held_too_short(hold_s):
    run = vacuum_run(hold_s=hold_s, over_k=0.5)
    review = analyse(run.record(), AT_134)
    plateau = review.course.stage(StageKind.PLATEAU)
    assert plateau.stop_s == pytest.approx(run.edges_s()[(StageKind.PLATEAU, "stop")], abs=10.0)
    assert [fault.key for fault in review.faults] == [FaultKey.HOLD_SHORT]


def test_heating_that_never_came_to_a_plateau_is_cut_but_named_no_stage():
    run = vacuum_run()
    stop_s = run.edges_s()[(StageKind.PLATEAU, "start")] - 30.0
    for cycle in (AT_134, NO_PLAN):
        record = run.record(stop_s=stop_s)
        course = course_of(record, cycle)
        assert [stage.kind for stage in course.stages] == [StageKind.NOT_RECOGNISED]
        assert course.ending is Ending.POWER_CUT
        (fault,) = analyse(record, cycle).faults
        assert fault.sure is Sure.LIKELY


def test_a_deep_dip_in_the_middle_does_not_cut_the_plateau_in_two():
    """Three kelvin under the set temperature for a minute and a half, and hot again."""
    run = Drawn(start_c=60.0).rest(20.0, 60.0)
    run.go(StageKind.AIR_REMOVAL, 13.0, 90.0, towards_c=70.0, lag_s=40.0)
    run.go(StageKind.HEATING, 304.2, 150.0).go(StageKind.PLATEAU, 309.0, 70.0)
    run.go(StageKind.PLATEAU, 277.0, 10.0).go(StageKind.PLATEAU, 277.0, 80.0)
    run.go(StageKind.PLATEAU, 309.0, 10.0).go(StageKind.PLATEAU, 309.0, 80.0)
    run.go(StageKind.EXHAUST, 102.0, 60.0).rest(600.0, 90.0)
    review = analyse(run.record(), AT_134)
    plateau = review.course.stage(StageKind.PLATEAU)
    edges = run.edges_s()
    assert plateau.start_s == pytest.approx(edges[(StageKind.PLATEAU, "start")], abs=10.0)
    assert plateau.stop_s == pytest.approx(edges[(StageKind.PLATEAU, "stop")], abs=10.0)
    keys = [fault.key for fault in review.faults]
    assert FaultKey.BELOW_BAND in keys
    assert np.isclose(review.reading("plateau_temperature_c").value, 131.0, atol=0.6)
