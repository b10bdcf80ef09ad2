"""The layers of a speed trace, written with the chart library."""

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import asdict, dataclass
from functools import cache
from typing import Any

import altair as alt

from turnwell.pictures import palette
from turnwell.pictures.layers import dressed, named, speed_axis, time_axis
from turnwell.pictures.scale import round_levels
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
# Labels over the plot by the name of their data: row, and whether it is a phase's name.
HEADS = {
    "upper_names": (0, True),
    "lower_names": (1, True),
    "figures": (1, False),
}
HAS_ROOM = "width >= datum.from_px && width < datum.to_px"
BOTTOM, RIGHT = "height", "width"


@dataclass(frozen=True, slots=True)
class _Look:
    """What the structure of a chart hangs on; all else is data and parameters."""

    has_two: bool
    ground: str
    is_interactive: bool


def layered(
    chart: SpeedTraceChart, ground: str, *, interactive: bool, language: str
) -> dict[str, Any]:
    """Give the specification without the curves' data, which it names ``after`` and ``before``."""
    made = deepcopy(_structure(_Look(chart.before is not None, ground, interactive)))
    start, stop = chart.clock
    top = _top(chart)
    curves = [*curve_labels(chart, language), None, None]
    values = {
        "from_s": start,
        "to_s": stop,
        "top_rpm": top,
        "levels": round_levels(top),
        "after_dy": _shift(curves[0]),
        "before_dy": _shift(curves[1]),
    }
    for param in made["params"]:
        if param["name"] in values:
            param["value"] = values[param["name"]]
    made["description"] = speed_trace_in_words(chart, language=language)
    made["datasets"] = _data(chart, top, curves[:2], language)
    return made


@cache
def _structure(look: _Look) -> dict[str, Any]:
    """Write the layers with the chart library; slow, so done once for each look."""
    layers = [*_ground(), *_curves(look), *_labels(look)]
    if look.is_interactive:
        layers += _hover(look.ground)
    params = ("from_s", "to_s", "top_rpm", "levels", "after_dy", "before_dy")
    picture = (
        alt.layer(*layers)
        .add_params(*(alt.param(name=name, value=0) for name in params))
        .properties(
            height=TALL,
            autosize=alt.AutoSizeParams(type="fit", contains="padding"),
            padding=0,
            background=look.ground,
        )
    )
    return dressed(picture)


def _data(
    chart: SpeedTraceChart, top: float, curves: Sequence[CurveLabel | None], language: str
) -> dict[str, list[dict[str, Any]]]:
    """Give the rows of every layer but the curves, by the name of their data."""
    limit = chart.after.limit
    gap = 0.004 * (chart.clock[1] - chart.clock[0])
    heads = head_labels(chart, language)
    rows: dict[str, list[dict[str, Any]]] = {
        "unit": [{"text": "rpm"}],
        "coasts": [
            {"time_s": phase.start_s, "stop_s": phase.stop_s}
            for phase in chart.after.phases
            if phase.kind == "coast-down"
        ],
        "band": []
        if limit is None
        else [
            {
                "speed_rpm": limit.low if limit.low is not None else 0.0,
                "to_rpm": limit.high if limit.high is not None else top,
            }
        ],
        "rules": [{"speed_rpm": level} for level in round_levels(top) if level > 0],
        "brackets": [
            {"time_s": phase.start_s, "stop_s": max(phase.stop_s - gap, phase.start_s)}
            for phase in turning(chart.after)
        ],
        "band_name": [asdict(label) for label in band_labels(chart, language)],
    }
    for name, (row, is_name) in HEADS.items():
        rows[name] = [asdict(h) for h in heads if (h.row, h.is_name) == (row, is_name)]
    for name, label in zip(("after_name", "before_name"), curves, strict=True):
        rows[name] = [] if label is None else [asdict(label)]
    return rows


def _shift(label: CurveLabel | None) -> float:
    """Give how far from its curve a label stands, above or below."""
    return -14.0 if label is None or label.is_above else 17.0


def _time(field: str = "time_s:Q") -> alt.X:
    """Give the channel of time; `from_s` and `to_s` say what part of it is shown."""
    shown = [alt.ExprRef("from_s"), alt.ExprRef("to_s")]
    scale = alt.Scale(domain=shown, nice=False, zero=False)
    return alt.X(field, scale=scale, axis=time_axis("s"), title=None)


def _speed(field: str = "speed_rpm:Q") -> alt.Y:
    """Give the channel of speed; the strip of phase names lies above its range."""
    scale = alt.Scale(
        domain=[0, alt.ExprRef("top_rpm")],
        range=[alt.ExprRef(BOTTOM), HEAD],
        nice=False,
        zero=True,
    )
    axis = speed_axis()
    return alt.Y(field, scale=scale, axis=axis, title=None)


def _top(chart: SpeedTraceChart) -> float:
    """Give the end of the speed axis: above every curve and the whole band."""
    limit = chart.after.limit
    sides = [] if limit is None else [limit.low or 0.0, limit.high or 0.0]
    highest = max(max(trace.speed_rpm) for trace in chart.traces)
    return HEADROOM * max([highest, *sides, 1.0])


def _curve(name: str) -> alt.Chart:
    """Take a curve whose columns come as one row of lists."""
    columns: list[Any] = ["time_s", "speed_rpm", "low_rpm", "high_rpm", "run"]
    curve: alt.Chart = named(name).transform_flatten(columns)
    return curve


def _ground() -> list[alt.Chart]:
    """Draw what lies under the curves: coast-down planes, limit band, level lines."""
    plane = named("coasts").mark_rect(color=palette.PAPER_DEEP, clip=True)
    band = named("band").mark_rect(color=palette.BRASS_WASH, clip=True)
    return [
        plane.encode(x=_time(), x2="stop_s", y=alt.value(HEAD), y2=alt.value(BOTTOM)),
        band.encode(y=_speed(), y2="to_rpm", x=alt.value(0), x2=alt.value(RIGHT)),
        named("rules").mark_rule(color=palette.LINE).encode(y=_speed()),
    ]


def _curves(look: _Look) -> list[alt.Chart]:
    """Draw the curves with their intervals, the earlier one first and dotted."""
    layers = []
    for name in ["before", "after"] if look.has_two else ["after"]:
        is_before = name == "before"
        colour = palette.INK_SOFT if is_before else palette.INK
        curve = _curve(name).encode(x=_time(), detail="run:N")
        band = curve.mark_area(color=colour, opacity=0.16, clip=True)
        layers.append(band.encode(y=_speed("low_rpm:Q"), y2="high_rpm"))
        line = curve.mark_line(
            color=colour,
            strokeWidth=1.75,
            strokeJoin="round",
            strokeDash=[2, 3] if is_before else [1, 0],
            clip=True,
        )
        layers.append(line.encode(y=_speed()))
    return layers


def _labels(look: _Look) -> list[alt.Chart]:
    """Name the phases over their brackets, the band, and each curve where there are two."""
    unit = named("unit").mark_text(align="right", fontSize=TEXT, color=palette.INK_SOFT, dx=-8)
    line = named("brackets").mark_rule(color=palette.INK, strokeWidth=1.5, clip=True)
    layers = [
        unit.encode(text="text:N", x=alt.value(0), y=alt.value(HEAD - 14)),
        line.encode(x=_time(), x2="stop_s", y=alt.value(HEAD - 6)),
        *(_head(name, ROWS[row], is_name=is_name) for name, (row, is_name) in HEADS.items()),
    ]
    if look.has_two:
        layers += _word(
            "before_name", look.ground, palette.INK_SOFT, weight=400, dy=alt.ExprRef("before_dy")
        )
        layers += _word(
            "after_name", look.ground, palette.INK, weight=600, dy=alt.ExprRef("after_dy")
        )
    return layers + _word("band_name", look.ground, palette.BRASS, weight=600, dy=-9, at_end=True)


def _head(name: str, y: float, *, is_name: bool) -> alt.Chart:
    mark = (
        named(name)
        .transform_filter(HAS_ROOM)
        .mark_text(
            align="left",
            dx=2,
            clip=True,
            fontSize=TEXT,
            fontWeight=600 if is_name else 400,
            color=palette.INK if is_name else palette.INK_SOFT,
        )
    )
    head: alt.Chart = mark.encode(x=_time(), y=alt.value(y), text="text:N")
    return head


def _word(
    name: str, ground: str, colour: str, *, weight: Any, dy: Any, at_end: bool = False
) -> list[alt.Chart]:
    """Set labels at curves, over a halo of the ground; `at_end`, at the right edge."""
    words = named(name).transform_filter(HAS_ROOM)
    look: dict[str, Any] = {
        "align": "right" if at_end else "center",
        "fontSize": TEXT,
        "fontWeight": weight,
        "dy": dy,
        "clip": True,
    }
    # The band's name stays at the right edge when the curves are zoomed.
    x = alt.value(RIGHT) if at_end else _time()
    halo = words.mark_text(color=ground, stroke=ground, strokeWidth=4, strokeJoin="round", **look)
    text = words.mark_text(color=colour, **look)
    return [layer.encode(x=x, y=_speed(), text="text:N") for layer in (halo, text)]


def _hover(ground: str) -> list[alt.Chart]:
    """Show time and speed of the curve where the pointer is."""
    curve = _curve("after").encode(x=_time())
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
