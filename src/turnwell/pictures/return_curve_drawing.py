"""The strokes and labels of a return curve, drawn once for page and paper."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.pictures.calendar_axis import day_ticks, short_day
from turnwell.pictures.day_marks import DayMark, MarkName, mark_names
from turnwell.pictures.drawing import Ground, PathStroke, page
from turnwell.pictures.figures import written
from turnwell.pictures.gutters import LINE, Layout, Plot, layouts, plot
from turnwell.pictures.line_ends import spread_out
from turnwell.pictures.return_curve import END_DECIMALS, CurveSteps, ReturnCurve
from turnwell.pictures.return_curve_words import return_curve_in_words
from turnwell.pictures.scale import level_texts, round_levels
from turnwell.words import Message, text_of

__all__ = ["return_curve"]

PLOT = 264.0
FOOT = 30.0
# Of each curve at most so many steps are drawn, and none lower than this many pixels.
COLUMNS = 480
LEAST_PX = 0.4
# How far the scale reaches beyond the highest value, in parts of it: for a band, for the old pace.
BAND_REACH = 1.6
PACE_REACH = 1.9
ROOM = 1.06
# How the words at a line's end look, and the stroke that leads to them.
LOOKS = {"office": ("t-brass", "brass-line"), "everyone": ("t-ink", "axis")}


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where days and values lie: the plot between its upper and lower edge."""

    curve: ReturnCurve
    plot: Plot
    top: float
    most: float

    @property
    def bottom(self) -> float:
        return self.top + PLOT

    def x(self, day: float) -> float:
        return min(max(day / self.curve.days, 0.0), 1.0)

    def y(self, value: float) -> float:
        return self.bottom - PLOT * min(value / self.most, 1.0)


@dataclass(frozen=True, slots=True)
class _End:
    """The words at the end of a line."""

    look: str
    stroke: str
    y: float
    lines: tuple[str, ...]


def return_curve(
    curve: ReturnCurve,
    *,
    ground: Ground | None = None,
    says_itself: bool = True,
    language: str = "en",
) -> str:
    """Draw a return curve.

    Parameters
    ----------
    curve : ReturnCurve
    ground : Ground or None
        `drawing.page` (the default) or `drawing.paper`.
    says_itself : bool
        Whether the picture carries its text equivalent; False where the words stand beside it.
    language : str
        Of its words.

    Returns
    -------
    str
        SVG text; of 20,000 handpieces it is no heavier than of 200.
    """
    made = plot(ground or page())
    marks = _marks(curve, language)
    named = [(layout, mark_names(marks, layout)) for layout in layouts(made.whole)]
    rows = max((name.row + 1 for _, names in named for name in names), default=0)
    frame = _Frame(curve, made, 26.0 + LINE * rows, _most(curve))
    parts = [
        *_bands(frame),
        *_levels(frame, language),
        *_lines(frame),
        *_trainings(frame, marks, named),
        *_ends(frame, language),
        *_ticks(frame),
    ]
    says = return_curve_in_words(curve, language=language) if says_itself else None
    return made.picture(frame.bottom + FOOT, parts, says=says)


def _most(curve: ReturnCurve) -> float:
    """Give the value at the plot's upper edge; a wide band or a steep old pace may run off it."""
    drawn = [steps for steps in (curve.office, curve.everyone) if steps is not None]
    highest = max((float(steps.value[-1]) for steps in drawn if steps.value.size), default=0.0)
    if highest <= 0.0:
        return 1.0
    bands = [float(steps.high[-1]) for steps in drawn if steps.has_band]
    reach = [highest, *(min(high, BAND_REACH * highest) for high in bands)]
    if curve.carried_on is not None:
        reach.append(min(curve.carried_on[1], PACE_REACH * highest))
    return ROOM * max(reach)


def _bands(frame: _Frame) -> Iterator[str]:
    """Draw the intervals as planes, all offices under this one."""
    for look, steps in (("band-ink", frame.curve.everyone), ("band-brass", frame.curve.office)):
        if steps is None or not steps.has_band:
            continue
        kept = _thinned(frame, steps)
        yield frame.plot.inner.path(look, frame.bottom, _band_strokes(frame, kept))


def _band_strokes(frame: _Frame, steps: CurveSteps) -> Iterator[PathStroke]:
    """Go along the upper ends, and back along the lower ones."""
    edge = [frame.x(float(day)) for day in steps.days]
    lows = [0.0, *(float(low) for low in steps.low)]
    yield PathStroke("M", edge[0], frame.y(0.0))
    for x, high in zip(edge, steps.high, strict=True):
        yield PathStroke("H", x)
        yield PathStroke("V", 0.0, frame.y(float(high)))
    yield PathStroke("H", 1.0)
    for place in range(len(edge), 0, -1):
        yield PathStroke("V", 0.0, frame.y(lows[place]))
        yield PathStroke("H", edge[place - 1])
    yield PathStroke("Z")


def _lines(frame: _Frame) -> Iterator[str]:
    """Draw the curves as steps, and the old pace dotted from its training on."""
    inner, curve = frame.plot.inner, frame.curve
    if curve.everyone is not None:
        strokes = _step_strokes(frame, _thinned(frame, curve.everyone))
        yield inner.path("curve curve--soft", frame.bottom, strokes)
    if curve.old_pace is not None and curve.carried_on is not None:
        start, end = curve.carried_on
        x = frame.x(float(curve.day_of(curve.old_pace.until)))
        # Where it leaves the plot.
        part = 1.0 if end <= frame.most else (frame.most - start) / (end - start)
        strokes = iter(
            (
                PathStroke("M", x, frame.y(start)),
                PathStroke("L", x + part * (1.0 - x), frame.y(start + part * (end - start))),
            )
        )
        yield inner.path("curve curve--set", frame.bottom, strokes)
    strokes = _step_strokes(frame, _thinned(frame, curve.office))
    yield inner.path("curve curve--brass", frame.bottom, strokes)


def _step_strokes(frame: _Frame, steps: CurveSteps) -> Iterator[PathStroke]:
    yield PathStroke("M", 0.0, frame.y(0.0))
    for day, value in zip(steps.days, steps.value, strict=True):
        yield PathStroke("H", frame.x(float(day)))
        yield PathStroke("V", 0.0, frame.y(float(value)))
    yield PathStroke("H", 1.0)


def _thinned(frame: _Frame, steps: CurveSteps) -> CurveSteps:
    """Leave out what a screen cannot show, and keep both extremes of what is joined."""
    if steps.days.size <= COLUMNS:
        return steps
    column = np.minimum(steps.days * (COLUMNS / frame.curve.days), COLUMNS - 1.0).astype(np.intp)
    starts = np.flatnonzero(np.diff(column, prepend=-1))
    stops = np.append(starts[1:], steps.days.size) - 1
    made = CurveSteps(
        steps.days[starts],
        steps.value[stops],
        np.minimum.reduceat(steps.low, starts),
        np.maximum.reduceat(steps.high, starts),
        steps.handpieces,
        steps.returns,
    )
    kept = _moves(np.stack([made.value, made.low, made.high]) * (PLOT / frame.most))
    return CurveSteps(
        made.days[kept],
        made.value[kept],
        made.low[kept],
        made.high[kept],
        steps.handpieces,
        steps.returns,
    )


def _moves(heights: NDArray[np.float64]) -> list[int]:
    """Give the columns in which a row has moved far enough to be seen, and the last."""
    kept = [0]
    for place in range(1, heights.shape[1]):
        moved = np.max(np.abs(heights[:, place] - heights[:, kept[-1]]))
        if moved >= LEAST_PX or place == heights.shape[1] - 1:
            kept.append(place)
    return kept


def _marks(curve: ReturnCurve, language: str) -> list[DayMark]:
    marks = []
    for day in curve.shown(curve.trainings):
        short = short_day(day)
        text = text_of(Message("pictures.returncurve.mark", {"day": short}), language)
        marks.append(DayMark(curve.day_of(day) / curve.days, text, short))
    return marks


def _trainings(
    frame: _Frame, marks: list[DayMark], named: list[tuple[Layout, tuple[MarkName, ...]]]
) -> Iterator[str]:
    """Draw every training as a firm line up to its day, and visits as open circles on the axis."""
    inner, curve = frame.plot.inner, frame.curve
    for mark in marks:
        yield inner.line("ink-line", mark.part, frame.top, mark.part, frame.bottom)
    for layout, names in named:
        for name in names:
            y = frame.top - 7.0 - LINE * name.row
            anchor = {0.0: "", 0.5: "mid", 1.0: "end"}[name.side]
            # Words beside their line rather than over it: the line goes up along them.
            up = y - 12.0 if name.side != 0.5 else y + 4.0
            shift = {0.0: 5.0, 0.5: 0.0, 1.0: -5.0}[name.side]
            yield inner.line(f"ink-line {layout.classes}", name.part, up, name.part, frame.top)
            look = f"t-strong {anchor} {layout.classes}".replace("  ", " ").strip()
            yield inner.words(look, name.part, y, name.text, dx=shift)
    for day in curve.shown(curve.visits):
        yield inner.dot("ball", curve.day_of(day) / curve.days, frame.bottom, 4.5)


def _levels(frame: _Frame, language: str) -> Iterator[str]:
    inner = frame.plot.inner
    levels = round_levels(frame.most)
    unit = text_of("pictures.returncurve.unit", language)
    yield inner.words("", 0.0, 14.0, unit, dx=-30.0)
    for level, text in zip(levels, level_texts(levels), strict=True):
        y = frame.y(level)
        yield inner.line("axis" if level == 0.0 else "hair", 0.0, y, 1.0, y)
        yield inner.words("end", 0.0, y + 5.0, text, dx=-8.0)


def _ends(frame: _Frame, language: str) -> Iterator[str]:
    """Name the lines beside their ends, as near to them as all have room."""
    inner = frame.plot.inner
    ends = list(_end_words(frame, language))
    tall = [LINE * len(end.lines) for end in ends]
    edges = spread_out(
        [end.y for end in ends], tall, gap=8.0, top=frame.top - 6.0, bottom=frame.bottom + 4.0
    )
    for end, edge, high in zip(ends, edges, tall, strict=True):
        down = round(edge + high / 2.0 - end.y, 1)
        if end.stroke:
            leader = f'<path{inner.look(end.stroke)} fill="none" d="M1 0 9 {down:g}"/>'
            yield inner.at(1.0, end.y, leader)
        for row, text in enumerate(end.lines):
            look = end.look if row < 2 else ""
            yield inner.words(look, 1.0, edge + LINE * row + 13.0, text, dx=12.0)


def _end_words(frame: _Frame, language: str) -> Iterator[_End]:
    curve = frame.curve
    yield _end(frame, curve.office, "office", language)
    if curve.everyone is not None:
        yield _end(frame, curve.everyone, "everyone", language)
    if curve.carried_on is not None:
        end = curve.carried_on[1]
        name = text_of("pictures.returncurve.end_pace", language)
        value = written(end, END_DECIMALS)
        # One that runs off the plot has no end to lead to.
        stroke = "soft-line" if end <= frame.most else ""
        yield _End("", stroke, frame.y(end), (name, value))


def _end(frame: _Frame, steps: CurveSteps, whose: str, language: str) -> _End:
    look, stroke = LOOKS[whose]
    words = Message(f"pictures.returncurve.end_{whose}", {"offices": frame.curve.offices})
    name = text_of(words, language)
    value = steps.at(float(frame.curve.days)).value
    lines = [name, written(value, END_DECIMALS)]
    if steps.end is not None:
        low, high = steps.end.ends(END_DECIMALS)
        lines.append(text_of(Message("pictures.between", {"low": low, "high": high}), language))
    return _End(look, stroke, frame.y(value), tuple(lines))


def _ticks(frame: _Frame) -> Iterator[str]:
    """Name months and years under the axis, as many as have room in each layout."""
    inner, curve = frame.plot.inner, frame.curve
    for layout in layouts(frame.plot.whole):
        for tick in day_ticks(curve.first, curve.last, layout):
            axis = f"axis {layout.classes}".strip()
            yield inner.line(axis, tick.part, frame.bottom, tick.part, frame.bottom + 5.0)
            words = f"mid {layout.classes}".strip()
            yield inner.words(words, tick.part, frame.bottom + 22.0, tick.text)
