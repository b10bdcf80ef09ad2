"""The limit bar: a value and its 95 % interval drawn to scale against the limit.

Permitted zone plain, forbidden zone hatched, the limit a firm tick with its figure, the interval a
whisker, the value a mark in its verdict's shape. An earlier test runs in a lane of its own above.
A number off the scale ends in an arrow at the edge.
"""

from math import floor, log10

from turnwell.measure import Limit, Reading
from turnwell.pictures.drawing import Ground, page, verdict_shape
from turnwell.pictures.figures import Figures, figures_of, written
from turnwell.pictures.scale import Scale, scale_of
from turnwell.words import Message, text_of

__all__ = ["limit_bar", "limit_bar_in_words"]

TOP = 4.0
LANE = 16.0
CAP = 4.0
INSET = 18
ARROW = "M-7-5 0 0-7 5"


def limit_bar(
    reading: Reading,
    before: Reading | None = None,
    *,
    ground: Ground | None = None,
    says_itself: bool = True,
    language: str = "en",
) -> str:
    """Draw a reading against its limit.

    Parameters
    ----------
    reading : Reading
        What is judged.
    before : Reading or None
        The same reading of an earlier test, in the same unit.
    ground : Ground or None
        `drawing.page` (the default) or `drawing.paper`.
    says_itself : bool
        Whether the picture carries its text equivalent; False where the words stand beside it.
    language : str
        Of its words.

    Returns
    -------
    str
        SVG text; empty where there is nothing to hold the value against.
    """
    ground = ground or page()
    before = before if before is not None and before.unit == reading.unit else None
    if reading.limit is None and (before is None or before.value is None or reading.value is None):
        return ""
    scale = scale_of(reading, before)
    if scale is None:
        return ""
    has_before = before is not None and before.value is not None
    bottom = TOP + LANE * (2 if has_before else 1)
    middle = bottom - LANE / 2
    figures = figures_of(reading, language)
    parts = _zones(ground, scale, reading.limit, bottom)
    parts.append(ground.line("axis", 0, bottom, 1, bottom))
    parts += _limit_ticks(ground, scale, reading.limit, bottom)
    parts += _labels(ground, scale, reading, figures, bottom + 17)
    if has_before and before is not None:
        parts += _lane(ground, scale, before, TOP + LANE / 2, is_before=True)
    if reading.value is None:
        parts.append(ground.line("soft-line dash", 0, middle, 1, middle))
    else:
        parts += _lane(ground, scale, reading, middle, is_before=False)
    says = limit_bar_in_words(reading, before, language=language) if says_itself else None
    return ground.picture("limitbar", bottom + 26, parts, says=says)


def limit_bar_in_words(
    reading: Reading, before: Reading | None = None, *, language: str = "en"
) -> str:
    """Say in words what the limit bar shows."""
    name = text_of(reading.name, language)
    figures = figures_of(reading, language)
    unit = reading.unit
    if figures.value is None:
        said = [Message("pictures.limitbar.no_value", {"name": name})]
    else:
        said = [
            Message(
                "pictures.limitbar.value",
                {"name": name, "level": f"{100 * reading.level:.3g}"} | _params(figures),
            )
        ]
    if figures.limit is None:
        said.append(Message("pictures.limitbar.no_limit"))
    else:
        said.append(Message("pictures.limitbar.limit", {"limit": figures.limit, "unit": unit}))
        verdict = text_of(f"verdict.{reading.verdict.key}", language)
        said.append(Message("pictures.limitbar.verdict", {"verdict": verdict}))
    if before is not None and before.value is not None:
        said.append(Message("pictures.limitbar.before", _params(figures_of(before, language))))
    return " ".join(text_of(message, language) for message in said).replace(" .", ".")


def _params(figures: Figures) -> dict[str, str | int | float | Message]:
    return {
        "value": figures.value or "",
        "low": figures.low or "",
        "high": figures.high or "",
        "unit": figures.unit,
    }


def _zones(ground: Ground, scale: Scale, limit: Limit | None, bottom: float) -> list[str]:
    """Draw the permitted zone plain and the forbidden ones hatched."""
    if limit is None:
        return []
    low = 0.0 if limit.low is None else scale.part(limit.low)
    high = 1.0 if limit.high is None else scale.part(limit.high)
    zones = [ground.box("plane", low, TOP, high, bottom)]
    if low > 0.0:
        zones.append(ground.box("hatched", 0.0, TOP, low, bottom))
    if high < 1.0:
        zones.append(ground.box("hatched", high, TOP, 1.0, bottom))
    return zones


def _limit_ticks(ground: Ground, scale: Scale, limit: Limit | None, bottom: float) -> list[str]:
    sides = [] if limit is None else [side for side in (limit.low, limit.high) if side is not None]
    return [
        ground.line("ink-firm", scale.part(side), 0, scale.part(side), bottom + 4) for side in sides
    ]


def _labels(
    ground: Ground, scale: Scale, reading: Reading, figures: Figures, y: float
) -> list[str]:
    """Set the limit's figures under their ticks, and the scale's ends where they do not touch."""
    limit = reading.limit
    placed: list[tuple[float, float]] = []
    labels: list[str] = []
    if limit is not None and figures.limit_low is not None and figures.limit_high is not None:
        low, high = scale.part(limit.low or 0.0), scale.part(limit.high or 0.0)
        if high - low > (ground.label_part(figures.limit_low + figures.limit_high) / 2 + 0.04):
            spans = [(figures.limit_low, low), (figures.limit_high, high)]
        else:
            spans = [(figures.limit or "", (low + high) / 2)]
        for text, part in spans:
            labels.append(_under(ground, text, part, y, placed))
    elif limit is not None and figures.limit is not None:
        side = limit.low if limit.low is not None else limit.high
        labels.append(_under(ground, figures.limit, scale.part(side or 0.0), y, placed))
    decimals = max(0, 1 - floor(log10(scale.high - scale.low)))
    for end, part, classes in ((scale.low, 0.0, "wide"), (scale.high, 1.0, "wide end")):
        text = "0" if end == 0.0 else written(end, decimals)
        span = (0.0, ground.label_part(text)) if part == 0.0 else (1 - ground.label_part(text), 1.0)
        if all(span[1] + 0.03 < start or span[0] - 0.03 > stop for start, stop in placed):
            labels.append(ground.words(classes, part, y, text))
    return labels


def _under(
    ground: Ground, text: str, part: float, y: float, placed: list[tuple[float, float]]
) -> str:
    """Set a limit's figure under its tick, turned inward where it would run off the picture."""
    half = ground.label_part(text) / 2
    if part < half:
        placed.append((0.0, 2 * half))
        return ground.words("t-ink", 0.0, y, text)
    if part > 1 - half:
        placed.append((1 - 2 * half, 1.0))
        return ground.words("t-ink end", 1.0, y, text)
    placed.append((part - half, part + half))
    return ground.words("t-ink mid", part, y, text)


def _lane(
    ground: Ground, scale: Scale, reading: Reading, y: float, *, is_before: bool
) -> list[str]:
    """Draw one value with its interval."""
    if reading.value is None or reading.low is None or reading.high is None:
        return []
    stroke = "soft-line" if is_before else "ink-firm"
    low, high = scale.part(reading.low), scale.part(reading.high)
    parts = [ground.line(stroke, low, y, high, y)] if high > low else []
    for end, part in ((reading.low, low), (reading.high, high)):
        if scale.holds(end):
            parts.append(ground.line(stroke, part, y - CAP, part, y + CAP))
        else:
            parts.append(_arrow(ground, stroke, part, y, points_left=part == 0.0))
    if scale.holds(reading.value):
        mark = _mark(ground, reading, is_before=is_before)
        parts.append(ground.at(scale.part(reading.value), y, mark))
    else:
        parts.append(_mark_at_edge(ground, reading, scale, y, is_before=is_before))
    return parts


def _mark(ground: Ground, reading: Reading, *, is_before: bool) -> str:
    if is_before:
        return f'<circle{ground.look("v-before")} r="5"/>'
    return verdict_shape(ground, reading.verdict)


def _mark_at_edge(
    ground: Ground, reading: Reading, scale: Scale, y: float, *, is_before: bool
) -> str:
    """Draw the mark of a value off the scale inside the edge; an arrow at the edge points out."""
    is_left = (reading.value or 0.0) < scale.low
    mark = _mark(ground, reading, is_before=is_before)
    inset = f'<g transform="translate({INSET if is_left else -INSET} 0)">{mark}</g>'
    return ground.at(0.0 if is_left else 1.0, y, inset)


def _arrow(ground: Ground, stroke: str, x: float, y: float, *, points_left: bool) -> str:
    turn = ' transform="scale(-1 1)"' if points_left else ""
    return ground.at(x, y, f'<path{ground.look(stroke)} fill="none" d="{ARROW}"{turn}/>')
