"""The run history: places in time and height, its words, and the chart that comes of it."""

from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest

from turnwell.measure import Basis, Limit, Verdict
from turnwell.pictures import (
    EventKind,
    HistoryEvent,
    HistoryPanel,
    RunDot,
    RunHistory,
    RunLevel,
    run_history_in_words,
)
from turnwell.pictures.charts import svg_of

FIRST = date(2026, 1, 10)
AT_LEAST = Limit(low=20.0, high=None, source="plan", basis=Basis.OWN)


def history(days: int = 200, **panel: Any) -> RunHistory:
    dots = tuple(
        RunDot(FIRST + timedelta(days=n), 21.0 if n % 2 else 12.0, verdict)
        for n in range(0, days, 5)
        for verdict in (Verdict.WITHIN if n % 2 else Verdict.OUTSIDE,)
    )
    made = RunHistory.of(
        [HistoryPanel("Drying time", "min", dots, limit=AT_LEAST, **panel)],
        [
            HistoryEvent(FIRST + timedelta(days=30), EventKind.RETURN, "rusty bearing"),
            HistoryEvent(FIRST + timedelta(days=60), EventKind.TRAINING, "taught"),
        ],
    )
    assert made is not None
    return made


def test_nothing_to_draw_is_no_history():
    assert RunHistory.of([HistoryPanel("Drying time", "min", ())]) is None


def test_what_happened_stands_on_the_clock_of_the_runs():
    datasets = history().specification(640)["datasets"]
    assert [row["day"] for row in datasets["return"]] == [30]
    assert [row["day"] for row in datasets["trainings"]] == [60]
    assert [row["day"] for row in datasets["outside"]][:2] == [0, 10]
    assert datasets["outside"][0]["y"] > datasets["limits"][0]["y"] > datasets["within"][0]["y"]


def test_a_row_stands_only_for_what_happened():
    rows = [row["text"] for row in history().specification(640)["datasets"]["rows"]]
    assert rows == ["returns with corrosion as cause", "trainings"]


def test_a_change_is_said_with_its_day_and_levels():
    levels = (
        RunLevel(FIRST, FIRST + timedelta(days=89), 7.0, 7.0),
        RunLevel(FIRST + timedelta(days=90), FIRST + timedelta(days=195), 11.0, 11.0),
    )
    said = run_history_in_words(history(levels=levels))
    assert "From 7.0 to 11.0 min on about 10 Apr 2026" in said
    assert "Trainings: 11 Mar 2026" in said
    assert "40 runs, 12.0 to 21.0 min" in said


@pytest.mark.parametrize("width", [320, 640, 960])
@pytest.mark.parametrize("days", [10, 200, 1500])
def test_month_names_do_not_lie_on_each_other(width: int, days: int):
    made = history(days).specification(width)
    values = {param["name"]: param.get("value") for param in made["params"]}
    px = (width - 52.0) / (values["to_day"] - values["from_day"])
    places = [day * px for day in values["days"]]
    assert len(places) == len(values["months"]) >= 1
    assert all(after - before >= 40.0 for before, after in pairwise(places))


def test_it_can_be_drawn():
    assert svg_of(history().specification(320)).startswith("<svg")


def test_the_axis_of_a_pressure_never_goes_below_nothing():
    # A gauge taken for the wrong height gives such a value; its dot is held at the foot.
    dots = tuple(
        RunDot(FIRST + timedelta(days=n), value, Verdict.WITHIN)
        for n, value in enumerate((-9.6, 4.0, 31.0))
    )
    made = RunHistory.of([HistoryPanel("Lowest pressure", "kPa", dots)])
    assert made is not None
    specification = made.specification(640)
    (labels,) = (one["value"] for one in specification["params"] if one["name"] == "labels")
    assert labels[0] == "0"
    heights = [level["y"] for level in specification["datasets"]["levels"]]
    assert specification["datasets"]["within"][0]["y"] == max(heights)
