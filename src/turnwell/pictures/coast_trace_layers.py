"""The layers of a coast trace, written with the chart library."""

from copy import deepcopy
from dataclasses import dataclass
from functools import cache
from typing import Any

import altair as alt

from turnwell.pictures import palette
from turnwell.pictures.coast_runs import FALLEN_TO, CoastRuns, Curve
from turnwell.pictures.coast_trace import CoastTraceChart, coast_trace_in_words, fall_words
from turnwell.pictures.layers import framed, haloed, named, speed_axis, time_axis
from turnwell.pictures.scale import round_levels
from turnwell.pictures.speed_trace_labels import TEXT, label_width
from turnwell.words import text_of

__all__ = ["layered"]

TALL = 296
HEAD = 26
HEADROOM = 1.06
# Points of one curve; falls are smooth.
MOST_POINTS = 40
# What the axis of speeds takes off the width, in pixels.
GUTTER = 62.0
# Shares of the free speed beside which the curves are named: right of the slower fall, left of
# the faster one.
RIGHT_AT, LEFT_AT = 0.7, 0.3
TESTS = ("after", "before")


@dataclass(frozen=True, slots=True)
class _Name:
    """A curve's name: where it stands, and on which side of that place."""

    text: str
    time_s: float
    speed_rpm: float
    is_left: bool = False

    def row(self) -> dict[str, Any]:
        return {"text": self.text, "time_s": self.time_s, "speed_rpm": self.speed_rpm}


def layered(chart: CoastTraceChart, width: float, ground: str, language: str) -> dict[str, Any]:
    """Give the specification with its data."""
    made = deepcopy(_structure(chart.before is not None, ground))
    top = HEADROOM * max(test.free_speed_rpm for test in chart.tests)
    values = {"to_s": chart.stop_s, "top_rpm": top, "levels": round_levels(top)}
    for param in made["params"]:
        if param["name"] in values:
            param["value"] = values[param["name"]]
    made["description"] = coast_trace_in_words(chart, language=language)
    made["width"] = width
    made["datasets"] = {
        "unit": [{"text": "rpm"}],
        "rules": [{"speed_rpm": level} for level in round_levels(top) if level > 0],
    }
    most = min(MOST_POINTS, int(width / 8.0))
    for name, test in zip(TESTS, chart.tests, strict=False):
        made["datasets"] |= _rows(name, test, most)
    for side in ("left", "right"):
        rows = [
            name.row()
            for name in _names(chart, width, language)
            if name.is_left == (side == "left")
        ]
        made["datasets"][f"{side}_names"] = rows
    # The shares stand on the side of the later curve where the other one does not run.
    free, other = ("right", "left") if _slower(chart) is chart.after else ("left", "right")
    made["datasets"] |= {f"{free}_shares": made["datasets"]["after_marks"], f"{other}_shares": []}
    return made


def _slower(chart: CoastTraceChart) -> CoastRuns:
    """Give the test that falls to half in the longer time."""
    if chart.before is None:
        return chart.after
    times = [test.mean_time_to(0.5) or 0.0 for test in chart.tests]
    return chart.before if times[1] > times[0] else chart.after


def _rows(name: str, test: CoastRuns, most: int) -> dict[str, list[dict[str, Any]]]:
    """Give the runs, the law and the marks of one test."""
    typical = test.typical
    marks = [
        {
            "time_s": _rounded(time_s),
            "speed_rpm": share * typical.free_speed_rpm,
            "text": f"{100 * share:.0f} %",
        }
        for share in FALLEN_TO
        if (time_s := typical.time_to(share)) is not None
    ]
    runs = [
        row | {"run": number}
        for number, run in enumerate(test.runs)
        for row in _points(run.heard, most)
    ]
    law = [] if typical.law is None else _points(typical.law, most)
    return {f"{name}_runs": runs, f"{name}_law": law, f"{name}_marks": marks}


def _points(curve: Curve, most: int) -> list[dict[str, float]]:
    thin = curve.thinned(most)
    return [
        {"time_s": _rounded(time), "speed_rpm": round(speed)}
        for time, speed in zip(thin.time_s, thin.speed_rpm, strict=True)
    ]


def _rounded(time_s: float) -> float:
    return round(time_s, 4)


def _names(chart: CoastTraceChart, width: float, language: str) -> list[_Name]:
    """Name two curves beside themselves; one alone needs no name but its figure."""
    if chart.before is None:
        at = _beside(chart.after, RIGHT_AT)
        words = fall_words(chart.after, language)
        return [_Name(words, *at)] if words and at is not None else []
    slow = _slower(chart)
    px_per_s = (width - GUTTER) / chart.stop_s
    names = []
    for key, test in zip(TESTS, chart.tests, strict=True):
        is_left = test is not slow
        at = _beside(test, LEFT_AT if is_left else RIGHT_AT)
        if at is None:
            continue
        room = at[0] * px_per_s if is_left else (chart.stop_s - at[0]) * px_per_s
        short = text_of(f"pictures.{key}", language)
        full = f"{short}, {fall_words(test, language)}".rstrip(", ")
        text = full if label_width(full) + 12.0 < room else short
        # A fall too steep to be named on its inner side is named on the outer one.
        names.append(_Name(text, *at, is_left=is_left and label_width(text) + 12.0 < room))
    return names


def _beside(test: CoastRuns, share: float) -> tuple[float, float] | None:
    """Give a place on a test's typical fall."""
    time_s = test.typical.time_to(share)
    return None if time_s is None else (time_s, share * test.typical.free_speed_rpm)


@cache
def _structure(has_two: bool, ground: str) -> dict[str, Any]:
    """Write the layers with the chart library; slow, so done once for each look."""
    layers = [_rules(), _unit()]
    for name in ("before", "after") if has_two else ("after",):
        layers += _fall(name, ground)
    for side in ("left", "right"):
        layers += [*_shares_at(side, ground), *_names_at(side, ground)]
    return framed(layers, params=("to_s", "top_rpm", "levels"), height=TALL, ground=ground)


def _time() -> alt.X:
    scale = alt.Scale(domain=[0, alt.ExprRef("to_s")], nice=False)
    return alt.X("time_s:Q", scale=scale, axis=time_axis("s", format=".2~f"), title=None)


def _speed() -> alt.Y:
    axis = speed_axis()
    scale = alt.Scale(
        domain=[0, alt.ExprRef("top_rpm")], range=[alt.ExprRef("height"), HEAD], nice=False
    )
    return alt.Y("speed_rpm:Q", scale=scale, axis=axis, title=None)


def _rules() -> alt.Chart:
    rules: alt.Chart = named("rules").mark_rule(color=palette.LINE).encode(y=_speed())
    return rules


def _unit() -> alt.Chart:
    mark = named("unit").mark_text(align="right", fontSize=TEXT, color=palette.INK_SOFT, dx=-8)
    unit: alt.Chart = mark.encode(text="text:N", x=alt.value(0), y=alt.value(HEAD - 14))
    return unit


def _fall(name: str, ground: str) -> list[alt.Chart]:
    """Draw the runs of a test thin, the law firm, and the marks, open where it is the earlier."""
    is_before = name == "before"
    colour = palette.INK_SOFT if is_before else palette.INK
    dash = [6, 4] if is_before else [1, 0]
    runs = named(f"{name}_runs").mark_line(
        color=colour, strokeWidth=0.9, strokeDash=dash, clip=True
    )
    law = named(f"{name}_law").mark_line(color=colour, strokeWidth=2, strokeDash=dash, clip=True)
    marks = named(f"{name}_marks")
    circle = marks.mark_point(
        shape="circle",
        size=64,
        filled=True,
        fill=ground if is_before else colour,
        stroke=colour,
        strokeWidth=1.75,
        opacity=1,
    )
    return [
        runs.encode(x=_time(), y=_speed(), detail="run:N"),
        law.encode(x=_time(), y=_speed()),
        circle.encode(x=_time(), y=_speed()),
    ]


def _shares_at(side: str, ground: str) -> list[alt.Chart]:
    """Write the shares beside the marks: off the curve, which falls from left to right."""
    is_left = side == "left"
    look: dict[str, Any] = {
        "align": "right" if is_left else "left",
        "fontSize": TEXT,
        "dx": -9 if is_left else 9,
        "dy": 10 if is_left else -9,
    }
    return _haloed(named(f"{side}_shares"), ground, palette.INK_SOFT, look, weight=400)


def _names_at(side: str, ground: str) -> list[alt.Chart]:
    is_left = side == "left"
    look: dict[str, Any] = {
        "align": "right" if is_left else "left",
        "fontSize": TEXT,
        "dx": -9 if is_left else 9,
        "dy": 11 if is_left else -11,
    }
    return _haloed(named(f"{side}_names"), ground, palette.INK, look, weight=600)


def _haloed(
    words: alt.Chart, ground: str, colour: str, look: dict[str, Any], *, weight: Any
) -> list[alt.Chart]:
    """Set labels at their place on the fall, over a halo of the ground."""
    layers = haloed(words, ground, colour, fontWeight=weight, **look)
    return [layer.encode(x=_time(), y=_speed(), text="text:N") for layer in layers]
