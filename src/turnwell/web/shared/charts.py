"""Charts on a page: drawn by the server at three widths, and the program that enlivens them."""

from pathlib import Path
from typing import Any, Protocol

from django.conf import settings
from django.templatetags.static import static

from turnwell.pictures.bundle import NAME
from turnwell.pictures.charts import svg_of

__all__ = ["WIDTHS", "Chart", "chart_program", "drawn_chart"]

# The style sheet shows one of them; between, it is stretched until the page has drawn its own.
WIDTHS = (320, 640, 960)


class Chart(Protocol):
    """What has a chart specification for a width."""

    def specification(self, width: float) -> dict[str, Any]:
        """Give the specification."""


def drawn_chart(chart: Chart) -> list[tuple[int, str]]:
    """Draw a chart at each width, or take what was drawn before.

    Call it once a recording is analysed, and its page need not wait for the drawing.
    """
    folder = Path(settings.HOME) / "cache" / "charts"
    return [(width, svg_of(chart.specification(width), kept_in=folder)) for width in WIDTHS]


def chart_program() -> str:
    """Give the address of the chart program; empty where static files are not collected yet.

    The charts of such a page stay as the server drew them.
    """
    try:
        return static(f"turnwell/charts/{NAME}")
    except ValueError:
        return ""
