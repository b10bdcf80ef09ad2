"""The history of a sterilizer made ready to be drawn."""

from collections.abc import Iterator, Sequence
from datetime import date

from turnwell.pictures import (
    EventKind,
    HistoryEvent,
    HistoryPanel,
    RunDot,
    RunHistory,
    RunLevel,
)
from turnwell.steam.months import ChangeKind
from turnwell.web.sterilizers.analysis.history import History, NamedTrend
from turnwell.web.sterilizers.timeline import Event

__all__ = ["picture_of"]

# More dots than this lie on one another.
MOST_DOTS = 600


def picture_of(history: History, events: Sequence[Event]) -> RunHistory | None:
    """Give the picture of a history; None where no record has a value."""
    panels = [_panel(named) for named in history.trends]
    marks = [HistoryEvent(event.on, EventKind(event.kind.value), event.words) for event in events]
    return RunHistory.of(panels, marks)


def _panel(named: NamedTrend) -> HistoryPanel:
    return HistoryPanel(
        name=named.name,
        unit=named.trend.unit,
        dots=tuple(
            RunDot(point.moment.date(), point.value, point.verdict)
            for point in named.points[-MOST_DOTS:]
        ),
        levels=tuple(_levels(named)),
        limit=named.limit,
    )


def _levels(named: NamedTrend) -> Iterator[RunLevel]:
    """Give the levels between the changes, and the lines where it drifted."""
    since: date = named.points[0].moment.date()
    level = None
    for change in named.trend.changes:
        first, last = change.before.value, change.after.value
        if change.kind is ChangeKind.DRIFT:
            start, stop = change.earliest.date(), change.latest.date()
            yield RunLevel(start, stop, first, last)
            since = stop
        else:
            stop = change.likeliest.date()
            yield RunLevel(since, stop, first, first)
            since = stop
        level = last
    until = named.points[-1].moment.date()
    if level is not None and until > since:
        yield RunLevel(since, until, level, level)
