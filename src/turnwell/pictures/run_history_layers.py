"""The layers of a run history, written with the chart library.

As in the cycle trace, panels are bands of one plot: every value is put to its height in pixels and
every day to its place here, so that a change and what happened that day stand under each other.
"""

from copy import deepcopy
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import Any

import altair as alt

from turnwell.measure import Verdict
from turnwell.pictures import palette
from turnwell.pictures.figures import written
from turnwell.pictures.layers import framed, haloed, heights, named
from turnwell.pictures.run_history import EventKind, HistoryPanel, RunHistory, run_history_in_words
from turnwell.pictures.scale import Scale
from turnwell.pictures.speed_trace_labels import TEXT
from turnwell.words import text_of

__all__ = ["layered"]

PANEL = 92.0
TITLE = 24.0
ROW = 34.0
FOOT = 26.0
GUTTER = 52.0
# Pressures are followed as absolute ones.
FROM_NOTHING = "kPa"
# A label of a month takes this many pixels.
MONTH_PX = 46.0


@dataclass(frozen=True, slots=True)
class _Look:
    """How a point is drawn: filled with its colour, or in outline; its area in square pixels."""

    shape: str
    colour: str
    area: int
    is_full: bool


SHAPES = {
    Verdict.WITHIN: _Look("circle", palette.WITHIN, 34, is_full=True),
    Verdict.OUTSIDE: _Look("square", palette.OUTSIDE, 40, is_full=True),
    Verdict.NOT_PROVEN: _Look("diamond", palette.UNPROVEN, 44, is_full=False),
    Verdict.NO_LIMIT: _Look("circle", palette.INK_SOFT, 26, is_full=True),
    Verdict.CANNOT_TELL: _Look("stroke", palette.INK_SOFT, 34, is_full=False),
}
EVENTS = {
    EventKind.RETURN: _Look("square", palette.OUTSIDE, 80, is_full=True),
    EventKind.VISIT: _Look("circle", palette.INK, 80, is_full=False),
    EventKind.TRAINING: _Look("triangle-up", palette.BRASS, 80, is_full=True),
}


def layered(history: RunHistory, width: float, ground: str, language: str) -> dict[str, Any]:
    """Give the specification with its data."""
    kinds = tuple(kind for kind in EventKind if any(e.kind is kind for e in history.events))
    tall = len(history.panels) * (TITLE + PANEL) + len(kinds) * ROW + 8.0
    made = deepcopy(_structure(tall, ground))
    first, last = history.ends
    days = max((last - first).days, 1)
    ticks = _months(first, last, width)
    scales = [_scale(panel) for panel in history.panels]
    bottoms = [(n + 1) * (TITLE + PANEL) - 10.0 for n in range(len(history.panels))]
    levels = [
        (_y(value, scale, bottom), written(value, 0 if scale.high - scale.low >= 8.0 else 1))
        for scale, bottom in zip(scales, bottoms, strict=True)
        for value in (scale.low, (scale.low + scale.high) / 2.0, scale.high)
    ]
    values = {
        "from_day": -0.01 * days,
        "to_day": 1.01 * days,
        "heights": [height for height, _ in levels],
        "labels": [text for _, text in levels],
        "days": [day for day, _ in ticks],
        "months": [text for _, text in ticks],
    }
    for param in made["params"]:
        if param["name"] in values:
            param["value"] = values[param["name"]]
    made["description"] = run_history_in_words(history, language=language)
    made["width"] = width
    made["datasets"] = {
        "levels": [{"y": height} for height, _ in levels],
        "titles": [
            {"y": bottom - PANEL + TITLE - 24.0, "text": f"{panel.name}, {panel.unit}"}
            for panel, bottom in zip(history.panels, bottoms, strict=True)
        ],
        **_panel_rows(history, scales, bottoms, first),
        **_event_rows(history, kinds, bottoms[-1] + TITLE + 8.0, first, language),
    }
    return made


def _months(first: date, last: date, width: float) -> list[tuple[float, str]]:
    """Give the first days of months that have room for their names."""
    days = max((last - first).days, 1)
    ticks: list[tuple[float, str]] = []
    month = (first.replace(day=1) + timedelta(days=32)).replace(day=1)
    room = -MONTH_PX
    while month <= last:
        place = (month - first).days
        if (place / days) * (width - GUTTER) - room >= MONTH_PX:
            is_year = month.month == 1 or not ticks
            ticks.append((float(place), f"{month:%b} {month:%Y}" if is_year else f"{month:%b}"))
            # A name with its year is twice as long.
            room = (place / days) * (width - GUTTER) + (MONTH_PX / 1.5 if is_year else 0.0)
        month = (month + timedelta(days=32)).replace(day=1)
    return ticks or [(0.0, f"{first:%d %b %Y}")]


def _scale(panel: HistoryPanel) -> Scale:
    """Give a scale with ends that read well, on which every dot and the limit's near side are."""
    numbers = [dot.value for dot in panel.dots]
    if panel.limit is not None:
        numbers += [side for side in (panel.limit.low, panel.limit.high) if side is not None]
    if panel.unit == FROM_NOTHING:
        # Below nothing no pressure is: what a wrong height makes of one is held at the foot.
        numbers = [max(number, 0.0) for number in numbers]
    low, high = min(numbers), max(numbers)
    span = max(high - low, 0.02 * max(abs(high), 1.0), 1.0)
    step = next(s for s in (1, 2, 4, 5, 10, 20, 40, 50, 100, 200, 400, 1000) if s * 2 >= span)
    start = (low // step) * step
    while start + 2 * step < high:
        step *= 2
        start = (low // step) * step
    return Scale(float(start), float(start + 2 * step))


def _y(value: float, scale: Scale, bottom: float) -> float:
    return round(bottom - scale.part(value) * (PANEL - 26.0), 2)


def _panel_rows(
    history: RunHistory, scales: list[Scale], bottoms: list[float], first: date
) -> dict[str, list[dict[str, Any]]]:
    """Give dots by their verdict, limits and levels of every panel."""
    rows: dict[str, list[dict[str, Any]]] = {verdict.key: [] for verdict in SHAPES}
    rows |= {"limits": [], "shifts": []}
    for panel, scale, bottom in zip(history.panels, scales, bottoms, strict=True):
        for dot in panel.dots:
            place = {"day": (dot.on - first).days, "y": _y(dot.value, scale, bottom)}
            rows[dot.verdict.key].append(place)
        if panel.limit is not None:
            sides = (panel.limit.low, panel.limit.high)
            rows["limits"] += [{"y": _y(s, scale, bottom)} for s in sides if s is not None]
        rows["shifts"] += [
            {
                "day": (level.start - first).days,
                "to_day": (level.stop - first).days,
                "y": _y(level.value, scale, bottom),
                "to_y": _y(level.stop_value, scale, bottom),
            }
            for level in panel.levels
        ]
    return rows


def _event_rows(
    history: RunHistory, kinds: tuple[EventKind, ...], top: float, first: date, language: str
) -> dict[str, list[dict[str, Any]]]:
    """Give a row of marks for each kind of event, its name over it at the left."""
    rows: dict[str, list[dict[str, Any]]] = {kind.value: [] for kind in EventKind}
    rows["rows"] = []
    for number, kind in enumerate(kinds):
        height = top + number * ROW
        text = text_of(f"pictures.runhistory.row.{kind}", language)
        rows["rows"].append({"y": height, "text": text})
        rows[kind.value] = [
            {"day": (event.on - first).days, "y": height}
            for event in history.events
            if event.kind is kind
        ]
    rows["trainings"] = [{"day": row["day"]} for row in rows[EventKind.TRAINING.value]]
    return rows


@cache
def _structure(tall: float, ground: str) -> dict[str, Any]:
    """Write the layers with the chart library; slow, so done once for each height and ground."""
    layers = [
        named("levels").mark_rule(color=palette.LINE).encode(y=_height(tall)),
        named("trainings").mark_rule(color=palette.BRASS, strokeDash=[4, 4]).encode(x=_day()),
        named("limits")
        .mark_rule(color=palette.LINE_FIRM, strokeDash=[6, 4], strokeWidth=1.25)
        .encode(y=_height(tall)),
        *(_dots(verdict, tall, ground) for verdict in SHAPES),
        named("shifts")
        .mark_rule(color=palette.INK, strokeWidth=2.5)
        .encode(x=_day(), x2="to_day", y=_height(tall), y2="to_y"),
        *_words("titles", tall, ground, dy=-2),
        *_words("rows", tall, ground, dy=-14),
        *(_marks(kind, tall, ground) for kind in EventKind),
    ]
    names = ("from_day", "to_day", "heights", "labels", "days", "months")
    return framed(layers, params=names, height=tall + FOOT, ground=ground)


def _day() -> alt.X:
    axis = alt.Axis(
        grid=False,
        domainColor=palette.LINE_FIRM,
        tickColor=palette.LINE_FIRM,
        tickSize=5,
        values=alt.ExprRef("days"),
        labelExpr="months[indexof(days, datum.value)]",
        labelFlush=True,
        labelOverlap=False,
    )
    scale = alt.Scale(domain=[alt.ExprRef("from_day"), alt.ExprRef("to_day")], nice=False)
    return alt.X("day:Q", scale=scale, axis=axis, title=None)


def _height(tall: float) -> alt.Y:
    return heights(tall, GUTTER)


def _dots(verdict: Verdict, tall: float, ground: str) -> alt.Chart:
    look = SHAPES[verdict]
    dots: alt.Chart = (
        named(verdict.key)
        .mark_point(
            shape=look.shape,
            size=look.area,
            filled=look.is_full,
            fill=look.colour if look.is_full else ground,
            stroke=ground if look.is_full else look.colour,
            strokeWidth=0.6 if look.is_full else 1.5,
            opacity=1,
        )
        .encode(x=_day(), y=_height(tall))
    )
    return dots


def _marks(kind: EventKind, tall: float, ground: str) -> alt.Chart:
    look = EVENTS[kind]
    marks: alt.Chart = (
        named(kind.value)
        .mark_point(
            shape=look.shape,
            size=look.area,
            fill=look.colour if look.is_full else ground,
            stroke=look.colour,
            strokeWidth=1.75,
            opacity=1,
        )
        .encode(x=_day(), y=_height(tall))
    )
    return marks


def _words(name: str, tall: float, ground: str, *, dy: float) -> list[alt.Chart]:
    look: dict[str, Any] = {"align": "left", "fontSize": TEXT, "dx": 2, "dy": dy}
    layers = haloed(named(name), ground, palette.INK_SOFT, **look)
    return [layer.encode(x=alt.value(0), y=_height(tall), text="text:N") for layer in layers]
