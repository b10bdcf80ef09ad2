"""The lines of one record: the drying first, what is not known said, and never a release."""

from dataclasses import replace

import numpy as np
import pytest

from turnwell.cli.steam.text import review_lines
from turnwell.cli.write import folded
from turnwell.measure import Basis, Limit, cannot_tell, reading
from turnwell.steam import (
    Course,
    Cycle,
    Ending,
    Fault,
    FaultKey,
    Question,
    Record,
    Review,
    RowCounts,
    Stage,
    StageKind,
    Sure,
)
from turnwell.words import Message, text_of

WHY = Message("measure.not_measured")
COLUMNS = {"time": 1, "temperature": 2, "pressure": 3}
UNITS = {"temperature": "C", "pressure": "bar", "pressure_zero": "gauge"}


def drying(seconds, *, planned=None):
    limit = None if planned is None else Limit(planned, None, "the plan", Basis.OWN)
    return reading("drying_time_s", seconds, seconds - 2.0, seconds + 2.0, "s", limit=limit)


def review(*readings, faults=(), questions=(), counts=None, cycle=None, stages=None):
    time_s = np.concatenate([np.arange(0.0, 600.0), np.arange(700.0, 1300.0)])
    record = Record(
        time_s=time_s,
        temperature_c=np.full(time_s.size, 134.0),
        pressure_kpa=np.full(time_s.size, 304.0),
        counts=counts or RowCounts(1200, 1200),
        columns=COLUMNS,
        units=UNITS,
        sha256="0" * 64,
    )
    stages = stages or (
        Stage(StageKind.HEATING, 0.0, 300.0, Sure.CLEAR, WHY),
        Stage(StageKind.PLATEAU, 300.0, 1299.0, Sure.LIKELY, WHY),
    )
    return Review(
        record=record,
        cycle=cycle or Cycle(),
        course=Course(stages, (), (), Ending.UNKNOWN, WHY),
        readings=readings,
        faults=faults,
        questions=questions,
        saturation_difference_k=np.full(time_s.size, np.nan),
    )


F0 = reading("f0_min", 61.0, 55.0, 68.0, "min")


def lines(made):
    return list(review_lines(made, "run.csv"))


@pytest.mark.parametrize(
    ("dried", "begins"),
    [
        (drying(620.0, planned=600.0), "Drying ran as planned: 10:20"),
        (drying(180.0, planned=600.0), "Drying did not run as planned: 3:00"),
        (drying(601.0, planned=600.0), "Drying ran for 10:01 (minutes:seconds); whether that is"),
        (drying(620.0), "Drying ran for 10:20 (minutes:seconds); what was planned was not said"),
        (cannot_tell("drying_time_s", "s", WHY), "How the drying went cannot be told"),
    ],
)
def test_the_first_sentence_is_the_drying(dried, begins):
    assert lines(review(F0, dried))[0].startswith(begins)


def test_a_fault_of_the_drying_is_said_before_its_time():
    fault = Fault(FaultKey.VACUUM_NOT_REACHED, WHY, Sure.CLEAR)
    shown = lines(review(F0, drying(620.0, planned=600.0), faults=(fault,)))
    assert shown[0] == "Drying did not run as it should: vacuum not reached."
    assert f"  Vacuum not reached (clear): {text_of(WHY)}" in shown


def test_other_faults_follow_and_none_is_said_too():
    fault = Fault(FaultKey.AIR_NOT_REMOVED, WHY, Sure.LIKELY)
    assert lines(review(F0, drying(620.0), faults=(fault,)))[1] == "Found: air not removed."
    assert "none was recognised" in lines(review(F0, drying(620.0)))[1]


def test_without_a_plateau_nothing_is_said_to_be_in_order():
    shown = lines(review(cannot_tell("f0_min", "min", WHY)))
    assert shown[1].startswith("No plateau was recognised")
    assert not any("none was recognised" in line for line in shown)


def test_the_record_is_described_and_its_rows_counted():
    counts = RowCounts(1210, 1200, broken=7, duplicate=3, first_broken=(17, 20))
    shown = lines(review(F0, counts=counts))
    assert "run.csv: 1,200 rows, one every 1 s, 21:39" in shown
    assert any(
        line.startswith("Columns: time in 1, temperature in 2, pressure in 3") for line in shown
    )
    assert any("Units: temperature °C, pressure bar gauge." in line for line in shown)
    assert "Rows left out: 7 broken, 3 repeated; first at line 17." in shown
    assert "Gap: no rows from 9:59 to 11:40." in shown
    assert "  heating            0:00 to    5:00  clear" in shown


def test_the_plan_is_shown_with_its_source():
    plan = Cycle(name="one", set_c=134.0, band_k=3.0, hold_s=210.0, source="a table")
    assert "Held against one: 134 °C, 3 K band, 3.5 min holding (a table)." in lines(
        review(F0, cycle=plan)
    )
    assert any(line.startswith("Held against no plan") for line in lines(review(F0)))


def test_questions_are_asked_and_the_last_line_releases_nothing():
    question = Question("wet_at_start", WHY)
    shown = lines(review(F0, questions=(question,)))
    assert f"  - {text_of(WHY)}" in shown
    assert shown[-1] == text_of("steam.releases_no_load")
    assert "releases no load" in shown[-1]


def test_lines_fit_eighty_columns():
    made = review(F0, drying(620.0, planned=600.0))
    for line in lines(replace(made, cycle=Cycle(set_c=134.0, band_k=3.0, source="a " * 60))):
        assert all(len(part) <= 80 for part in folded(line))


def test_the_sterilizer_is_at_rest_before_and_after_but_not_in_the_midst():
    kinds = (
        StageKind.NOT_RECOGNISED,
        StageKind.HEATING,
        StageKind.NOT_RECOGNISED,
        StageKind.PLATEAU,
        StageKind.NOT_RECOGNISED,
    )
    stages = tuple(
        Stage(kind, 60.0 * at, 60.0 * at + 60.0, Sure.DOUBTFUL, WHY)
        for at, kind in enumerate(kinds)
    )
    shown = lines(review(F0, stages=stages))
    assert "  at rest            0:00 to    1:00" in shown
    assert "  not recognised     2:00 to    3:00  doubtful" in shown
    assert "  at rest            4:00 to    5:00" in shown
    lost = lines(review(F0, stages=stages[:1]))
    assert "  not recognised     0:00 to    1:00  doubtful" in lost, "nothing ran: no rest either"


def test_long_times_are_minutes_and_seconds_and_short_ones_seconds():
    shown = lines(review(F0, drying(620.0, planned=600.0)))
    line = next(line for line in shown if line.startswith("  Drying time:"))
    assert line.startswith("  Drying time: 10:20 (10:18 to 10:22), within.")
    assert line.endswith("Limit: at least 10:00, the plan.")
    quick = lines(review(F0, drying(48.0)))
    assert any(line.startswith("  Drying time: 48.0 s (46.0 to 50.0)") for line in quick)


def test_a_rounded_time_never_belies_its_verdict():
    near = reading(
        "drying_time_s", 600.0, 599.7, 601.0, "s", limit=Limit(600.0, None, "the plan", Basis.OWN)
    )
    line = next(line for line in lines(review(F0, near)) if line.startswith("  Drying time:"))
    assert "599.7" in line
    assert "not proven" in line


def test_what_cannot_be_told_is_said_once():
    lost = cannot_tell("drying_time_s", "s", Message("steam.ended_before_drying"))
    shown = lines(review(F0, lost))
    assert "  Drying time: cannot tell: the record ends before any drying." in shown
    assert shown[0].count("annot") == 1


def test_rows_without_a_value_are_counted():
    made = review(F0)
    temperature_c = made.record.temperature_c.copy()
    temperature_c[10:30] = np.nan
    holed = replace(made, record=replace(made.record, temperature_c=temperature_c))
    assert "Values missing: temperature in 20 rows." in lines(holed)
    assert not any(line.startswith("Values missing") for line in lines(made))


@pytest.mark.parametrize(("zero", "is_said"), [("gauge", True), ("absolute", False)])
def test_a_gauge_added_to_the_air_of_the_sea_unasked_is_said(zero, is_said):
    made = review(F0)
    record = replace(
        made.record, columns={"time": 1}, units={"pressure": "psi", "pressure_zero": zero}
    )
    said = " ".join(lines(replace(made, record=record)))
    assert ("that of the sea: --altitude" in said) is is_said
