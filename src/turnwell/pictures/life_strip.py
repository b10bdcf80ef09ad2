"""The life strip: one handpiece's history on one line.

A numbered mark above the line is a stay at the bench, ringed firmly where it was a return and
thinly where it was none; the gap in the line is the time away. A brass line is a visit at the
office. A tick below the line is a count of sterilizer cycles. A list of the numbers is its text.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from turnwell.errors import InputError
from turnwell.pictures.drawing import Ground, page
from turnwell.words import Message, Param, text_of

__all__ = ["CycleCount", "Life", "LifeEvent", "LifeKind", "life_strip", "life_strip_in_words"]

BALL = 12.5
LEVEL = 30.0
MOST_LEVELS = 4
# Least distance of two marks on one level, and the part of a wide picture a label may take.
APART = 0.095
WIDE_PX = 620.0


class LifeKind(StrEnum):
    """What happened to a handpiece."""

    RETURN = "return"
    STAY = "stay"
    VISIT = "visit"


@dataclass(frozen=True, slots=True)
class LifeEvent:
    """One event of a handpiece's life.

    Parameters
    ----------
    on : date
        The day it began, on the office's wall.
    kind : LifeKind
        A return (a later stay for a fault), another stay, or a visit at the office.
    words : str
        One or two sentences for the list.
    short : str
        A word or two beside the mark; left out where there is no room.
    until : date or None
        The day a stay ended; None while it lasts, and for visits.
    address : str
        Page of the stay or visit; empty for none.
    """

    on: date
    kind: LifeKind
    words: str
    short: str = ""
    until: date | None = None
    address: str = ""

    def __post_init__(self) -> None:
        if self.until is not None and self.until < self.on:
            raise InputError(f"a stay ends on {self.until}, before it began on {self.on}")


@dataclass(frozen=True, slots=True)
class CycleCount:
    """A known number of sterilizer cycles on a day."""

    on: date
    cycles: int


@dataclass(frozen=True, slots=True)
class Life:
    """One handpiece's history.

    Parameters
    ----------
    name : str
        What the handpiece is called.
    since : date or None
        In service since; None where that is not known.
    today : date
        Where the line ends; in the past for a handpiece taken out of service.
    events : tuple of LifeEvent
        In any order; kept in order of time.
    counts : tuple of CycleCount
        Known numbers of cycles.
    is_retired : bool
        Whether the line ends for good.
    """

    name: str
    since: date | None
    today: date
    events: tuple[LifeEvent, ...] = ()
    counts: tuple[CycleCount, ...] = ()
    is_retired: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(
            self, "events", tuple(sorted(self.events, key=lambda event: (event.on, event.kind)))
        )
        object.__setattr__(self, "counts", tuple(sorted(self.counts, key=lambda count: count.on)))

    @property
    def numbered(self) -> tuple[tuple[int | None, LifeEvent], ...]:
        """The events with the numbers of the stays; visits have none."""
        number = 0
        rows: list[tuple[int | None, LifeEvent]] = []
        for event in self.events:
            if event.kind is LifeKind.VISIT:
                rows.append((None, event))
            else:
                number += 1
                rows.append((number, event))
        return tuple(rows)


@dataclass(frozen=True, slots=True)
class _Span:
    """The strip's clock: days to parts of the width."""

    start: date
    end: date

    def part(self, day: date) -> float:
        days = max((self.end - self.start).days, 1)
        return min(max((day - self.start).days / days, 0.0), 1.0)


def life_strip(life: Life, *, ground: Ground | None = None, language: str = "en") -> str:
    """Draw a handpiece's history on one line.

    Parameters
    ----------
    life : Life
        What is known of it.
    ground : Ground or None
        `drawing.page` (the default) or `drawing.paper`.
    language : str
        Of its words.

    Returns
    -------
    str
        SVG text.
    """
    ground = ground or page(300.0)
    span = _span_of(life)
    stays = [(number, event) for number, event in life.numbered if number is not None]
    levels = _levels([span.part(event.on) for _, event in stays])
    tallest = max((level for level in levels if level is not None), default=0)
    line = 40.0 + LEVEL * (tallest + 1)
    parts = _years(ground, span, line)
    parts += _visits(ground, span, life, line, language)
    parts += _line_of_life(ground, span, life, line)
    parts += _counts(ground, span, life, line, language)
    parts += _stems(ground, span, stays, levels, line)
    parts += _balls(ground, span, stays, levels, line)
    says = life_strip_in_words(life, language=language)
    return ground.picture("lifestrip", line + 58.0, parts, says=says)


def life_strip_in_words(life: Life, *, language: str = "en") -> str:
    """Say in words what the strip shows; the list beside it names each event."""
    kinds = [event.kind for event in life.events]
    params: dict[str, Param] = {
        "name": life.name,
        "since": _span_of(life).start.strftime("%B %Y"),
        "until": life.today.strftime("%B %Y"),
        "returns": kinds.count(LifeKind.RETURN),
        "stays": kinds.count(LifeKind.STAY),
        "visits": kinds.count(LifeKind.VISIT),
    }
    return text_of(Message("pictures.lifestrip.says", params), language)


def _span_of(life: Life) -> _Span:
    """Give the clock: from the day in service, or a little before the first thing known."""
    days = [event.on for event in life.events] + [count.on for count in life.counts]
    first = min([life.today, *days])
    if life.since is not None and life.since <= first:
        return _Span(life.since, life.today)
    room = max((life.today - first).days // 20, 14)
    return _Span(date.fromordinal(first.toordinal() - room), life.today)


def _levels(parts: Sequence[float]) -> list[int | None]:
    """Give each mark the lowest level where it touches no other; None where all are full."""
    free_from = [-1.0] * MOST_LEVELS
    levels: list[int | None] = []
    for part in parts:
        level = next((at for at, free in enumerate(free_from) if part >= free), None)
        if level is not None:
            free_from[level] = part + APART
        levels.append(level)
    return levels


def _years(ground: Ground, span: _Span, line: float) -> list[str]:
    """Mark the turns of the years below the line, as many as there is room for."""
    years = range(span.start.year + 1, span.end.year + 1)
    step = max(1, -(-len(years) // 6))
    parts = []
    for year in list(years)[::step]:
        x = span.part(date(year, 1, 1))
        parts.append(ground.line("hair", x, line - 8, x, line + 34))
        if 0.04 < x < 0.96:
            parts.append(ground.words("mid", x, line + 52, str(year)))
    if not years or span.part(date(years[0], 1, 1)) > 0.2:
        parts.append(ground.words("", 0, line + 52, span.start.strftime("%b %Y")))
    if not years or span.part(date(years[-1], 1, 1)) < 0.8:
        parts.append(ground.words("end", 1, line + 52, span.end.strftime("%b %Y")))
    return parts


def _visits(ground: Ground, span: _Span, life: Life, line: float, language: str) -> list[str]:
    parts: list[str] = []
    free_from = 0.0
    word = text_of("pictures.lifestrip.visit", language)
    for event in life.events:
        if event.kind is not LifeKind.VISIT:
            continue
        x = span.part(event.on)
        parts.append(ground.line("brass-line", x, 22, x, line + 34))
        if x >= free_from:
            classes = "t-brass end" if x > 0.9 else "t-brass" if x < 0.1 else "t-brass mid"
            parts.append(ground.words(classes, x, 14, word))
            free_from = x + 1.4 * ground.label_part(word)
    return parts


def _line_of_life(ground: Ground, span: _Span, life: Life, line: float) -> list[str]:
    """Draw the line itself: dotted where its beginning is not known, broken where it was away."""
    start = 0.0
    parts: list[str] = []
    if life.since is None or span.start != life.since:
        known = [event.on for event in life.events] + [count.on for count in life.counts]
        start = span.part(min([life.today, *known]))
        parts.append(ground.line("axis dash", 0, line, start, line))
    parts.append(ground.line("ink-firm", start, line, 1, line))
    for event in life.events:
        if event.kind is LifeKind.VISIT:
            continue
        away = span.part(event.on), span.part(event.until or life.today)
        parts.append(ground.box("fill-paper", away[0], line - 3, max(away[1], away[0]), line + 3))
    if life.is_retired:
        parts.append(ground.line("ink-firm", 1, line - 8, 1, line + 8))
    return parts


def _counts(ground: Ground, span: _Span, life: Life, line: float, language: str) -> list[str]:
    parts: list[str] = []
    free_from = -1.0
    for count in life.counts:
        x = span.part(count.on)
        parts.append(ground.line("ink-line", x, line, x, line + 10))
        words = text_of(Message("pictures.lifestrip.cycles", {"cycles": count.cycles}), language)
        half = ground.label_part(words) / 2
        if x - half < free_from:
            continue
        anchor = "end " if x + half > 1 else "" if x < half else "mid "
        classes = f"t-ink {anchor}halo"
        parts.append(ground.words(classes, x, line + 27, words))
        free_from = x + half + 0.02
    return parts


def _stems(
    ground: Ground,
    span: _Span,
    stays: Iterable[tuple[int, LifeEvent]],
    levels: Sequence[int | None],
    line: float,
) -> list[str]:
    stems = []
    for (_, event), level in zip(stays, levels, strict=True):
        top = line - 12 if level is None else _ball_y(line, level) + BALL
        x = span.part(event.on)
        stems.append(ground.line("ink-line", x, top, x, line + 4))
    return stems


def _balls(
    ground: Ground,
    span: _Span,
    stays: Sequence[tuple[int, LifeEvent]],
    levels: Sequence[int | None],
    line: float,
) -> list[str]:
    """Draw the numbered marks, each with its short word where there is room on its left."""
    parts: list[str] = []
    taken = [0.0] * MOST_LEVELS
    for (number, event), level in zip(stays, levels, strict=True):
        if level is None:
            continue
        x, y = span.part(event.on), _ball_y(line, level)
        ring = "ball" if event.kind is LifeKind.RETURN else "ball--stay"
        parts.append(ground.at(x, y, f'<circle{ground.look(ring)} r="{BALL}"/>'))
        parts.append(ground.words("t-ink mid", x, y + 5, str(number)))
        need = ground.label_part(event.short) * ground.narrowest_px / WIDE_PX + 0.04
        if event.short and level == 0 and x - need > taken[level]:
            parts.append(ground.words("wide end halo", x, y + 5, event.short, dx=-18))
        taken[level] = x + 0.03
    return parts


def _ball_y(line: float, level: int) -> float:
    return line - 32.0 - LEVEL * level
