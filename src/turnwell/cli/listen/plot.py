"""One picture of what was heard: the charts of the page, one under the other, as SVG or PNG."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from turnwell.cli.picture import CHART_WIDTH, Panel, write_picture
from turnwell.pictures import SpeedTrace, coast_trace, order_picture, speed_trace

__all__ = ["NOTHING", "panels_of", "write_plot"]

NOTHING = "no speed was heard, so there is nothing to draw; no picture is made"


def write_plot(path: Path, after: dict[str, Any], before: dict[str, Any] | None = None) -> None:
    """Draw one or two recordings into a file whose ending says the form.

    Parameters
    ----------
    path : Path
        Ends in ``.svg`` or ``.png``.
    after, before : mapping
        Documents of `Listening.as_dict`; the earlier one is drawn dotted.

    Raises
    ------
    CannotTellError
        If nothing was heard that could be drawn.
    InputError
        If the file cannot be written.
    """
    write_picture(path, panels_of(after, before), nothing=NOTHING)


def panels_of(after: dict[str, Any], before: dict[str, Any] | None = None) -> list[Panel]:
    """Give the charts there are: speed over time, coast-down with the drag fitted, orders."""
    return list(_panels(after, before))


def _panels(after: dict[str, Any], before: dict[str, Any] | None) -> Iterator[Panel]:
    speed = speed_trace(SpeedTrace.from_listening(after), SpeedTrace.from_listening(before))
    if speed is not None:
        yield Panel("Speed", speed.specification(CHART_WIDTH))
    coast = coast_trace(after, before)
    if coast is not None:
        yield Panel("Coast-down", coast.specification(CHART_WIDTH))
    orders = order_picture(after, before)
    if orders is not None:
        yield Panel("Orders", orders.specification(CHART_WIDTH))
