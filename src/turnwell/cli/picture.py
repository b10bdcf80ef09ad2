"""Charts under each other as one picture, SVG or PNG."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any

from turnwell.cli.write import write_whole
from turnwell.errors import CannotTellError
from turnwell.fonts import FAMILY
from turnwell.pictures import palette
from turnwell.pictures.charts import svg_of

__all__ = ["CHART_WIDTH", "Panel", "picture", "write_picture"]

WIDTH = 900.0
_MARGIN = 24.0
CHART_WIDTH = WIDTH - 2.0 * _MARGIN
_HEADING = 34.0
_PNG_SCALE = 2.0
_OPENING = re.compile(r"<svg\b[^>]*>")
_VIEW = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')


@dataclass(frozen=True, slots=True)
class Panel:
    """A chart with its heading."""

    heading: str
    specification: dict[str, Any]


def write_picture(path: Path, panels: Sequence[Panel], *, nothing: str) -> None:
    """Write a picture into a file whose ending says the form.

    Parameters
    ----------
    path : Path
        Ends in ``.svg`` or ``.png``.
    panels : sequence of Panel
    nothing : str
        Why there is nothing to draw where there is no panel.

    Raises
    ------
    CannotTellError
        If there is no panel.
    InputError
        If the file cannot be written.
    """
    drawn = picture(panels, nothing=nothing)
    if path.suffix.lower() == ".svg":
        write_whole(path, drawn.encode())
        return
    import vl_convert

    write_whole(path, vl_convert.svg_to_png(drawn, scale=_PNG_SCALE))


def picture(panels: Sequence[Panel], *, nothing: str) -> str:
    """Put charts under each other in one SVG document.

    Raises
    ------
    CannotTellError
        If there is no chart.
    """
    if not panels:
        raise CannotTellError(nothing)
    parts, top = [], _MARGIN
    for panel in panels:
        heading = escape(panel.heading, quote=False)
        parts.append(
            f'<text x="{_MARGIN}" y="{top + 16.0}" font-family="{FAMILY}, sans-serif" '
            f'font-size="17" font-weight="600" fill="{palette.INK}">{heading}</text>'
        )
        chart, height = _placed(svg_of(panel.specification), top + _HEADING)
        parts.append(chart)
        top += _HEADING + height + _MARGIN
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{top}" '
        f'viewBox="0 0 {WIDTH} {top}"><rect width="100%" height="100%" fill="{palette.PAPER}"/>'
        f"{''.join(parts)}</svg>\n"
    )


def _placed(chart: str, top: float) -> tuple[str, float]:
    """Give a chart at its place in the picture, and its height there."""
    opening, view = _OPENING.search(chart), _VIEW.search(chart)
    if opening is None or view is None:
        raise ValueError("a chart came without its size")
    height = float(view[2]) * CHART_WIDTH / float(view[1])
    begun = f'<svg x="{_MARGIN}" y="{top}" width="{CHART_WIDTH}" height="{height}" {view[0]}>'
    return begun + chart[opening.end() :], height
