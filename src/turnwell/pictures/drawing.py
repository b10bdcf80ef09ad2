"""The drawing ground of the own pictures: one set of strokes for the page and for paper.

On the page a picture is as wide as its column: places are per cent across and pixels down, there is
no ``viewBox``, and style sheets colour it by class. On paper it has a fixed width in points and
carries its colours with it. A picture is drawn once, against a `Ground`, and comes out either way.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from turnwell.measure import Verdict
from turnwell.pictures import palette

__all__ = ["Ground", "PathStroke", "page", "paper", "verdict_shape"]

# What a style sheet does on the page, as attributes for paper; lengths in page pixels.
STYLES = {
    "hair": f'stroke="{palette.LINE}" stroke-width="1"',
    "axis": f'stroke="{palette.LINE_FIRM}" stroke-width="1"',
    "ink-line": f'stroke="{palette.INK}" stroke-width="1.5"',
    "ink-firm": f'stroke="{palette.INK}" stroke-width="2"',
    "soft-line": f'stroke="{palette.INK_SOFT}" stroke-width="1.5"',
    "brass-line": f'stroke="{palette.BRASS}" stroke-width="1.5"',
    "dash": 'stroke-dasharray="3 4"',
    "curve": 'fill="none" stroke-linejoin="round"',
    "curve--brass": f'stroke="{palette.BRASS}" stroke-width="2.25"',
    "curve--soft": f'stroke="{palette.LINE_FIRM}" stroke-width="1.75"',
    "curve--set": f'stroke="{palette.INK_SOFT}" stroke-width="1.5" stroke-dasharray="2 4"',
    "curve--limit": f'stroke="{palette.INK_SOFT}" stroke-width="1.25"',
    "band-brass": f'fill="{palette.BRASS}" fill-opacity="0.14"',
    "band-ink": f'fill="{palette.INK}" fill-opacity="0.08"',
    "plane": f'fill="{palette.PAPER_DEEP}"',
    "wash": f'fill="{palette.BRASS_WASH}"',
    "fill-ink": f'fill="{palette.INK}"',
    "fill-brass": f'fill="{palette.BRASS}"',
    "fill-paper": f'fill="{palette.WHITE}"',
    "fill-soft": f'fill="{palette.LINE_FIRM}"',
    "hatched": 'fill="url(#hatch)"',
    "v-within": f'fill="{palette.WITHIN}"',
    "v-outside": f'fill="{palette.OUTSIDE}"',
    "v-unproven": f'fill="{palette.WHITE}" stroke="{palette.UNPROVEN}" stroke-width="2.25"',
    "v-before": f'fill="{palette.WHITE}" stroke="{palette.INK_SOFT}" stroke-width="1.75"',
    "v-unjudged": f'fill="{palette.INK}"',
    "v-ring": f'stroke="{palette.WHITE}" stroke-width="2" paint-order="stroke"',
    "ink-halo": f'stroke="{palette.WHITE}" stroke-width="4"',
    "ball": f'fill="{palette.WHITE}" stroke="{palette.INK}" stroke-width="1.75"',
    "ball--stay": f'fill="{palette.WHITE}" stroke="{palette.LINE_FIRM}" stroke-width="1.25"',
    "t-ink": f'fill="{palette.INK}"',
    "t-strong": f'fill="{palette.INK}" font-weight="600"',
    "t-brass": f'fill="{palette.BRASS}" font-weight="600"',
    "end": 'text-anchor="end"',
    "mid": 'text-anchor="middle"',
    "halo": f'stroke="{palette.WHITE}" stroke-width="5" paint-order="stroke"',
}
# Points of paper a page pixel becomes; size of labels in pixels on either ground.
PAPER_SCALE = 0.56
PAGE_TEXT = 14.0
PAPER_TEXT = 13.4
# Mean advance of a figure of the shipped face, in parts of its size.
ADVANCE = 0.58
# Units across of a path that is stretched to its picture's width.
PATH_UNITS = 1000
HATCH = (
    '<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse"'
    ' patternTransform="rotate(45)">'
    f'<path d="M0 0V6" stroke="{palette.HATCH}" stroke-width="1.6"/></pattern></defs>'
)


@dataclass(frozen=True, slots=True)
class PathStroke:
    """One stroke of a path.

    Parameters
    ----------
    kind : str
        ``"M"`` move, ``"L"`` straight, ``"H"`` across, ``"V"`` up or down, ``"Z"`` close.
    x, y : float
        Where it ends: x in parts of the width, y in page pixels; what its kind needs of them.
    """

    kind: str
    x: float = 0.0
    y: float = 0.0

    def written(self, wide: float) -> str:
        """Write the stroke on a ground so many units wide, to a tenth of one."""
        across, down = f"{round(self.x * wide, 1):g}", f"{round(self.y, 1):g}"
        ends = {"H": across, "V": down, "Z": ""}
        return self.kind + ends.get(self.kind, f"{across} {down}")


@dataclass(frozen=True, slots=True)
class Ground:
    """What a picture is drawn on.

    Parameters
    ----------
    width_px : float or None
        Width of a picture on paper, in page pixels; None for the page, where places are per cent.
    narrowest_px : float
        The least width that labels are placed for.
    face : str
        Font family of the labels on paper.
    """

    width_px: float | None
    narrowest_px: float
    face: str = ""

    @property
    def is_page(self) -> bool:
        """True where style sheets colour the picture."""
        return self.width_px is None

    def across(self, part: float) -> str:
        """Write a place across, given as a part of the width."""
        if self.width_px is None:
            return f"{_number(100.0 * part)}%"
        return _number(part * self.width_px)

    def label_part(self, text: str) -> float:
        """Give the part of the narrowest width that a label takes."""
        size = PAGE_TEXT if self.is_page else PAPER_TEXT
        return len(text) * ADVANCE * size / self.narrowest_px

    def look(self, classes: str) -> str:
        """Write what a class list looks like: the classes, or on paper their attributes."""
        if self.is_page:
            return f' class="{classes}"' if classes else ""
        styles = [STYLES[name] for name in classes.split() if name in STYLES]
        return f" {' '.join(styles)}" if styles else ""

    def line(self, classes: str, x1: float, y1: float, x2: float, y2: float) -> str:
        """Draw a straight line; x in parts of the width, y in page pixels."""
        return (
            f'<line{self.look(classes)} x1="{self.across(x1)}" x2="{self.across(x2)}"'
            f' y1="{_number(y1)}" y2="{_number(y2)}"/>'
        )

    def box(self, classes: str, x1: float, y1: float, x2: float, y2: float) -> str:
        """Fill a box between two corners; x in parts of the width, y in page pixels."""
        fill = ' fill="url(#hatch)"' if self.is_page and classes == "hatched" else ""
        return (
            f'<rect{fill or self.look(classes)} x="{self.across(x1)}" y="{_number(y1)}"'
            f' width="{self.across(max(x2 - x1, 0.0))}" height="{_number(max(y2 - y1, 0.0))}"/>'
        )

    def dot(self, classes: str, x: float, y: float, radius: float) -> str:
        """Draw a circle round a place; x in parts of the width, y and radius in page pixels."""
        return (
            f'<circle{self.look(classes)} cx="{self.across(x)}" cy="{_number(y)}"'
            f' r="{_number(radius)}"/>'
        )

    def path(self, classes: str, tall: float, strokes: Iterable[PathStroke]) -> str:
        """Draw a path; x in parts of the width, y in page pixels from 0 to `tall`.

        On the page it is stretched to the width; style sheets keep its strokes from scaling.
        """
        wide = PATH_UNITS if self.width_px is None else self.width_px
        drawn = "".join(stroke.written(wide) for stroke in strokes)
        path = f'<path{self.look(classes)} d="{drawn}"/>'
        if self.width_px is not None:
            return path
        return (
            f'<svg width="100%" height="{_number(tall)}" viewBox="0 0 {PATH_UNITS} {_number(tall)}"'
            f' preserveAspectRatio="none" overflow="visible">{path}</svg>'
        )

    def words(self, classes: str, x: float, y: float, text: str, *, dx: float = 0.0) -> str:
        """Set a label; x in parts of the width, y (base line) and dx in page pixels."""
        if not self.is_page and "narrow" in classes.split():
            return ""
        shift = f' dx="{_number(dx)}"' if dx else ""
        return (
            f'<text{self.look(classes)} x="{self.across(x)}" y="{_number(y)}"{shift}>'
            f"{escape(text, quote=False)}</text>"
        )

    def at(self, x: float, y: float, inside: str) -> str:
        """Put shapes whose own coordinates start at 0, 0 to a place."""
        if self.is_page:
            return f'<svg x="{self.across(x)}" y="{_number(y)}" overflow="visible">{inside}</svg>'
        return f'<g transform="translate({self.across(x)} {_number(y)})">{inside}</g>'

    def picture(
        self, classes: str, height: float, parts: list[str], *, says: str | None = None
    ) -> str:
        """Close a picture.

        Parameters
        ----------
        classes : str
            Classes of the whole.
        height : float
            In page pixels.
        parts : list of str
            What was drawn.
        says : str or None
            Its text equivalent; None where the words stand beside it, so that a reader's voice does
            not say them twice.
        """
        voice = 'aria-hidden="true"' if says is None else f'role="img" aria-label="{escape(says)}"'
        inside = "".join(parts)
        tall = _number(height)
        if self.width_px is None:
            return (
                f'<svg class="{classes}" width="100%" height="{tall}" {voice}'
                f' focusable="false">{inside}</svg>'
            )
        width_pt = _number(PAPER_SCALE * self.width_px)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_pt}"'
            f' height="{_number(PAPER_SCALE * height)}"'
            f' viewBox="0 0 {_number(self.width_px)} {tall}"'
            f' font-family="{escape(self.face)}" font-size="{PAPER_TEXT}"'
            f' fill="{palette.INK_SOFT}" {voice}>{HATCH}{inside}</svg>'
        )


def page(narrowest_px: float = 260.0) -> Ground:
    """Give the ground of a page, where a picture is never narrower than given."""
    return Ground(None, narrowest_px)


def paper(width_pt: float, face: str) -> Ground:
    """Give the ground of a sheet of paper: a picture of that width in points."""
    width_px = width_pt / PAPER_SCALE
    return Ground(width_px, width_px, face)


def verdict_shape(ground: Ground, verdict: Verdict) -> str:
    """Draw a verdict's own shape round 0, 0; a short stroke where nothing was judged."""
    if verdict is Verdict.WITHIN:
        return f'<circle{ground.look("v-within v-ring")} r="6.5"/>'
    if verdict is Verdict.OUTSIDE:
        return f'<rect{ground.look("v-outside v-ring")} x="-6" y="-6" width="12" height="12"/>'
    if verdict is Verdict.NOT_PROVEN:
        return f'<path{ground.look("v-unproven")} d="M0-7.5 7.5 0 0 7.5-7.5 0Z"/>'
    return f'<rect{ground.look("v-unjudged")} x="-1.75" y="-7" width="3.5" height="14"/>'


def _number(value: float) -> str:
    """Write a coordinate with two decimals at most."""
    return f"{round(value, 2) + 0.0:.10g}"
