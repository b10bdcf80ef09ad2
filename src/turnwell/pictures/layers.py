"""What the charts have in common: data by name, axes, labels over a halo, the house's look."""

from collections.abc import Sequence
from typing import Any

import altair as alt

from turnwell.fonts import FAMILY
from turnwell.pictures import palette
from turnwell.pictures.speed_trace_labels import TEXT

__all__ = ["dressed", "framed", "haloed", "heights", "named", "speed_axis", "time_axis"]


def named(name: str) -> alt.Chart:
    """Take rows that are put into the specification under a name."""
    return alt.Chart(alt.NamedData(name=name))


def speed_axis() -> alt.Axis:
    """Give the axis of speed, its figures at the chart's parameter `levels`."""
    return alt.Axis(
        grid=False,
        domain=False,
        ticks=False,
        format=",.0f",
        labelPadding=8,
        labelOverlap=False,
        values=alt.ExprRef("levels"),
    )


def time_axis(unit: str, **look: Any) -> alt.Axis:
    """Give the axis of a clock: a tick about every 95 pixels, the unit beside the first."""
    return alt.Axis(
        grid=False,
        domainColor=palette.LINE_FIRM,
        tickColor=palette.LINE_FIRM,
        tickSize=5,
        tickCount=alt.ExprRef("max(2, round(width / 95))"),
        labelExpr=f"datum.label + (datum.index == 0 ? ' {unit}' : '')",
        labelFlush=True,
        **look,
    )


def heights(tall: float, gutter: float) -> alt.Y:
    """Give the scale of data whose heights are pixels from above already.

    Its axis writes, at the chart's parameter `heights`, the texts of the parameter `labels`. The
    plot is as high as the whole less the axis of time; what is drawn shrinks with it.
    """
    axis = alt.Axis(
        grid=False,
        domain=False,
        ticks=False,
        values=alt.ExprRef("heights"),
        labelExpr="labels[indexof(heights, datum.value)]",
        labelPadding=8,
        labelOverlap=False,
        minExtent=gutter - 8.0,
        maxExtent=gutter - 8.0,
    )
    scale = alt.Scale(domain=[tall, 0], range=[alt.ExprRef("height"), 0], nice=False)
    return alt.Y("y:Q", scale=scale, axis=axis, title=None)


def haloed(words: alt.Chart, ground: str, colour: str, **look: Any) -> tuple[alt.Chart, alt.Chart]:
    """Set words over a halo of the ground; their places are still to be encoded."""
    halo = words.mark_text(color=ground, stroke=ground, strokeWidth=4, strokeJoin="round", **look)
    return halo, words.mark_text(color=colour, **look)


def framed(
    layers: Sequence[alt.Chart], *, params: Sequence[str], height: float, ground: str
) -> dict[str, Any]:
    """Give the specification of layers with named parameters, as wide as it is asked for."""
    picture = (
        alt.layer(*layers)
        .add_params(*(alt.param(name=name, value=0) for name in params))
        .properties(
            height=height,
            autosize=alt.AutoSizeParams(type="fit", contains="padding"),
            padding=0,
            background=ground,
        )
    )
    return dressed(picture)


def dressed(picture: alt.LayerChart | alt.FacetChart) -> dict[str, Any]:
    """Give the specification of a picture in the house's face and colours."""
    made: dict[str, Any] = (
        picture.configure(font=FAMILY, aria=False)
        .configure_view(stroke=None)
        .configure_axis(labelFontSize=TEXT, labelColor=palette.INK_SOFT, title=None)
        .to_dict()
    )
    return made
