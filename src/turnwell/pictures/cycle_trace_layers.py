"""The layers of a cycle trace, written with the chart library.

The three panels are one plot: every value is put to its height in pixels here, so that washes and
stage borders run through all of them.
"""

from collections.abc import Iterator
from copy import deepcopy
from functools import cache
from math import ceil
from typing import Any

import altair as alt

from turnwell.pictures import palette
from turnwell.pictures.cycle_run import CycleRun, Series
from turnwell.pictures.cycle_trace import CycleTraceChart, cycle_trace_in_words
from turnwell.pictures.cycle_trace_labels import (
    FAULT_ROW,
    Clock,
    FaultMark,
    fault_marks,
    head_labels,
    nothing_to_compare,
    words_in,
)
from turnwell.pictures.cycle_trace_panels import TALL, Panel, panels_of
from turnwell.pictures.figures import written
from turnwell.pictures.layers import framed, haloed, heights, named, time_axis
from turnwell.pictures.speed_trace_labels import TEXT
from turnwell.words import text_of

__all__ = ["layered"]

# Of the plot itself: the whole less the axis of time.
BOTTOM = "height"
HEAD = 48
ROWS = (14, 32)
# What the axis of values takes off the width, in pixels.
GUTTER = 44.0
# Of each curve, so many pixels a column of two points.
PX_A_COLUMN = 2.5
# Distance of the hatching of planned drying that did not run, and the least width of a gap.
HATCH_PX = 12.0
GAP_PX = 3.0


def layered(chart: CycleTraceChart, width: float, ground: str, language: str) -> dict[str, Any]:
    """Give the specification with its data."""
    run = chart.run
    made = deepcopy(_structure(ground))
    clock = Clock(width - GUTTER, run.axis_stop_min)
    marks = fault_marks(run, clock)
    rows = max((max(mark.row, mark.text_row) + 1 for mark in marks), default=0)
    panels = panels_of(run, HEAD + FAULT_ROW * rows)
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
        **_missing(run, clock, panels, language),
        **_gaps(run, clock, panels, language),
        "untold": _untold(run, clock, panels, language),
        "borders": [{"minutes": stage.start_min} for stage in run.stages if stage.start_min > 0.0],
        "brackets": _brackets(run),
        **_faults(marks),
        **head_labels(run, clock, language),
        **_curves(run, panels, clock),
    }
    return made


def _washes(run: CycleRun, panels: list[Panel]) -> Iterator[dict[str, float]]:
    """Give what is allowed while holding: the plan's band, and the difference either way."""
    plateau = run.stage("plateau")
    if plateau is None:
        return
    for panel in panels:
        ends = {"temperature": run.band_c, "difference": run.allowed_k}.get(panel.key)
        if ends is not None:
            yield {
                "minutes": plateau.start_min,
                "to_min": plateau.stop_min,
                "y": panel.y(ends[1]),
                "to_y": panel.y(ends[0]),
            }


def _missing(
    run: CycleRun, clock: Clock, panels: list[Panel], language: str
) -> dict[str, list[dict[str, Any]]]:
    """Hatch where drying was planned and did not run, and say so where there is room."""
    if run.missing_drying is None:
        return {"missing": [], "hatch": [], "missing_words": []}
    start, stop = run.missing_drying
    top, bottom = panels[0].top - 24.0, float(TALL)
    box = {"minutes": start, "to_min": stop, "y": top, "to_y": bottom}
    key = "pictures.cycletrace.not_run"
    text = words_in(text_of(key, language), text_of(f"{key}_short", language), start, stop, clock)
    place = {"minutes": (start + stop) / 2.0, "y": panels[0].top + 14.0, "text": text}
    return {
        "missing": [box],
        "hatch": list(_hatch(clock.px(start), clock.px(stop), top, bottom, clock)),
        "missing_words": [place] if text else [],
    }


def _hatch(
    left: float, right: float, top: float, bottom: float, clock: Clock
) -> Iterator[dict[str, float]]:
    """Give parallel strokes that rise to the right, cut at the edges of a box in pixels."""
    # On a stroke x + y is the same all along.
    for number in range(ceil((left + top) / HATCH_PX), int((right + bottom) / HATCH_PX) + 1):
        both = number * HATCH_PX
        low_x, high_x = max(left, both - bottom), min(right, both - top)
        if high_x - low_x > 1.0:
            yield {
                "minutes": round(clock.minutes(low_x), 3),
                "to_min": round(clock.minutes(high_x), 3),
                "y": round(both - low_x, 1),
                "to_y": round(both - high_x, 1),
            }


def _gaps(
    run: CycleRun, clock: Clock, panels: list[Panel], language: str
) -> dict[str, list[dict[str, Any]]]:
    """Mark where lines of the record are missing, in every panel, with a word where it has room."""
    ends = [
        (start, max(stop, start + clock.minutes(GAP_PX)))
        for start, stop in run.gaps
        if start < run.axis_stop_min
    ]
    word = text_of("pictures.cycletrace.gap", language)
    return {
        "gaps": [
            {"minutes": start, "to_min": stop, "y": panel.top, "to_y": panel.bottom}
            for start, stop in ends
            for panel in panels
        ],
        "gap_words": [
            {"minutes": (start + stop) / 2.0, "y": panels[-1].bottom - 10.0, "text": text}
            for start, stop in ends
            if (text := words_in(word, word, start, stop, clock))
        ],
    }


def _untold(
    run: CycleRun, clock: Clock, panels: list[Panel], language: str
) -> list[dict[str, Any]]:
    """Say in the panel of the difference where there is none."""
    return [
        row | {"y": panel.y(0.0)}
        for panel in panels
        if panel.key == "difference"
        for row in nothing_to_compare(run, clock, language)
    ]


def _faults(marks: list[FaultMark]) -> dict[str, list[dict[str, Any]]]:
    """Give strokes and words of the faults, in rows under the brackets."""
    top = HEAD + 7.0
    return {
        "faults": [
            {"minutes": mark.start_min, "to_min": mark.stop_min, "y": top + FAULT_ROW * mark.row}
            for mark in marks
        ],
        "fault_words": [
            {"minutes": mark.text_min, "y": top + FAULT_ROW * mark.text_row, "text": mark.text}
            for mark in marks
            if mark.text
        ],
    }


def _brackets(run: CycleRun) -> list[dict[str, float]]:
    gap = 0.003 * run.axis_stop_min
    return [
        {"minutes": stage.start_min, "to_min": max(stage.stop_min - gap, stage.start_min)}
        for stage in run.stages
        if stage.kind != "not recognised"
    ]


def _curves(run: CycleRun, panels: list[Panel], clock: Clock) -> dict[str, list[dict[str, float]]]:
    """Give each curve's points at their heights, a number for each piece of it."""
    columns = int(clock.width_px / PX_A_COLUMN)
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
        named("missing").mark_rect(color=palette.PAPER_DEEP).encode(**box),
        named("hatch").mark_rule(color=palette.HATCH, strokeWidth=1.2).encode(**box),
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
        named("gaps")
        .mark_rect(color=palette.PAPER_DEEP, stroke=palette.LINE_FIRM, strokeDash=[2, 3])
        .encode(**box),
        _line("pressure", palette.INK, 1.5),
        _line("temperature", palette.INK, 1.75),
        _line("difference", palette.BRASS, 1.5),
        named("faults").mark_rule(color=palette.OUTSIDE, strokeWidth=5).encode(**span, y=_height()),
        *_inside("fault_words", ground, palette.OUTSIDE, align="left", weight=600),
        *_inside("missing_words", ground, palette.INK_SOFT),
        *_inside("gap_words", ground, palette.INK_SOFT),
        *_inside("untold", ground, palette.INK_SOFT),
        *_titles(ground),
        _head("upper_names", ROWS[0], is_name=True),
        _head("lower_names", ROWS[1], is_name=True),
        _head("figures", ROWS[1], is_name=False),
    ]
    return framed(layers, params=("to_min", "heights", "labels"), height=TALL, ground=ground)


def _line(name: str, colour: str, thickness: float) -> alt.Chart:
    line: alt.Chart = (
        named(name)
        .mark_line(color=colour, strokeWidth=thickness, clip=True, strokeJoin="round")
        .encode(x=_time(), y=_height(), detail="piece:N")
    )
    return line


def _time() -> alt.X:
    scale = alt.Scale(domain=[0, alt.ExprRef("to_min")], nice=False)
    return alt.X("minutes:Q", scale=scale, axis=time_axis("min"), title=None)


def _height() -> alt.Y:
    return heights(TALL, GUTTER)


def _titles(ground: str) -> list[alt.Chart]:
    """Name the panels over a halo of the ground."""
    layers = haloed(named("titles"), ground, palette.INK_SOFT, align="left", fontSize=TEXT, dx=2)
    return [layer.encode(x=alt.value(0), y=_height(), text="text:N") for layer in layers]


def _inside(
    name: str, ground: str, colour: str, *, align: Any = "center", weight: Any = 400
) -> list[alt.Chart]:
    """Set words at their height in the plot, over a halo of the ground."""
    look: dict[str, Any] = {
        "align": align,
        "baseline": "middle",
        "fontSize": TEXT,
        "fontWeight": weight,
    }
    layers = haloed(named(name), ground, colour, **look)
    return [layer.encode(x=_time(), y=_height(), text="text:N") for layer in layers]


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
