"""The history of a sterilizer: its readings over the months, over what happened at the office.

Each point is one run in its verdict's shape. A lasting change is drawn as the levels before and
after it. Below, on the same clock: returns with corrosion as cause, visits, trainings.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from itertools import pairwise
from typing import Any

from turnwell.measure import Limit, Verdict
from turnwell.pictures import palette
from turnwell.pictures.figures import written
from turnwell.words import Message, Param, text_of

__all__ = [
    "EventKind",
    "HistoryEvent",
    "HistoryPanel",
    "RunDot",
    "RunHistory",
    "RunLevel",
    "run_history_in_words",
]


class EventKind(StrEnum):
    """What happened at the office."""

    RETURN = "return"
    VISIT = "visit"
    TRAINING = "training"


@dataclass(frozen=True, slots=True)
class RunDot:
    """One run's value."""

    on: date
    value: float
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class RunLevel:
    """What a reading stood at from one day to another; lines at its ends where it drifted."""

    start: date
    stop: date
    value: float
    stop_value: float


@dataclass(frozen=True, slots=True)
class HistoryPanel:
    """One reading over the months.

    Parameters
    ----------
    name, unit : str
    dots : tuple of RunDot
        In order of time, one at least.
    levels : tuple of RunLevel
        Empty where no change is shown.
    limit : Limit or None
    """

    name: str
    unit: str
    dots: tuple[RunDot, ...]
    levels: tuple[RunLevel, ...] = ()
    limit: Limit | None = None


@dataclass(frozen=True, slots=True)
class HistoryEvent:
    """Something that happened at the office on a day."""

    on: date
    kind: EventKind
    words: str


@dataclass(frozen=True, slots=True)
class RunHistory:
    """A history ready to be drawn.

    Parameters
    ----------
    panels : tuple of HistoryPanel
        One at least.
    events : tuple of HistoryEvent
    """

    panels: tuple[HistoryPanel, ...]
    events: tuple[HistoryEvent, ...] = ()

    @classmethod
    def of(
        cls, panels: Sequence[HistoryPanel], events: Sequence[HistoryEvent] = ()
    ) -> "RunHistory | None":
        """Make a history of the panels that have dots; None where none has."""
        drawn = tuple(panel for panel in panels if panel.dots)
        return cls(drawn, tuple(events)) if drawn else None

    @property
    def ends(self) -> tuple[date, date]:
        """First and last day on the clock."""
        days = [dot.on for panel in self.panels for dot in panel.dots]
        days += [event.on for event in self.events]
        return min(days), max(days)

    def specification(
        self, width: float, *, ground: str = palette.PAPER, language: str = "en"
    ) -> dict[str, Any]:
        """Give the chart's specification.

        Parameters
        ----------
        width : float
            Of the whole, in pixels.
        ground : str
            Colour behind the chart.
        language : str
            Of its words.
        """
        from turnwell.pictures.run_history_layers import layered

        return layered(self, width, ground, language)


def run_history_in_words(history: RunHistory, *, language: str = "en") -> str:
    """Say in words what the history shows."""
    said = []
    for panel in history.panels:
        values = sorted(dot.value for dot in panel.dots)
        params: dict[str, Param] = {
            "name": panel.name,
            "runs": len(values),
            "low": written(values[0], 1),
            "high": written(values[-1], 1),
            "unit": panel.unit,
            "middle": written(values[len(values) // 2], 1),
        }
        said.append(text_of(Message("pictures.runhistory.panel", params), language))
        for before, after in pairwise(panel.levels):
            change: dict[str, Param] = {
                "before": written(before.stop_value, 1),
                "after": written(after.value, 1),
                "unit": panel.unit,
                "day": f"{after.start:%d %b %Y}",
            }
            said.append(text_of(Message("pictures.runhistory.change", change), language))
    for kind in EventKind:
        days = [f"{event.on:%d %b %Y}" for event in history.events if event.kind is kind]
        if days:
            listed: dict[str, Param] = {"days": ", ".join(days)}
            said.append(text_of(Message(f"pictures.runhistory.{kind}", listed), language))
    return " ".join(said)
