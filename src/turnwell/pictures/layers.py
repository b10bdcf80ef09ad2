"""What the charts have in common: data by name, the axis of speed, the house's look."""

from typing import Any

import altair as alt

from turnwell.fonts import FAMILY
from turnwell.pictures import palette
from turnwell.pictures.speed_trace_labels import TEXT

__all__ = ["dressed", "named", "speed_axis"]


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


def dressed(picture: alt.LayerChart | alt.FacetChart) -> dict[str, Any]:
    """Give the specification of a picture in the house's face and colours."""
    made: dict[str, Any] = (
        picture.configure(font=FAMILY, aria=False)
        .configure_view(stroke=None)
        .configure_axis(labelFontSize=TEXT, labelColor=palette.INK_SOFT, title=None)
        .to_dict()
    )
    return made
