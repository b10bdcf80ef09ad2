"""The strokes and labels of a funnel picture, drawn once for page and paper."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from turnwell.pictures.dot_names import Dot, dot_names
from turnwell.pictures.drawing import Ground, PathStroke, page
from turnwell.pictures.funnel_picture import Beyond, FunnelLimits, FunnelOffice, FunnelPicture
from turnwell.pictures.funnel_picture_words import funnel_picture_in_words
from turnwell.pictures.gutters import LINE, Layout, Plot, layouts, plot
from turnwell.pictures.line_ends import spread_out
from turnwell.pictures.scale import level_texts, round_levels
from turnwell.words import text_of

__all__ = ["funnel_picture"]

TOP = 26.0
PLOT = 300.0
FOOT = 50.0
BOTTOM = TOP + PLOT
# Points of a limit across the plot.
POINTS = 160
ROOM = 1.08
# A name longer than this is cut beside its dot; the table has it whole.
LONGEST = 24
FEW_EXPECTED = 5.0
LOOKS = {Beyond.NEITHER: "ball--stay", Beyond.OF_95: "ball", Beyond.OF_998: "fill-brass"}
RADII = {Beyond.NEITHER: 4.0, Beyond.OF_95: 5.0, Beyond.OF_998: 5.5}


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where counts and ratios lie. Counts stand by their square roots: there limits are even."""

    picture: FunnelPicture
    plot: Plot
    most_expected: float
    most: float

    def x(self, expected: float) -> float:
        return min(sqrt(expected / self.most_expected), 1.0)

    def y(self, ratio: float) -> float:
        return BOTTOM - PLOT * min(ratio / self.most, 1.0)


def funnel_picture(
    picture: FunnelPicture,
    *,
    ground: Ground | None = None,
    says_itself: bool = True,
    language: str = "en",
) -> str:
    """Draw a funnel.

    Parameters
    ----------
    picture : FunnelPicture
    ground : Ground or None
        `drawing.page` (the default) or `drawing.paper`.
    says_itself : bool
        Whether the picture carries its text equivalent; False where the words stand beside it.
    language : str
        Of its words.

    Returns
    -------
    str
        SVG text.
    """
    made = plot(ground or page())
    expected = max(office.expected for office in picture.offices)
    frame = _Frame(picture, made, ROOM * expected, picture.top)
    parts = [
        *_plane(frame),
        *_levels(frame, language),
        *_limits(frame),
        *_ends(frame, language),
        *_offices(frame),
        *_names(frame),
        *_axis(frame, language),
    ]
    says = funnel_picture_in_words(picture, language=language) if says_itself else None
    return made.picture(BOTTOM + FOOT, parts, says=says)


def _plane(frame: _Frame) -> Iterator[str]:
    """Lay a quiet plane where 95 of 100 offices lie that are like the others."""
    limits = frame.picture.widened or frame.picture.limits
    at = _counts(frame, limits)
    lows = np.interp(at, limits.expected, limits.low_95)
    highs = np.minimum(np.interp(at, limits.expected, limits.high_95), frame.most)
    corners = [*zip(at, highs, strict=True), *reversed(list(zip(at, lows, strict=True)))]
    yield frame.plot.inner.path("plane", BOTTOM, _corners(frame, corners))


def _corners(frame: _Frame, corners: list[tuple[float, float]]) -> Iterator[PathStroke]:
    for number, (expected, ratio) in enumerate(corners):
        yield PathStroke("L" if number else "M", frame.x(expected), frame.y(ratio))
    yield PathStroke("Z")


def _counts(frame: _Frame, limits: FunnelLimits) -> NDArray[np.float64]:
    """Give expected counts at which limits are drawn, evenly across the plot."""
    stop = min(float(limits.expected[-1]), frame.most_expected)
    start = min(float(limits.expected[0]), stop)
    return np.linspace(sqrt(start), sqrt(stop), POINTS) ** 2


def _limits(frame: _Frame) -> Iterator[str]:
    """Draw the target and the limits; dotted by chance alone where they are widened."""
    inner, picture = frame.plot.inner, frame.picture
    target = frame.y(picture.target)
    yield inner.line("ink-line", 0.0, target, 1.0, target)
    plain = "curve curve--limit" if picture.widened is None else "curve curve--set"
    for look, limits in ((plain, picture.limits), ("curve curve--limit", picture.widened)):
        if limits is None:
            continue
        at = _counts(frame, limits)
        for row in (limits.low_95, limits.high_95, limits.low_998, limits.high_998):
            strokes = list(_limit_strokes(frame, at, np.interp(at, limits.expected, row)))
            if strokes:
                yield inner.path(look, BOTTOM, strokes)


def _limit_strokes(
    frame: _Frame, at: NDArray[np.float64], ratios: NDArray[np.float64]
) -> Iterator[PathStroke]:
    """Go along a limit from where it comes into the plot."""
    above = np.flatnonzero(ratios > frame.most)
    first = int(above[-1]) if above.size else 0
    if first == ratios.size - 1:
        return
    start, high = float(at[first]), float(ratios[first])
    if above.size:
        part = (high - frame.most) / (high - float(ratios[first + 1]))
        start += part * (float(at[first + 1]) - start)
    yield PathStroke("M", frame.x(start), frame.y(high))
    for expected, ratio in zip(at[first + 1 :], ratios[first + 1 :], strict=True):
        yield PathStroke("L", frame.x(float(expected)), frame.y(float(ratio)))


def _levels(frame: _Frame, language: str) -> Iterator[str]:
    inner = frame.plot.inner
    yield inner.words("", 0.0, 14.0, text_of("pictures.funnel.up", language), dx=-30.0)
    levels = round_levels(frame.most)
    for level, text in zip(levels, level_texts(levels), strict=True):
        y = frame.y(level)
        yield inner.line("axis" if level == 0.0 else "hair", 0.0, y, 1.0, y)
        yield inner.words("end", 0.0, y + 5.0, text, dx=-8.0)


def _ends(frame: _Frame, language: str) -> Iterator[str]:
    """Name the limits and the target beside their ends."""
    inner, limits = frame.plot.inner, frame.picture.widened or frame.picture.limits
    ends = [(text_of("pictures.funnel.target", language), frame.picture.target)]
    last = _counts(frame, limits)[-1]
    for key, row in (
        ("of_998", limits.high_998),
        ("of_95", limits.high_95),
        ("of_95", limits.low_95),
        ("of_998", limits.low_998),
    ):
        ratio = float(np.interp(last, limits.expected, row))
        if ratio <= frame.most:
            ends.append((text_of(f"pictures.funnel.{key}", language), ratio))
    wanted = [frame.y(ratio) for _, ratio in ends]
    tall = [LINE] * len(ends)
    edges = spread_out(wanted, tall, gap=0.0, top=TOP - 8.0, bottom=BOTTOM + 8.0)
    for (text, _), y, edge in zip(ends, wanted, edges, strict=True):
        down = round(edge + LINE / 2.0 - y, 1)
        leader = f'<path{inner.look("axis")} fill="none" d="M1 0 9 {down:g}"/>'
        yield inner.at(1.0, y, leader)
        yield inner.words("", 1.0, edge + 13.0, text, dx=12.0)


def _offices(frame: _Frame) -> Iterator[str]:
    """Draw the offices, those beyond a limit over the others; an arrow for one off the plot."""
    inner = frame.plot.inner
    order = list(Beyond)
    for office in sorted(frame.picture.offices, key=lambda one: order.index(one.beyond)):
        look, x, y = LOOKS[office.beyond], frame.x(office.expected), frame.y(office.ratio)
        if office.ratio > frame.most:
            yield inner.at(x, y, f'<path{inner.look(look)} d="M0-7 6 5H-6Z"/>')
        else:
            yield inner.dot(look, x, y, RADII[office.beyond])


def _names(frame: _Frame) -> Iterator[str]:
    """Name the offices beyond a limit, the furthest beyond first."""
    inner = frame.plot.inner
    order = list(Beyond)
    beyond = sorted(
        (office for office in frame.picture.offices if office.beyond is not Beyond.NEITHER),
        key=lambda one: (-order.index(one.beyond), -abs(one.observed - one.expected)),
    )
    dots = [Dot(frame.x(o.expected), frame.y(o.ratio), _short(o)) for o in beyond]
    for layout in layouts(frame.plot.whole):
        for name in dot_names(dots, layout, bottom=BOTTOM):
            look = " ".join(part for part in ("t-ink halo", name.anchor, layout.classes) if part)
            yield inner.words(look, name.dot.part, name.base, name.dot.name, dx=name.shift)


def _short(office: FunnelOffice) -> str:
    name = office.name
    return name if len(name) <= LONGEST else f"{name[: LONGEST - 1].rstrip()}…"


def _axis(frame: _Frame, language: str) -> Iterator[str]:
    """Name expected counts under the axis, as many as have room in each layout."""
    inner = frame.plot.inner
    for layout in layouts(frame.plot.whole):
        for count in _ticks(frame, layout):
            look = f"axis {layout.classes}".strip()
            x = frame.x(count)
            yield inner.line(look, x, BOTTOM, x, BOTTOM + 5.0)
            yield inner.words(f"mid {layout.classes}".strip(), x, BOTTOM + 22.0, f"{count:,g}")
    yield inner.words("end", 1.0, BOTTOM + 42.0, text_of("pictures.funnel.across", language))


def _ticks(frame: _Frame, layout: Layout) -> list[float]:
    """Give round counts from the largest down that have room for their figures."""
    # Parts of a return are named only where there is nothing else to name.
    least = 0 if frame.most_expected >= FEW_EXPECTED else -2
    decades = (10.0**power for power in range(6, least - 1, -1))
    ticks: list[float] = []
    for count in (factor * decade for decade in decades for factor in (5.0, 2.0, 1.0)):
        if count <= frame.most_expected:
            room = layout.width(f"{count:,g}") + 14.0
            later = frame.x(ticks[-1]) if ticks else 2.0
            if (later - frame.x(count)) * layout.least_px >= room:
                ticks.append(count)
    return ticks
