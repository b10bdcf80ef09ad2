"""The layers of a cycle trace, written with the chart library.

The three panels are one plot: every value is put to its height in pixels here, so that washes and
stage borders run through all of them.
"""

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass
from functools import cache
from math import ceil, floor
from typing import Any

import altair as alt

from turnwell.pictures import palette
from turnwell.pictures.cycle_run import CycleRun, Series
from turnwell.pictures.cycle_trace import CycleTraceChart, cycle_trace_in_words, stage_name
from turnwell.pictures.figures import written
from turnwell.pictures.layers import dressed, named
from turnwell.pictures.speed_trace_labels import TEXT, label_width
from turnwell.words import text_of

__all__ = ["layered"]

TALL = 440
# Of the plot itself: the whole less the axis of time.
BOTTOM = "height"
HEAD = 48
ROWS = (14, 32)
# What the axis of values takes off the width, in pixels.
GUTTER = 44.0
# Of each curve, so many pixels a column of two points.
PX_A_COLUMN = 2.5
# Stages are named in this order as long as there is room; a shorter one gets no figure.
NAMED_FIRST = ("plateau", "drying", "air removal", "heating", "exhaust", "air inlet")
LEAST_MIN = 0.1
# How far off the difference's panel reaches at least, and at most, in K.
LEAST_K, MOST_K = 3.0, 12.0
ALLOWED_K = 2.0


@dataclass(frozen=True, slots=True)
class _Panel:
    """A band of the plot with its own scale; `top` and `bottom` in pixels from above."""

    key: str
    top: float
    bottom: float
    low: float
    high: float
    levels: tuple[float, ...]

    def y(self, value: float) -> float:
        """Give the height of a value in pixels; beyond the ends it is held there."""
        part = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return round(self.bottom - part * (self.bottom - self.top), 2)


def layered(chart: CycleTraceChart, width: float, ground: str, language: str) -> dict[str, Any]:
    """Give the specification with its data."""
    run = chart.run
    made = deepcopy(_structure(ground))
    panels = _panels(run)
    ticks = [(panel.y(level), written(level, 0)) for panel in panels for level in panel.levels]
    values = {
        "to_min": run.axis_stop_min,
        "heights": [height for height, _ in ticks],
        "labels": [text for _, text in ticks],
    }
    for param in made["params"]:
        if param["name"] in values:
            param["value"] = values[param["name"]]
    made["description"] = cycle_trace_in_words(chart, language=language)
    made["width"] = width
    made["datasets"] = {
        "levels": [{"y": height} for height, _ in ticks],
        "zeros": [{"y": panel.y(0.0)} for panel in panels if panel.key == "difference"],
        "atmosphere": [{"y": p.y(run.atmosphere_kpa)} for p in panels if p.key == "pressure"],
        "titles": [
            {"y": panel.top - 6.0, "text": text_of(f"pictures.cycletrace.{panel.key}", language)}
            for panel in panels
        ],
        "washes": list(_washes(run, panels)),
        "missing": _missing(run),
        "borders": [{"minutes": stage.start_min} for stage in run.stages if stage.start_min > 0.0],
        "brackets": _brackets(run),
        "faults": [
            {"minutes": f.start_min, "to_min": max(f.stop_min, f.start_min + _least(run, width))}
            for f in run.faults
        ],
        **_heads(run, width, language),
        **_curves(run, panels, width),
    }
    return made


def _panels(run: CycleRun) -> list[_Panel]:
    """Share the height among what was logged."""
    shares = {"temperature": 4.0, "pressure": 4.0, "difference": 2.0}
    curves = {
        "temperature": run.temperature,
        "pressure": run.pressure,
        "difference": run.difference,
    }
    drawn = [key for key in shares if curves[key].points]
    room = TALL - HEAD - 26.0 * len(drawn)
    panels, top = [], float(HEAD)
    for key in drawn:
        tall = room * shares[key] / sum(shares[one] for one in drawn)
        low, high, levels = _scale(key, curves[key], run)
        panels.append(_Panel(key, top + 24.0, top + 24.0 + tall, low, high, levels))
        top += tall + 26.0
    return panels


def _scale(key: str, curve: Series, run: CycleRun) -> tuple[float, float, tuple[float, ...]]:
    """Give the ends of a panel's scale and the values that are written beside it."""
    numbers = [value for _, value in curve.points]
    if key == "difference":
        # Before the plateau air may still be there: what counts is the steam that is held.
        held = run.held(curve) or numbers
        reach = min(max(LEAST_K, 1.25 * max(map(abs, held))), MOST_K)
        return -reach, reach, (-ALLOWED_K, 0.0, ALLOWED_K)
    if key == "pressure":
        top = max(*numbers, run.atmosphere_kpa)
        return 0.0, 1.06 * top, tuple(100.0 * n for n in range(int(1.06 * top / 100.0) + 1))
    low = floor(min(numbers) / 20.0) * 20.0
    high = max([*numbers, *(run.band_c or ())]) + 4.0
    step = 20.0 if high - low <= 90.0 else 40.0
    levels = [step * n for n in range(ceil(low / step), int(high / step) + 1)]
    if run.band_c is not None:
        # The set temperature takes the place of the round one nearest to it.
        levels = [one for one in levels if abs(one - run.band_c[0]) > 0.3 * step]
        levels.append(run.band_c[0])
    return low, high, tuple(levels)


def _washes(run: CycleRun, panels: list[_Panel]) -> Iterator[dict[str, float]]:
    """Give what is allowed while holding: the plan's band, and the difference either way."""
    plateau = run.stage("plateau")
    if plateau is None:
        return
    for panel in panels:
        ends = {"temperature": run.band_c, "difference": (-ALLOWED_K, ALLOWED_K)}.get(panel.key)
        if ends is not None:
            yield {
                "minutes": plateau.start_min,
                "to_min": plateau.stop_min,
                "y": panel.y(ends[1]),
                "to_y": panel.y(ends[0]),
            }


def _missing(run: CycleRun) -> list[dict[str, float]]:
    if run.missing_drying is None:
        return []
    start, stop = run.missing_drying
    return [{"minutes": start, "to_min": stop, "y": HEAD, "to_y": TALL}]


def _brackets(run: CycleRun) -> list[dict[str, float]]:
    gap = 0.003 * run.axis_stop_min
    return [
        {"minutes": stage.start_min, "to_min": max(stage.stop_min - gap, stage.start_min)}
        for stage in run.stages
        if stage.kind != "not recognised"
    ]


def _least(run: CycleRun, width: float) -> float:
    """Give the minutes that four pixels are: what is shorter could not be seen."""
    return 4.0 * run.axis_stop_min / max(width - GUTTER, 1.0)


def _heads(run: CycleRun, width: float, language: str) -> dict[str, list[dict[str, Any]]]:
    """Name the stages where there is room, in two rows: plateau and drying before the others."""
    px_a_min = (width - GUTTER) / run.axis_stop_min
    labels: dict[str, list[dict[str, Any]]] = {"upper_names": [], "lower_names": [], "figures": []}
    taken: tuple[list[tuple[float, float]], ...] = ([], [])
    stages = [one for one in run.stages if one.kind in NAMED_FIRST]

    def put(kind: str, row: int, text: str, start_min: float) -> bool:
        start = start_min * px_a_min
        stop = start + label_width(text) + 8.0
        if stop > width - GUTTER or any(start < end and begin < stop for begin, end in taken[row]):
            return False
        taken[row].append((start, stop))
        labels[kind].append({"minutes": start_min, "text": text})
        return True

    on_top = []
    for stage in sorted(stages, key=lambda one: NAMED_FIRST.index(one.kind)):
        name = stage_name(stage.kind, language)
        if put("upper_names", 0, name, stage.start_min):
            on_top.append(stage)
        else:
            put("lower_names", 1, name, stage.start_min)
    for stage in on_top:
        minutes = stage.stop_min - stage.start_min
        if minutes >= LEAST_MIN:
            put("figures", 1, f"{written(minutes, 1)} min", stage.start_min)
    return labels


def _curves(run: CycleRun, panels: list[_Panel], width: float) -> dict[str, list[dict[str, float]]]:
    """Give each curve's points at their heights, a number for each piece of it."""
    columns = int((width - GUTTER) / PX_A_COLUMN)
    drawn: dict[str, list[dict[str, float]]] = {"temperature": [], "pressure": [], "difference": []}
    for panel in panels:
        series: Series = getattr(run, panel.key)
        drawn[panel.key] = [
            {"minutes": round(minutes, 3), "y": panel.y(value), "piece": number}
            for number, piece in enumerate(series.thinned(columns).pieces)
            for minutes, value in piece
            # Far off where steam was not yet alone: outside the panel, not held at its edge.
            if panel.key != "difference" or panel.low <= value <= panel.high
        ]
    return drawn


@cache
def _structure(ground: str) -> dict[str, Any]:
    """Write the layers with the chart library; slow, so done once for each ground."""
    span: dict[str, Any] = {"x": _time(), "x2": "to_min"}
    box: dict[str, Any] = span | {"y": _height(), "y2": "to_y"}
    at_head = {"y": alt.value(HEAD - 7)}
    layers = [
        named("missing").mark_rect(color=palette.HATCH, opacity=0.35).encode(**box),
        named("washes").mark_rect(color=palette.BRASS_WASH).encode(**box),
        named("levels").mark_rule(color=palette.LINE).encode(y=_height()),
        named("zeros").mark_rule(color=palette.LINE_FIRM, strokeDash=[3, 4]).encode(y=_height()),
        named("atmosphere")
        .mark_rule(color=palette.LINE_FIRM, strokeDash=[3, 4])
        .encode(y=_height()),
        named("borders")
        .mark_rule(color=palette.LINE)
        .encode(x=_time(), y=alt.value(HEAD - 7), y2=alt.value(BOTTOM)),
        named("brackets").mark_rule(color=palette.INK, strokeWidth=1.5).encode(**span, **at_head),
        _line("pressure", palette.INK, 1.5),
        _line("temperature", palette.INK, 1.75),
        _line("difference", palette.BRASS, 1.5),
        named("faults")
        .mark_rule(color=palette.OUTSIDE, strokeWidth=5)
        .encode(**span, y=alt.value(HEAD + 1)),
        *_titles(ground),
        _head("upper_names", ROWS[0], is_name=True),
        _head("lower_names", ROWS[1], is_name=True),
        _head("figures", ROWS[1], is_name=False),
    ]
    picture = (
        alt.layer(*layers)
        .add_params(*(alt.param(name=name, value=0) for name in ("to_min", "heights", "labels")))
        .properties(
            height=TALL,
            autosize=alt.AutoSizeParams(type="fit", contains="padding"),
            padding=0,
            background=ground,
        )
    )
    return dressed(picture)


def _line(name: str, colour: str, thickness: float) -> alt.Chart:
    line: alt.Chart = (
        named(name)
        .mark_line(color=colour, strokeWidth=thickness, clip=True, strokeJoin="round")
        .encode(x=_time(), y=_height(), detail="piece:N")
    )
    return line


def _time() -> alt.X:
    axis = alt.Axis(
        grid=False,
        domainColor=palette.LINE_FIRM,
        tickColor=palette.LINE_FIRM,
        tickSize=5,
        tickCount=alt.ExprRef("max(2, round(width / 95))"),
        labelExpr="datum.label + (datum.index == 0 ? ' min' : '')",
        labelFlush=True,
    )
    scale = alt.Scale(domain=[0, alt.ExprRef("to_min")], nice=False)
    return alt.X("minutes:Q", scale=scale, axis=axis, title=None)


def _height() -> alt.Y:
    """Heights are pixels from above already; the axis writes the values they stand for."""
    axis = alt.Axis(
        grid=False,
        domain=False,
        ticks=False,
        values=alt.ExprRef("heights"),
        labelExpr="labels[indexof(heights, datum.value)]",
        labelPadding=8,
        labelOverlap=False,
        minExtent=GUTTER - 8.0,
        maxExtent=GUTTER - 8.0,
    )
    # The plot is as high as the whole less the axis of time; what is drawn shrinks with it.
    scale = alt.Scale(domain=[TALL, 0], range=[alt.ExprRef("height"), 0], nice=False)
    return alt.Y("y:Q", scale=scale, axis=axis, title=None)


def _titles(ground: str) -> list[alt.Chart]:
    """Name the panels over a halo of the ground."""
    look: dict[str, Any] = {"align": "left", "fontSize": TEXT, "dx": 2}
    words = named("titles")
    layers = (
        words.mark_text(color=ground, stroke=ground, strokeWidth=4, strokeJoin="round", **look),
        words.mark_text(color=palette.INK_SOFT, **look),
    )
    return [layer.encode(x=alt.value(0), y=_height(), text="text:N") for layer in layers]


def _head(name: str, y: float, *, is_name: bool) -> alt.Chart:
    mark = named(name).mark_text(
        align="left",
        dx=2,
        fontSize=TEXT,
        fontWeight=600 if is_name else 400,
        color=palette.INK if is_name else palette.INK_SOFT,
    )
    head: alt.Chart = mark.encode(x=_time(), y=alt.value(y), text="text:N")
    return head
