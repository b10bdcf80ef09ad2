"""The stages of drawn runs of every usual shape, and the laws that any course obeys."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.steam.stages.shapes import (
    Drawn,
    gravity_run,
    heat_and_hold,
    pressure_pulse_run,
    vacuum_run,
)
from turnwell.errors import CannotTellError
from turnwell.steam.cycle import Cycle
from turnwell.steam.record import Record
from turnwell.steam.stage import Ending, StageKind, Sure
from turnwell.steam.stages import course_of
from turnwell.words import text_of

NO_PLAN = Cycle()
AT_134 = Cycle(set_c=134.0, band_k=4.0)


def edges_of(course):
    edges = {}
    for stage in course.stages:
        if stage.kind is not StageKind.NOT_RECOGNISED:
            edges.setdefault((stage.kind, "start"), stage.start_s)
            edges[(stage.kind, "stop")] = stage.stop_s
    return edges


def assert_as_drawn(run, record, cycle, ending):
    """Boundaries within two samples or 10 s, and nothing that was not drawn."""
    course = course_of(record, cycle)
    found, drawn = edges_of(course), run.edges_s()
    assert found.keys() == drawn.keys()
    allowed = max(10.0, 2.0 * record.interval_s)
    for edge, at_s in drawn.items():
        assert found[edge] == pytest.approx(min(at_s, record.time_s[-1]), abs=allowed), edge
    assert len(course.pulses) == run.pulses
    assert len(course.admissions) == run.admissions
    assert course.ending is ending
    return course


SHAPES = {
    "one vacuum": (vacuum_run(lows_kpa=(12.0,), admissions=0), Ending.AIR_INLET),
    "six vacua": (vacuum_run(lows_kpa=(15.0,) * 6, admissions=6, dry_s=1000.0), Ending.AIR_INLET),
    "weak pump": (vacuum_run(lows_kpa=(38.0, 35.0, 32.0), dry_kpa=30.0), Ending.AIR_INLET),
    "vacuum not reached": (
        vacuum_run(dry_kpa=62.0, admissions=0),
        Ending.AIR_INLET,
    ),
    "admissions to 80 kPa": (vacuum_run(admit_kpa=80.0), Ending.AIR_INLET),
    "at 3,000 m": (vacuum_run(rest_kpa=70.1, dry_kpa=20.0, admit_kpa=45.0), Ending.AIR_INLET),
    "hold cut to half a minute": (vacuum_run(hold_s=30.0), Ending.AIR_INLET),
    "at 121 °C": (vacuum_run(set_c=121.0, hold_s=900.0, high_kpa=190.0), Ending.AIR_INLET),
    "door": (vacuum_run(ending="door"), Ending.DOOR),
    "pulses of pressure": (pressure_pulse_run(), Ending.UNKNOWN),
    "gravity": (gravity_run(), Ending.UNKNOWN),
    "gravity, vent at 109 kPa": (gravity_run(vent_kpa=8.0), Ending.UNKNOWN),
    "gravity, opened": (gravity_run(door=True), Ending.DOOR),
}


@pytest.mark.parametrize("step_s", [1.0, 5.0, 10.0])
@pytest.mark.parametrize("shape", SHAPES)
def test_the_stages_of_every_usual_shape_are_found(shape, step_s):
    run, ending = SHAPES[shape]
    assert_as_drawn(run, run.record(step_s=step_s), NO_PLAN, ending)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("shape", ["six vacua", "weak pump", "door", "pulses of pressure"])
def test_noise_and_whole_degrees_do_not_move_a_boundary_beyond_its_bounds(shape, seed):
    run, ending = SHAPES[shape]
    record = run.record(noise_k=0.3, noise_kpa=1.2, digit_k=1.0, seed=seed)
    assert_as_drawn(run, record, NO_PLAN, ending)


@pytest.mark.parametrize("rest_kpa", [70.1, 79.5, 89.9])
def test_the_atmosphere_is_taken_from_a_chamber_that_rests_at_both_ends(rest_kpa):
    run = vacuum_run(rest_kpa=rest_kpa, dry_kpa=8.0, admit_kpa=35.0)
    assert_as_drawn(run, run.record(given_kpa=101.325), AT_134, Ending.AIR_INLET)


def test_the_plan_says_where_the_plateau_begins():
    """A slow last degree: the flat top begins later than the set temperature is reached."""
    run = vacuum_run(over_k=2.5, rate_kpa_s=0.5)
    planned = course_of(run.record(noise_k=0.0, digit_k=0.01), AT_134)
    free = course_of(run.record(noise_k=0.0, digit_k=0.01), NO_PLAN)
    start_s = run.edges_s()[(StageKind.PLATEAU, "start")]
    assert planned.stage(StageKind.PLATEAU).start_s == pytest.approx(start_s, abs=4.0)
    assert free.stage(StageKind.PLATEAU).start_s > start_s + 10.0


@pytest.mark.parametrize("set_c", [121.0, 132.0, 135.0, 138.0])
def test_a_plan_that_is_not_met_leaves_the_plateau_to_its_flat_top(set_c):
    run = vacuum_run()
    plateau = course_of(run.record(), Cycle(set_c=set_c)).stage(StageKind.PLATEAU)
    edges = run.edges_s()
    assert plateau.start_s == pytest.approx(edges[(StageKind.PLATEAU, "start")], abs=10.0)
    assert plateau.stop_s == pytest.approx(edges[(StageKind.PLATEAU, "stop")], abs=10.0)


@pytest.mark.parametrize("bump_k", [-3.0, 6.0])
def test_a_dip_or_a_crest_does_not_end_the_plateau(bump_k):
    run = vacuum_run(hold_s=300.0)
    start_s = run.edges_s()[(StageKind.PLATEAU, "start")]
    record = run.record()
    inside = (record.time_s > start_s + 100.0) & (record.time_s < start_s + 150.0)
    kelvin = record.temperature_c + bump_k * inside
    kpa = record.pressure_kpa + 9.0 * bump_k * inside
    assert_as_drawn(
        run,
        replace(record, temperature_c=kelvin, pressure_kpa=kpa),
        AT_134,
        Ending.AIR_INLET,
    )


def test_a_cut_in_the_hold_is_a_power_cut():
    run = vacuum_run()
    start_s = run.edges_s()[(StageKind.PLATEAU, "start")]
    course = course_of(run.record(stop_s=start_s + 60.0), AT_134)
    assert course.ending is Ending.POWER_CUT
    assert course.stages[-1].kind is StageKind.PLATEAU


def test_a_cut_in_the_drying_is_a_power_cut_though_air_was_admitted():
    run = vacuum_run(admissions=1)
    stop_s = run.edges_s()[(StageKind.DRYING, "stop")]
    course = course_of(run.record(stop_s=stop_s - 60.0), AT_134)
    assert course.ending is Ending.POWER_CUT
    assert course.stage(StageKind.AIR_INLET) is None
    assert len(course.admissions) == 1


def test_a_chamber_that_cools_closed_has_no_drying():
    run = Drawn(start_c=60.0).rest(20.0, 60.0)
    run.go(StageKind.AIR_REMOVAL, 12.0, 70.0, tau_s=22.0, towards_c=70.0, lag_s=40.0)
    heat_and_hold(run, 134.0, 100.0, 2.5, 0.8)
    run.go(StageKind.EXHAUST, 60.0, 2400.0, tau_s=700.0)
    course = course_of(run.record(), AT_134)
    assert course.ending is Ending.POWER_CUT
    assert course.stage(StageKind.DRYING) is None
    assert "no valve opened" in text_of(course.ending_why, "en")


def test_air_that_seeps_in_is_no_valve():
    run = vacuum_run(inlet_s=1200.0, admissions=0)
    assert course_of(run.record(), AT_134).ending is Ending.UNKNOWN


def test_a_record_that_stops_as_air_comes_in_still_ends_by_its_inlet():
    run = vacuum_run(rest_s=0.0)
    course = course_of(run.record(noise_kpa=0.2), AT_134)
    assert course.ending is Ending.AIR_INLET
    assert course.stage(StageKind.DRYING).stop_s == pytest.approx(
        run.edges_s()[(StageKind.DRYING, "stop")], abs=10.0
    )


def test_temperature_alone_gives_stages_but_neither_pulses_nor_an_ending():
    run = gravity_run()
    record = run.record(with_pressure=False)
    course = assert_as_drawn(run, record, NO_PLAN, Ending.UNKNOWN)
    assert all(stage.sure is not Sure.CLEAR for stage in course.stages)
    pulsed = course_of(vacuum_run().record(with_pressure=False), AT_134)
    assert pulsed.pulses == ()
    assert pulsed.ending is Ending.UNKNOWN
    assert "No pressure was logged" in text_of(pulsed.ending_why, "en")


def test_missing_values_and_a_gap_do_not_move_the_stages():
    run = vacuum_run()
    record = run.record()
    kelvin, kpa = record.temperature_c.copy(), record.pressure_kpa.copy()
    kelvin[::7] = np.nan
    kpa[3::11] = np.nan
    keep = (record.time_s < 600.0) | (record.time_s > 660.0)
    holed = replace(
        record, time_s=record.time_s[keep], temperature_c=kelvin[keep], pressure_kpa=kpa[keep]
    )
    assert_as_drawn(run, holed, AT_134, Ending.AIR_INLET)


def said(record, words):
    """Write one word beside every row of a stage."""
    course = course_of(record, AT_134)
    text = [""] * record.time_s.size
    for stage in course.stages:
        for index in np.flatnonzero(
            (record.time_s >= stage.start_s) & (record.time_s < stage.stop_s)
        ):
            text[int(index)] = words.get(stage.kind, "")
    return replace(record, stage_text=tuple(text))


@pytest.mark.parametrize("word", ["Trocknung", "SECHAGE", "Secado", "asciugatura", "DRY 2"])
def test_the_records_own_words_are_evidence(word):
    record = said(vacuum_run().record(), {StageKind.DRYING: word})
    stage = course_of(record, AT_134).stage(StageKind.DRYING)
    assert stage.sure is Sure.CLEAR
    assert "say the same" in text_of(stage.why, "en")


def test_the_records_own_words_are_not_truth():
    record = vacuum_run().record()
    lying = said(record, {StageKind.DRYING: "sterilize", StageKind.PLATEAU: "drying"})
    course = course_of(lying, AT_134)
    assert edges_of(course) == edges_of(course_of(record, AT_134))
    stage = course.stage(StageKind.DRYING)
    assert stage.sure is Sure.LIKELY
    assert "something else" in text_of(stage.why, "en")


def level(temperature_c, pressure_kpa, count=600):
    return Record(
        np.arange(float(count)), np.full(count, temperature_c), np.full(count, pressure_kpa)
    )


def broken_off():
    run = Drawn(start_c=30.0).rest(20.0, 30.0)
    run.go(StageKind.HEATING, 205.0, 200.0).go(StageKind.EXHAUST, 103.0, 120.0)
    return run.rest(300.0, 80.0).record()


NOTHING = {
    "cold": level(25.0, 101.3),
    "hot throughout": level(134.0, 304.0),
    "no value": level(np.nan, np.nan),
    "no temperature": level(np.nan, 300.0),
    "two rows": level(134.0, 304.0, 2),
    "heating broken off": broken_off(),
}


@pytest.mark.parametrize("what", NOTHING)
@pytest.mark.parametrize("cycle", [AT_134, NO_PLAN])
def test_what_is_no_run_is_not_recognised(what, cycle):
    record = NOTHING[what]
    course = course_of(record, cycle)
    assert [stage.kind for stage in course.stages] == [StageKind.NOT_RECOGNISED]
    assert course.stages[0].stop_s == record.time_s[-1]
    assert course.pulses == ()
    assert course.ending is Ending.UNKNOWN


def test_two_runs_in_one_record_are_refused():
    one = vacuum_run().record()
    two = Record(
        np.concatenate((one.time_s, one.time_s + one.time_s[-1] + 600.0)),
        np.tile(one.temperature_c, 2),
        np.tile(one.pressure_kpa, 2),
    )
    with pytest.raises(CannotTellError, match="2 runs"):
        course_of(two, AT_134)


def assert_covering(record, course):
    assert course.stages[0].start_s == record.time_s[0]
    assert course.stages[-1].stop_s == record.time_s[-1]
    assert all(one.stop_s == two.start_s for one, two in pairwise(course.stages))
    assert all(stage.start_s < stage.stop_s for stage in course.stages)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(1.0, 400.0), st.floats(5.0, 145.0), st.integers(1, 60)),
        min_size=2,
        max_size=12,
    ),
    st.booleans(),
)
def test_any_curve_is_covered_in_order(parts, planned):
    kpa = np.concatenate([np.full(count, pressure) for pressure, _, count in parts])
    kelvin = np.concatenate([np.full(count, temperature) for _, temperature, count in parts])
    record = Record(np.arange(float(kpa.size)) * 3.0, kelvin, kpa)
    try:
        course = course_of(record, AT_134 if planned else NO_PLAN)
    except CannotTellError:
        return
    assert_covering(record, course)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.0, 86_400.0))
def test_another_clock_shifts_the_stages_and_nothing_else(shift_s):
    record = vacuum_run(admissions=1).record(step_s=2.0)
    moved = replace(record, time_s=record.time_s + shift_s)
    before, after = course_of(record, AT_134), course_of(moved, AT_134)
    assert [stage.kind for stage in before.stages] == [stage.kind for stage in after.stages]
    for one, two in zip(before.stages, after.stages, strict=True):
        assert two.start_s - shift_s == pytest.approx(one.start_s, abs=1e-6)


@pytest.mark.parametrize("shape", ["six vacua", "gravity", "door"])
@pytest.mark.parametrize("step_s", [2, 4, 8])
def test_leaving_rows_out_moves_no_boundary_by_more_than_the_bounds(shape, step_s):
    fine = SHAPES[shape][0].record()
    coarse = replace(
        fine,
        time_s=fine.time_s[::step_s],
        temperature_c=fine.temperature_c[::step_s],
        pressure_kpa=fine.pressure_kpa[::step_s],
    )
    one, two = edges_of(course_of(fine, NO_PLAN)), edges_of(course_of(coarse, NO_PLAN))
    assert one.keys() == two.keys()
    for edge, at_s in one.items():
        assert two[edge] == pytest.approx(at_s, abs=max(10.0, 2.0 * step_s))
