"""Where the labels of a speed trace have room, worked out for a few widths of the picture."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from turnwell.pictures.speed_trace import (
    band_words,
    phase_figure,
    phase_name,
    steady_figure,
    turning,
)
from turnwell.pictures.trace import Phase, SpeedTrace
from turnwell.words import text_of

if TYPE_CHECKING:
    from turnwell.pictures.speed_trace import SpeedTraceChart

__all__ = [
    "TEXT",
    "CurveLabel",
    "HeadLabel",
    "band_labels",
    "curve_labels",
    "head_labels",
    "label_width",
]

TEXT = 13.5
# Mean advance of the face's semi-bold, in parts of its size.
ADVANCE = 0.6
WIDEST = 1e9


@dataclass(frozen=True, slots=True)
class _Span:
    """Widths of the plot, in pixels: from, and up to but without."""

    from_px: float
    to_px: float


# Labels are placed for the least width of each.
SPANS = (
    _Span(220.0, 400.0),
    _Span(400.0, 560.0),
    _Span(560.0, 720.0),
    _Span(720.0, 880.0),
    _Span(880.0, WIDEST),
)


@dataclass(frozen=True, slots=True)
class HeadLabel:
    """A label over the plot.

    Parameters
    ----------
    text : str
    time_s : float
        Where it begins.
    row : int
        0 for the upper row, 1 for the lower.
    is_name : bool
        A phase's name, or the figure that goes with it.
    from_px, to_px : float
        Widths of the plot at which it is shown: from, and up to but without.
    """

    text: str
    time_s: float
    row: int
    is_name: bool
    from_px: float
    to_px: float


@dataclass(frozen=True, slots=True)
class CurveLabel:
    """A label at a curve or at a level, shown at the given widths of the plot."""

    text: str
    time_s: float
    speed_rpm: float
    is_above: bool = True
    from_px: float = 0.0
    to_px: float = WIDEST


def head_labels(chart: "SpeedTraceChart", language: str) -> list[HeadLabel]:
    """Name the phases over their brackets, with figures where all have room, else names alone."""
    phases = turning(chart.after)
    names = [phase_name(phase, language) for phase in phases]
    figures = [phase_figure(phase, chart.after) for phase in phases]
    starts = [phase.start_s for phase in phases]
    gaps = [b - a for a, b in zip(starts, [*starts[1:], chart.clock[1]], strict=True)]
    needs = [
        max(label_width(name), label_width(text)) for name, text in zip(names, figures, strict=True)
    ]
    labels: list[HeadLabel] = []
    for span in SPANS:
        px_per_s = span.from_px / (chart.clock[1] - chart.clock[0])
        if all(gap * px_per_s > need for gap, need in zip(gaps, needs, strict=True)):
            for at_s, name, figure in zip(starts, names, figures, strict=True):
                labels.append(HeadLabel(name, at_s, 0, True, span.from_px, span.to_px))
                labels.append(HeadLabel(figure, at_s, 1, False, span.from_px, span.to_px))
        else:
            labels += _staggered(phases, names, chart.clock, span)
    return labels


def _staggered(
    phases: Sequence[Phase], names: Sequence[str], clock: tuple[float, float], span: _Span
) -> list[HeadLabel]:
    """Put names on two rows so that none touches another; leave out what still would."""
    px_per_s = span.from_px / (clock[1] - clock[0])
    free_from = [0.0, 0.0]
    labels = []
    for phase, name in zip(phases, names, strict=True):
        place = (phase.start_s - clock[0]) * px_per_s
        inside = min(place, span.from_px - label_width(name))
        row = next((row for row in (0, 1) if inside >= free_from[row]), None)
        if row is None:
            continue
        free_from[row] = inside + label_width(name)
        time_s = phase.start_s - (place - inside) / px_per_s
        labels.append(HeadLabel(name, time_s, row, True, span.from_px, span.to_px))
    return labels


def curve_labels(chart: "SpeedTraceChart", language: str) -> list[CurveLabel]:
    """Name two curves in the middle of their steady parts: the later one first; none for one."""
    if chart.before is None:
        return []
    after, before = (_height(trace) for trace in chart.traces)
    return [
        CurveLabel(_curve_text(key, trace, language), _middle(trace), height, is_above)
        for key, trace, height, is_above in (
            ("after", chart.after, after, after >= before),
            ("before", chart.before, before, before > after),
        )
    ]


def band_labels(chart: "SpeedTraceChart", language: str) -> list[CurveLabel]:
    """Name the limit band over its upper edge, at the end of the run: short where it is narrow."""
    limit = chart.after.limit
    words = band_words(chart.after, language)
    if limit is None or words is None:
        return []
    edge = limit.high if limit.high is not None else limit.low
    short = text_of("pictures.speedtrace.band", language)
    enough = 2.2 * label_width(words) if chart.before is not None else 1.1 * label_width(words)
    stop = chart.clock[1]
    return [
        CurveLabel(words, stop, edge or 0.0, from_px=enough),
        CurveLabel(short, stop, edge or 0.0, to_px=enough),
    ]


def _curve_text(key: str, trace: SpeedTrace, language: str) -> str:
    return f"{text_of(f'pictures.{key}', language)} {steady_figure(trace)}".strip()


def _height(trace: SpeedTrace) -> float:
    return trace.steady_rpm[0] if trace.steady_rpm is not None else max(trace.speed_rpm)


def _middle(trace: SpeedTrace) -> float:
    """Give the middle of the longest steady part, or the time of the highest speed."""
    steady = [phase for phase in trace.phases if phase.kind == "steady"]
    if not steady:
        return trace.time_s[trace.speed_rpm.index(max(trace.speed_rpm))]
    longest = max(steady, key=lambda phase: phase.duration_s)
    return (longest.start_s + longest.stop_s) / 2.0


def label_width(text: str) -> float:
    """Give the room a label takes, in pixels."""
    return len(text) * ADVANCE * TEXT + 6.0
