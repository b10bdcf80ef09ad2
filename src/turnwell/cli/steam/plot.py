"""The trace of one record as a picture: temperature, pressure, stages, saturation difference."""

from pathlib import Path
from typing import Any

from turnwell.cli.picture import CHART_WIDTH, Panel, write_picture
from turnwell.pictures import cycle_trace

__all__ = ["write_plot"]


def write_plot(path: Path, document: dict[str, Any]) -> None:
    """Draw a record into a file whose ending says the form.

    Parameters
    ----------
    path : Path
        Ends in ``.svg`` or ``.png``.
    document : mapping
        Of `Review.as_dict`.

    Raises
    ------
    CannotTellError
        If there is nothing to draw.
    InputError
        If the file cannot be written.
    """
    chart = cycle_trace(document)
    panels = [] if chart is None else [Panel("The run", chart.specification(CHART_WIDTH))]
    write_picture(path, panels, nothing="the record holds nothing to draw; no picture is made")
