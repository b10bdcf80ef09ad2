"""The layers of an order picture, written with the chart library; heights are worked out here."""

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeAlias

import altair as alt

from turnwell.pictures import palette
from turnwell.pictures.layers import dressed, named
from turnwell.pictures.order_picture import (
    TOP_ORDER,
    OrderPicture,
    Panel,
    order_picture_in_words,
    panel_name,
)
from turnwell.pictures.order_picture_flags import MARK, Flag, flags_of
from turnwell.pictures.order_spectra import OrderLine, OrderSpectrum
from turnwell.pictures.scale import round_levels
from turnwell.pictures.speed_trace_labels import TEXT, label_width
from turnwell.words import text_of

__all__ = ["layered"]

# Heights in pixels: a row of flags, what stands over each panel, the panel.
ROW = 19.0
OVER = 28.0
PANEL = 104.0
GUTTER = 34.0
# Points of one curve at most: one for each of this many columns.
COLUMNS = 400
# What is drawn under the noise floor, and the least span over it, in dB.
FLOOR_DB = -4.0
LEAST_DB = 24.0
# A band is drawn at least so wide, in orders, so that it can be seen.
LEAST_BAND = 0.03
# A mark stands over the highest point within so many orders.
NEAR = 0.02
Rows: TypeAlias = list[dict[str, Any]]


@dataclass(frozen=True, slots=True)
class _Plan:
    """Where everything stands, in pixels from the top: the first title, the flags, the panels."""

    rows: int
    panels: tuple[Panel, ...]
    top_db: float

    @property
    def height_px(self) -> float:
        return self.floor_px(len(self.panels) - 1)

    def top_px(self, number: int) -> float:
        return OVER + self.rows * ROW + number * (OVER + PANEL)

    def floor_px(self, number: int) -> float:
        return self.top_px(number) + PANEL

    def title_px(self, number: int) -> float:
        return OVER / 2.0 if number == 0 else self.top_px(number) - OVER / 2.0

    def flag_px(self, row: int) -> float:
        return self.top_px(0) - ROW * (row + 0.6)

    def level_px(self, number: int, level_db: float) -> float:
        held = min(max(level_db, FLOOR_DB), self.top_db)
        part = (held - FLOOR_DB) / (self.top_db - FLOOR_DB)
        return round(self.floor_px(number) - PANEL * part, 1)


def layered(picture: OrderPicture, width: float, ground: str, language: str) -> dict[str, Any]:
    """Give the specification with its data."""
    inner_px = width - GUTTER
    flags = flags_of(picture, inner_px, language)
    rows = 1 + max((flag.row for flag in flags), default=-1)
    plan = _Plan(rows, picture.panels, _top_db(picture.panels))
    made = deepcopy(_structure(ground))
    made["description"] = order_picture_in_words(picture, language=language)
    made["width"], made["height"] = width, plan.height_px
    columns = min(COLUMNS, int(inner_px / 2.0))
    made["datasets"] = {
        "unit": [{"text": "dB"}],
        "bands": _bands(picture.after.lines, plan),
        "turns": _turns(plan),
        "deaf": _deaf(plan),
        "deaf_names": _deaf_names(plan, inner_px, language),
        "levels": _levels(plan),
        "titles": _titles(plan, inner_px, language),
        "after": _curves([panel.after for panel in plan.panels], plan, columns),
        "before": _curves([panel.before for panel in plan.panels], plan, columns),
        "marks": _marks(picture.after.lines, [panel.after for panel in plan.panels], plan),
        "gone_marks": _marks(picture.gone, [panel.before for panel in plan.panels], plan),
        **_flags(flags, plan, inner_px),
    }
    return made


def _top_db(panels: Sequence[Panel]) -> float:
    spectra = [one for panel in panels for one in (panel.after, panel.before) if one is not None]
    return 1.12 * max(LEAST_DB, *(max(spectrum.level_db) for spectrum in spectra))


def _bands(lines: Sequence[OrderLine], plan: _Plan) -> Rows:
    """Give the stretches of each panel in which the lines of the bearing are expected."""
    rows: Rows = []
    for line in lines:
        if not line.is_of_bearing or line.low_order >= TOP_ORDER:
            continue
        room = max(LEAST_BAND - (line.high_order - line.low_order), 0.0) / 2.0
        for number in range(len(plan.panels)):
            rows.append(
                {
                    "order": max(line.low_order - room, 0.0),
                    "stop": min(line.high_order + room, TOP_ORDER),
                    "px": plan.top_px(number),
                    "stop_px": plan.floor_px(number),
                }
            )
    return rows


def _turns(plan: _Plan) -> Rows:
    """Give the whole multiples of the rotation, in each panel."""
    return [
        {"order": order, "px": plan.top_px(number), "stop_px": plan.floor_px(number)}
        for number in range(len(plan.panels))
        for order in range(1, int(TOP_ORDER) + 1)
    ]


def _deaf(plan: _Plan) -> Rows:
    """Give what each panel cannot hold."""
    return [
        {
            "order": panel.after.stop_order,
            "stop": TOP_ORDER,
            "px": plan.top_px(number),
            "stop_px": plan.floor_px(number),
        }
        for number, panel in enumerate(plan.panels)
        if panel.after.stop_order < TOP_ORDER
    ]


def _deaf_names(plan: _Plan, inner_px: float, language: str) -> Rows:
    """Name what cannot be heard, where the words have room in it."""
    words = text_of("pictures.orders.deaf", language)
    return [
        {
            "order": (row["order"] + row["stop"]) / 2.0,
            "px": (row["px"] + row["stop_px"]) / 2.0,
            "text": words,
        }
        for row in _deaf(plan)
        if label_width(words) < (row["stop"] - row["order"]) / TOP_ORDER * inner_px
    ]


def _levels(plan: _Plan) -> Rows:
    """Give the level lines with their figures."""
    return [
        {"px": plan.level_px(number, level), "text": f"{level:.0f}"}
        for number in range(len(plan.panels))
        for level in _few_levels(plan.top_db)
    ]


def _few_levels(top_db: float) -> list[float]:
    """Give two or three round levels: every second one where there are more."""
    levels = round_levels(top_db)
    return levels[::2] if len(levels) > 3 else levels


def _titles(plan: _Plan, inner_px: float, language: str) -> Rows:
    """Name the panels, with their speeds where these have room."""
    rows: Rows = []
    for number, panel in enumerate(plan.panels):
        words = panel_name(panel.after, language)
        if label_width(words) > inner_px:
            words = panel_name(panel.after, language, short=True)
        rows.append({"px": plan.title_px(number), "text": words})
    return rows


def _curves(spectra: Sequence[OrderSpectrum | None], plan: _Plan, columns: int) -> Rows:
    """Give the points of a curve in each panel, from the top panel on."""
    return [
        {
            "order": round(point.order, 3),
            "px": plan.level_px(number, point.level_db),
            "floor_px": plan.floor_px(number),
            "panel": number,
        }
        for number, spectrum in enumerate(spectra)
        if spectrum is not None
        for point in spectrum.points(columns, TOP_ORDER)
    ]


def _marks(
    lines: Sequence[OrderLine], spectra: Sequence[OrderSpectrum | None], plan: _Plan
) -> Rows:
    """Give a place over each bearing line that stands out, in the panel that shows it best."""
    rows: Rows = []
    for line in lines:
        if not (line.is_of_bearing and line.stands_out) or line.found_order is None:
            continue
        low, high = line.found_order - NEAR, line.found_order + NEAR
        heights = [
            (height, number)
            for number, spectrum in enumerate(spectra)
            if spectrum is not None and (height := spectrum.highest_within(low, high)) is not None
        ]
        if heights and line.found_order < TOP_ORDER:
            height, number = max(heights)
            rows.append({"order": line.found_order, "px": plan.level_px(number, height) - 10.0})
    return rows


def _flags(flags: Sequence[Flag], plan: _Plan, inner_px: float) -> dict[str, Rows]:
    """Give poles, words and triangles of the flags, by the name of their data."""
    rows: dict[str, Rows] = {"poles": [], "flags": [], "raised_flags": []}
    rows["flag_marks"], rows["gone_flag_marks"] = [], []
    for flag in flags:
        px = plan.flag_px(flag.row)
        rows["poles"].append({"order": flag.order, "px": px - 7.0, "stop_px": plan.top_px(0)})
        name = "raised_flags" if flag.is_marked else "flags"
        left_px = flag.left_px + (MARK if flag.is_marked else 0.0)
        rows[name].append({"order": left_px / inner_px * TOP_ORDER, "px": px, "text": flag.text})
        if flag.is_marked:
            middle = (flag.left_px + 6.0) / inner_px * TOP_ORDER
            marks = rows["gone_flag_marks" if flag.stood_out else "flag_marks"]
            marks.append({"order": middle, "px": px})
    return rows


@cache
def _structure(ground: str) -> dict[str, Any]:
    """Write the layers with the chart library; slow, so done once for each ground."""
    layers = [
        _plane("deaf", palette.PAPER_DEEP),
        _plane("bands", palette.BRASS_WASH),
        *_scales(),
        _upright("turns", palette.LINE_FIRM, [1, 3]),
        _upright("poles", palette.LINE_FIRM, [1, 0]),
        named("before")
        .mark_area(color=palette.LINE, clip=True)
        .encode(x=_order(), y=_px(), y2="floor_px", detail="panel:N"),
        named("after")
        .mark_line(color=palette.INK, strokeWidth=1.1, clip=True)
        .encode(x=_order(), y=_px(), detail="panel:N"),
        *(_triangles(name, ground, palette.BRASS) for name in ("gone_marks", "gone_flag_marks")),
        *(_triangles(name, palette.BRASS, ground) for name in ("marks", "flag_marks")),
        *_words_on_plane("deaf_names", palette.PAPER_DEEP),
        _words("titles", palette.INK, weight=600, x=alt.value(0)),
        _words("flags", palette.INK_SOFT),
        _words("raised_flags", palette.INK, weight=600),
    ]
    picture = alt.layer(*layers).properties(
        autosize=alt.AutoSizeParams(type="fit-x", contains="padding"),
        padding={"left": GUTTER, "top": 0, "right": 0, "bottom": 0},
        background=ground,
    )
    return dressed(picture)


def _order() -> alt.X:
    axis = alt.Axis(
        grid=False,
        domainColor=palette.LINE_FIRM,
        tickColor=palette.LINE_FIRM,
        tickSize=5,
        values=list(range(int(TOP_ORDER) + 1)),
        labelExpr="datum.label + (datum.value == 1 ? ' ×' : '')",
        labelFlush=True,
        labelOverlap=False,
    )
    scale = alt.Scale(domain=[0, TOP_ORDER], nice=False)
    return alt.X("order:Q", scale=scale, axis=axis, title=None)


def _px(field: str = "px:Q") -> alt.Y:
    """Give the channel of places that are worked out in pixels already."""
    whole: list[Any] = [0, alt.ExprRef("height")]
    return alt.Y(field, scale=alt.Scale(domain=whole, range=whole, nice=False), axis=None)


def _plane(name: str, colour: str) -> alt.Chart:
    plane: alt.Chart = (
        named(name)
        .mark_rect(color=colour, clip=True)
        .encode(x=_order(), x2="stop", y=_px(), y2="stop_px")
    )
    return plane


def _upright(name: str, colour: str, dash: list[int]) -> alt.Chart:
    rule = named(name).mark_rule(color=colour, strokeDash=dash)
    upright: alt.Chart = rule.encode(x=_order(), y=_px(), y2="stop_px")
    return upright


def _scales() -> list[alt.Chart]:
    """Draw the level lines, their figures left of the panels, and the unit over them."""
    figures = named("levels").mark_text(align="right", dx=-8, fontSize=TEXT, color=palette.INK_SOFT)
    unit = named("unit").mark_text(align="right", dx=-8, fontSize=TEXT, color=palette.INK_SOFT)
    return [
        named("levels").mark_rule(color=palette.LINE).encode(y=_px()),
        figures.encode(x=alt.value(0), y=_px(), text="text:N"),
        unit.encode(x=alt.value(0), y=alt.value(OVER / 2.0), text="text:N"),
    ]


def _triangles(name: str, fill: str, stroke: str) -> alt.Chart:
    mark = named(name).mark_point(
        shape="triangle-down",
        size=90,
        filled=True,
        fill=fill,
        stroke=stroke,
        strokeWidth=1,
        opacity=1,
    )
    triangles: alt.Chart = mark.encode(x=_order(), y=_px())
    return triangles


def _words(name: str, colour: str, *, weight: Any = 400, x: Any = None) -> alt.Chart:
    """Set words where nothing is drawn under them."""
    look = named(name).mark_text(align="left", fontSize=TEXT, fontWeight=weight, color=colour)
    words: alt.Chart = look.encode(x=_order() if x is None else x, y=_px(), text="text:N")
    return words


def _words_on_plane(name: str, plane: str) -> list[alt.Chart]:
    """Set words in the middle of a plane, over a halo in its colour."""
    look: dict[str, Any] = {"align": "center", "fontSize": TEXT}
    halo = named(name).mark_text(
        color=plane, stroke=plane, strokeWidth=5, strokeJoin="round", **look
    )
    text = named(name).mark_text(color=palette.INK_SOFT, **look)
    return [layer.encode(x=_order(), y=_px(), text="text:N") for layer in (halo, text)]
