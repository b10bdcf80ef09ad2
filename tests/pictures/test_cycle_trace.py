"""The cycle trace: what it says, where its labels have room, and that it can be drawn."""

import math
from itertools import pairwise
from typing import Any

import pytest

from turnwell.pictures import CycleTraceChart, cycle_trace, cycle_trace_in_words
from turnwell.pictures.charts import svg_of
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


def test_a_gap_breaks_the_line():
    whole, broken = chart(), chart(record={"gaps": [{"start_s": 700.0, "stop_s": 760.0}]})
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
