"""The layers of a speed trace, written with the chart library."""

from collections.abc import Sequence
from dataclasses import asdict
from math import floor, log10
from typing import Any

import altair as alt

from turnwell.fonts import FAMILY
from turnwell.pictures import palette
from turnwell.pictures.speed_trace import SpeedTraceChart, speed_trace_in_words, turning
from turnwell.pictures.speed_trace_labels import (
    TEXT,
    CurveLabel,
    band_labels,
    curve_labels,
    head_labels,
)

__all__ = ["layered"]

# Height of the whole, and of the strip of phase names at its top, in pixels.
TALL = 312
HEAD = 46
ROWS = (14, 31)
HEADROOM = 1.1
HAS_ROOM = "width >= datum.from_px && width < datum.to_px"
BOTTOM, RIGHT = "height", "width"


def layered(
    chart: SpeedTraceChart, ground: str, *, interactive: bool, language: str
) -> dict[str, Any]:
    """Give the specification without the curves' data, which it names ``after`` and ``before``."""
    start, stop = chart.clock
    layers = [*_ground(chart), *_curves(chart), *_labels(chart, ground, language)]
    if interactive:
        layers += _hover(ground)
    picture = (
        alt.layer(*layers)
        .add_params(alt.param(name="from_s", value=start), alt.param(name="to_s", value=stop))
        .properties(
            height=TALL,
            autosize=alt.AutoSizeParams(type="fit", contains="padding"),
            padding=0,
            background=ground,
            description=speed_trace_in_words(chart, language=language),
        )
        .configure(font=FAMILY, aria=False)
        .configure_view(stroke=None)
        .configure_axis(labelFontSize=TEXT, labelColor=palette.INK_SOFT, title=None)
    )
    made: dict[str, Any] = picture.to_dict()
    return made


def _time(field: str = "time_s:Q") -> alt.X:
    """Give the channel of time; `from_s` and `to_s` say what part of it is shown."""
    shown = [alt.ExprRef("from_s"), alt.ExprRef("to_s")]
    scale = alt.Scale(domain=shown, nice=False, zero=False)
    axis = alt.Axis(
        grid=False,
        domainColor=palette.LINE_FIRM,
        tickColor=palette.LINE_FIRM,
        tickSize=5,
        tickCount=alt.ExprRef("max(2, round(width / 95))"),
        labelExpr="datum.label + (datum.index == 0 ? ' s' : '')",
        labelFlush=True,
    )
    return alt.X(field, scale=scale, axis=axis, title=None)


def _speed(top_rpm: float, field: str = "speed_rpm:Q") -> alt.Y:
    """Give the channel of speed; the strip of phase names lies above its range."""
    scale = alt.Scale(domain=[0, top_rpm], range=[alt.ExprRef(BOTTOM), HEAD], nice=False, zero=True)
    axis = alt.Axis(
        grid=False,
        domain=False,
        ticks=False,
        format=",.0f",
        labelPadding=8,
        labelOverlap=False,
        values=_levels(top_rpm),
    )
    return alt.Y(field, scale=scale, axis=axis, title=None)


def _top(chart: SpeedTraceChart) -> float:
    """Give the end of the speed axis: above every curve and the whole band."""
    limit = chart.after.limit
    sides = [] if limit is None else [limit.low or 0.0, limit.high or 0.0]
    highest = max(max(trace.speed_rpm) for trace in chart.traces)
    return HEADROOM * max([highest, *sides, 1.0])


def _levels(top_rpm: float) -> list[float]:
    """Give about four round levels from 0 to the top."""
    power = 10.0 ** floor(log10(top_rpm))
    step = next(s * power for s in (0.2, 0.25, 0.5, 1.0, 2.0) if top_rpm / (s * power) <= 5.0)
    return [step * count for count in range(int(top_rpm / step) + 1)]


def _rows(rows: Sequence[dict[str, Any]]) -> alt.Chart:
    return alt.Chart(alt.InlineData(values=list(rows)))


def _ground(chart: SpeedTraceChart) -> list[alt.Chart]:
    """Draw what lies under the curves: coast-down planes, limit band, level lines."""
    top = _top(chart)
    layers = []
    coasts = [
        {"time_s": phase.start_s, "stop_s": phase.stop_s}
        for phase in chart.after.phases
        if phase.kind == "coast-down"
    ]
    if coasts:
        plane = _rows(coasts).mark_rect(color=palette.PAPER_DEEP, clip=True)
        layers.append(plane.encode(x=_time(), x2="stop_s", y=alt.value(HEAD), y2=alt.value(BOTTOM)))
    if (limit := chart.after.limit) is not None:
        ends = {
            "speed_rpm": limit.low if limit.low is not None else 0.0,
            "to_rpm": limit.high if limit.high is not None else top,
        }
        band = _rows([ends]).mark_rect(color=palette.BRASS_WASH, clip=True)
        layers.append(band.encode(y=_speed(top), y2="to_rpm", x=alt.value(0), x2=alt.value(RIGHT)))
    levels = [{"speed_rpm": level} for level in _levels(top) if level > 0]
    layers.append(_rows(levels).mark_rule(color=palette.LINE).encode(y=_speed(top)))
    return layers


def _curves(chart: SpeedTraceChart) -> list[alt.Chart]:
    """Draw the curves with their intervals, the earlier one first and dotted."""
    top = _top(chart)
    layers = []
    for name in ["after", "before"][: len(chart.traces)][::-1]:
        is_before = name == "before"
        colour = palette.INK_SOFT if is_before else palette.INK
        curve = alt.Chart(alt.NamedData(name=name)).encode(x=_time(), detail="run:N")
        band = curve.mark_area(color=colour, opacity=0.16, clip=True)
        layers.append(band.encode(y=_speed(top, "low_rpm:Q"), y2="high_rpm"))
        line = curve.mark_line(
            color=colour,
            strokeWidth=1.75,
            strokeJoin="round",
            strokeDash=[2, 3] if is_before else [1, 0],
            clip=True,
        )
        layers.append(line.encode(y=_speed(top)))
    return layers


def _labels(chart: SpeedTraceChart, ground: str, language: str) -> list[alt.Chart]:
    """Name the phases over their brackets, the band, and each curve where there are two."""
    layers = [
        _rows([{"text": "rpm"}])
        .mark_text(align="right", fontSize=TEXT, color=palette.INK_SOFT, dx=-8)
        .encode(text="text:N", x=alt.value(0), y=alt.value(HEAD - 14))
    ]
    brackets = [
        {"time_s": phase.start_s, "stop_s": max(phase.stop_s - gap, phase.start_s)}
        for gap in [0.004 * (chart.clock[1] - chart.clock[0])]
        for phase in turning(chart.after)
    ]
    if brackets:
        line = _rows(brackets).mark_rule(color=palette.INK, strokeWidth=1.5, clip=True)
        layers.append(line.encode(x=_time(), x2="stop_s", y=alt.value(HEAD - 6)))
    heads = head_labels(chart, language)
    for row, is_name in ((0, True), (1, True), (1, False)):
        rows = [asdict(label) for label in heads if (label.row, label.is_name) == (row, is_name)]
        if rows:
            layers.append(_head(rows, ROWS[row], is_name=is_name))
    top = _top(chart)
    for label, strong in zip(curve_labels(chart, language), (True, False), strict=False):
        colour = palette.INK if strong else palette.INK_SOFT
        layers += _word([label], top, ground, colour, align="center", weight=600 if strong else 400)
    if band := band_labels(chart, language):
        layers += _word(band, top, ground, palette.BRASS, align="right", weight=600)
    return layers


def _head(rows: Sequence[dict[str, Any]], y: float, *, is_name: bool) -> alt.Chart:
    words = _rows(rows).transform_filter(HAS_ROOM)
    mark = words.mark_text(
        align="left",
        dx=2,
        clip=True,
        fontSize=TEXT,
        fontWeight=600 if is_name else 400,
        color=palette.INK if is_name else palette.INK_SOFT,
    )
    head: alt.Chart = mark.encode(x=_time(), y=alt.value(y), text="text:N")
    return head


def _word(
    labels: Sequence[CurveLabel], top: float, ground: str, colour: str, *, align: Any, weight: Any
) -> list[alt.Chart]:
    """Set labels at curves, over a halo of the ground."""
    words = _rows([asdict(label) for label in labels]).transform_filter(HAS_ROOM)
    look: dict[str, Any] = {
        "align": align,
        "fontSize": TEXT,
        "fontWeight": weight,
        "dy": -14 if labels[0].is_above else 17,
        "clip": True,
    }
    # The band's name stays at the right edge when the curves are zoomed.
    x = alt.value(RIGHT) if align == "right" else _time()
    if align == "right":
        look["dy"] = -9
    halo = words.mark_text(color=ground, stroke=ground, strokeWidth=4, strokeJoin="round", **look)
    text = words.mark_text(color=colour, **look)
    return [layer.encode(x=x, y=_speed(top), text="text:N") for layer in (halo, text)]


def _hover(ground: str) -> list[alt.Chart]:
    """Show time and speed of the curve where the pointer is."""
    curve = alt.Chart(alt.NamedData(name="after")).encode(x=_time())
    at = alt.selection_point(
        name="at",
        fields=["time_s"],
        nearest=True,
        on="pointermove",
        clear="pointerout",
        empty=False,
    )
    figures = "format(datum.time_s, '.2f') + ' s, ' + format(datum.speed_rpm, ',.0f') + ' rpm'"
    word = curve.transform_filter(at).transform_calculate(text=figures)
    look: dict[str, Any] = {"align": "left", "fontSize": TEXT, "dy": -10, "dx": 6}
    place = {"x": alt.value(0), "y": alt.value(BOTTOM), "text": "text:N"}
    return [
        curve.mark_point(opacity=0, size=1).encode(y=alt.value(BOTTOM)).add_params(at),
        curve.mark_rule(color=palette.BRASS, clip=True).transform_filter(at),
        word.mark_text(color=ground, stroke=ground, strokeWidth=5, **look).encode(**place),
        word.mark_text(color=palette.INK, **look).encode(**place),
    ]
