"""The cycle trace: what it says, where its labels have room, and that it can be drawn."""

import json
import math
import re
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnwell.pictures import CycleTraceChart, cycle_trace, cycle_trace_in_words, palette
from turnwell.pictures.charts import svg_of
from turnwell.pictures.cycle_trace_labels import MOST_ROWS, Clock, fault_marks, words_in
from turnwell.pictures.speed_trace_labels import label_width

WIDTHS = (320, 640, 960)


def document(**changes: Any) -> dict[str, Any]:
    """A run of 30 minutes: plateau from 10 to 14, drying from 15 to 26 of 20 planned minutes."""
    times = [float(second) for second in range(0, 1801, 5)]
    temperature = [134.5 if 600 <= t <= 840 else 80.0 + t / 50.0 for t in times]
    pressure = [308.0 if 600 <= t <= 840 else 101.0 for t in times]
    stages = (
        ("air removal", 30.0, 400.0),
        ("heating", 400.0, 600.0),
        ("plateau", 600.0, 840.0),
        ("exhaust", 840.0, 900.0),
        ("drying", 900.0, 1560.0),
        ("air inlet", 1560.0, 1590.0),
    )
    made: dict[str, Any] = {
        "record": {"atmosphere_kpa": 101.3, "gaps": []},
        "cycle": {"set_c": 134.0, "band_k": 4.0, "dry_s": 1200.0},
        "stages": [{"kind": k, "start_s": start, "stop_s": stop} for k, start, stop in stages],
        "course": {"pulses": [{}, {}, {}]},
        "faults": [{"name": "Drying cut short", "start_s": 900.0, "stop_s": 1560.0}],
        "trace": {
            "time_s": times,
            "temperature_c": temperature,
            "pressure_kpa": pressure,
            "saturation_difference_k": [
                0.3 if 600 <= t <= 840 else -30.0 if t < 100 else None for t in times
            ],
        },
    }
    return made | changes


def chart(**changes: Any) -> CycleTraceChart:
    made = cycle_trace(document(**changes))
    assert made is not None
    return made


def test_it_says_stages_pulses_and_what_is_missing():
    said = cycle_trace_in_words(chart())
    assert "plateau 4.0 min" in said
    assert "3 pulses" in said
    assert "134.5 to 134.5 °C" in said
    assert "9.0 minutes of the planned drying did not run" in said
    assert "Seen: Drying cut short" in said


def test_without_a_plan_nothing_is_missing():
    made = chart(cycle={"set_c": None, "band_k": None, "dry_s": None})
    assert made.run.missing_drying is None
    assert made.specification(640)["datasets"]["missing"] == []


def test_nothing_to_draw_is_no_chart():
    assert cycle_trace(None) is None
    assert cycle_trace(document(trace={})) is None


@pytest.mark.parametrize("width", WIDTHS)
def test_names_do_not_lie_on_each_other(width: int):
    datasets = chart().specification(width)["datasets"]
    px_a_min = (width - 44.0) / 35.0
    for rows in (datasets["upper_names"], datasets["lower_names"] + datasets["figures"]):
        spans = sorted(
            (row["minutes"] * px_a_min, row["minutes"] * px_a_min + label_width(row["text"]))
            for row in rows
        )
        assert all(before[1] <= after[0] for before, after in pairwise(spans))
        assert all(stop <= width for _, stop in spans)
    named = {row["text"] for row in datasets["upper_names"] + datasets["lower_names"]}
    assert {"plateau", "drying"} <= named


def with_gap(start_s, stop_s):
    return {"atmosphere_kpa": 101.3, "gaps": [{"start_s": start_s, "stop_s": stop_s}]}


def test_a_gap_breaks_the_line():
    whole, broken = chart(), chart(record=with_gap(700.0, 760.0))
    assert len(whole.run.temperature.pieces) == 1
    assert len(broken.run.temperature.pieces) == 2


def test_a_record_without_pressure_has_one_panel():
    nothing = [None] * 361
    trace = document()["trace"] | {"pressure_kpa": nothing, "saturation_difference_k": nothing}
    datasets = chart(trace=trace).specification(640)["datasets"]
    assert [row["text"] for row in datasets["titles"]] == ["temperature, °C"]
    assert datasets["pressure"] == datasets["difference"] == []


def test_air_before_the_plateau_leaves_the_panel_alone():
    heights = [row["y"] for row in chart().specification(640)["datasets"]["difference"]]
    assert len(heights) == 49
    assert max(heights) - min(heights) < 1.0


def test_thinning_keeps_the_extremes():
    made = chart().run.temperature
    thin = made.thinned(40)
    assert len(thin.points) <= 2 * 41 + 2
    values = [value for _, value in made.points]
    kept = [value for _, value in thin.points]
    assert math.isclose(max(values), max(kept))
    assert math.isclose(min(values), min(kept))


@pytest.mark.parametrize("width", WIDTHS)
def test_it_can_be_drawn(width: int):
    drawn = svg_of(chart().specification(width))
    assert drawn.startswith("<svg")
    assert "plateau" in drawn


def a_fault(name: str, start_s: float, stop_s: float) -> dict[str, Any]:
    return {"name": name, "start_s": start_s, "stop_s": stop_s}


NAMES = st.sampled_from(("Power cut", "Vacuum not reached", "Below the temperature band"))
FAULTS = st.lists(
    st.tuples(NAMES, st.floats(0.0, 1800.0), st.floats(0.0, 900.0)), min_size=1, max_size=6
)


@given(FAULTS, st.sampled_from(WIDTHS))
def test_words_of_faults_lie_on_no_word_and_no_stroke(faults, width: int):
    run = chart(
        faults=[a_fault(name, start, min(start + long, 1800.0)) for name, start, long in faults]
    ).run
    clock = Clock(width - 44.0, run.axis_stop_min)
    marks = fault_marks(run, clock)
    assert len(marks) == len(faults)
    words = [
        (mark.text_row, clock.px(mark.text_min), clock.px(mark.text_min) + label_width(mark.text))
        for mark in marks
        if mark.text
    ]
    strokes = [(mark.row, clock.px(mark.start_min), clock.px(mark.stop_min)) for mark in marks]
    assert all(start >= -0.01 and stop <= width - 44.0 + 0.01 for _, start, stop in words)
    assert all(row < MOST_ROWS for row, *_ in words + strokes)
    for number, (row, start, stop) in enumerate(words):
        for other_row, begin, end in words[number + 1 :] + strokes:
            assert row != other_row or stop <= begin + 0.01 or end <= start + 0.01


def test_a_single_fault_is_named_at_every_width():
    for width in WIDTHS:
        datasets = chart().specification(width)["datasets"]
        assert [row["text"] for row in datasets["fault_words"]] == ["Drying cut short"]


def test_a_moment_of_a_fault_can_be_seen():
    made = chart(faults=[a_fault("Power cut", 1800.0, 1800.0)])
    clock = Clock(276.0, made.run.axis_stop_min)
    (mark,) = fault_marks(made.run, clock)
    assert clock.px(mark.stop_min) - clock.px(mark.start_min) >= 4.9


def test_a_gap_between_thinned_points_is_boxed_and_breaks_the_line():
    # Neither end of the gap is a point of the curve.
    made = chart(record=with_gap(701.3, 762.7))
    assert len(made.run.pressure.pieces) == 2
    boxes = made.specification(640)["datasets"]["gaps"]
    assert len(boxes) == 3
    assert all(math.isclose(box["minutes"], 701.3 / 60.0) for box in boxes)
    assert "are missing: 1." in cycle_trace_in_words(made)


def test_drying_that_did_not_run_is_hatched_inside_its_box():
    datasets = chart().specification(640)["datasets"]
    (box,) = datasets["missing"]
    assert box["minutes"] == 26.0
    assert box["to_min"] == 35.0
    assert len(datasets["hatch"]) > 10
    for stroke in datasets["hatch"]:
        assert box["minutes"] - 0.01 <= stroke["minutes"] < stroke["to_min"]
        assert stroke["to_min"] <= box["to_min"] + 0.01
        assert box["y"] - 0.1 <= stroke["to_y"] < stroke["y"] <= box["to_y"] + 0.1


def test_the_allowed_difference_is_that_of_its_reading():
    limit = {"low": -1.5, "high": 2.5}
    reading = {"key": "saturation_difference_k", "limit": limit}
    assert chart(readings=[reading]).run.allowed_k == (-1.5, 2.5)
    assert chart().run.allowed_k == (-2.0, 2.0)


def test_where_there_is_no_steam_it_says_so():
    wide = chart().specification(960)["datasets"]["untold"]
    assert [row["text"] for row in wide] == ["no steam here, nothing to compare"]
    # In the middle of the longest stretch without a difference: 14 to 30 min.
    assert wide[0]["minutes"] == pytest.approx(22.0)


def test_the_longer_of_two_wordings_is_taken_where_it_has_room():
    clock = Clock(300.0, 30.0)
    assert words_in("a long wording", "short", 0.0, 30.0, clock) == "a long wording"
    assert words_in("a long wording", "short", 0.0, 7.0, clock) == "short"
    assert words_in("a long wording", "short", 0.0, 1.0, clock) == ""


def test_only_colours_of_the_house_are_drawn():
    text = json.dumps(chart().specification(640)) + svg_of(chart().specification(640))
    colours = {colour.upper() for colour in re.findall(r"#[0-9A-Fa-f]{6}\b", text)}
    own = {getattr(palette, name).upper() for name in palette.__all__}
    assert palette.OUTSIDE.upper() in colours
    # The chart program's own black is what it gives marks without a colour; none is drawn.
    assert colours <= own
