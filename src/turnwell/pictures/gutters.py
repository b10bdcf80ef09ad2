"""Pictures with room at their sides: figures of an axis at the left, names of lines at the right.

The plot is what lies between. On the page a style sheet keeps the room free (class `PLOTTED`), so
that places in the plot stay per cent of its width; on paper the plot is a narrower ground.
"""

from dataclasses import dataclass, replace

from turnwell.pictures.drawing import PAGE_TEXT, Ground

__all__ = ["LEFT", "LINE", "NARROW", "PLOTTED", "RIGHT", "WIDE", "Layout", "layouts", "plot"]

# Room at the sides in page pixels; the style sheet's padding is the same.
LEFT = 34.0
RIGHT = 104.0
PLOTTED = "plotted"
# Distance of two lines of text.
LINE = 17.0
# Mean advance of the shipped face's semi-bold, in parts of its size.
ADVANCE = 0.6


@dataclass(frozen=True, slots=True)
class Layout:
    """Labels are placed once for each of these, and a style sheet shows one.

    Parameters
    ----------
    classes : str
        Of its labels.
    least_px, most_px : float
        Widths of the plot that it is shown at.
    """

    classes: str
    least_px: float
    most_px: float

    def width(self, text: str) -> float:
        """Give the room a label takes, in page pixels."""
        return len(text) * ADVANCE * PAGE_TEXT


# The plot on a phone, from 320 px on, and from a tablet on.
NARROW = Layout("narrow", 148.0, 622.0)
WIDE = Layout("wide", 560.0, 1100.0)


def layouts(ground: Ground) -> tuple[Layout, ...]:
    """Give the layouts a picture needs: both on the page, one on paper."""
    if ground.width_px is None:
        return NARROW, WIDE
    return (Layout("", ground.width_px, ground.width_px),)


@dataclass(frozen=True, slots=True)
class Plot:
    """The plot of a picture and what it lies on.

    Parameters
    ----------
    whole : Ground
        Of the picture.
    inner : Ground
        Of the plot: places in parts of its width.
    """

    whole: Ground
    inner: Ground

    def picture(self, height: float, parts: list[str], *, says: str | None) -> str:
        """Close the picture."""
        if not self.whole.is_page:
            parts = [f'<g transform="translate({LEFT:g} 0)">', *parts, "</g>"]
        return self.whole.picture(PLOTTED, height, parts, says=says)


def plot(ground: Ground) -> Plot:
    """Give the plot of a picture on a ground."""
    if ground.width_px is None:
        return Plot(ground, ground)
    inner = ground.width_px - LEFT - RIGHT
    return Plot(ground, replace(ground, width_px=inner, narrowest_px=inner))
