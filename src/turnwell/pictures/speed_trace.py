"""The speed trace: run-up, steady running and coast-down, the earlier test dotted under the later.

One chart specification serves page and paper at every width: labels carry the widths at which they
have room, and are left out at others rather than put on each other. Zoom and hover are added for
the browser alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from turnwell.pictures import palette
from turnwell.pictures.figures import decimals_for, written
from turnwell.pictures.trace import COLUMNS, Phase, SpeedTrace, TracePoint
from turnwell.words import Message, text_of

__all__ = ["SpeedTraceChart", "speed_trace", "speed_trace_in_words"]

# A column of the thinned curve, which holds its lowest and its highest point.
PX_A_COLUMN = 3.0


@dataclass(frozen=True, slots=True)
class SpeedTraceChart:
    """A speed trace ready to be drawn; made by `speed_trace`, which sets the clocks.

    Parameters
    ----------
    after : SpeedTrace
        The trace that is judged.
    before : SpeedTrace or None
        An earlier one, dotted under it.
    """

    after: SpeedTrace
    before: SpeedTrace | None = None

    @property
    def traces(self) -> tuple[SpeedTrace, ...]:
        """The one or two traces."""
        return (self.after,) if self.before is None else (self.after, self.before)

    @property
    def clock(self) -> tuple[float, float]:
        """Where the time axis begins and ends, in seconds."""
        start = min(trace.start_s for trace in self.traces)
        stop = max(trace.stop_s for trace in self.traces)
        room = 0.03 * max(stop - start, 0.1)
        return start - room, stop + room

    def specification(
        self,
        width: float,
        *,
        ground: str = palette.PAPER,
        interactive: bool = False,
        language: str = "en",
    ) -> dict[str, Any]:
        """Give the chart's specification.

        Parameters
        ----------
        width : float
            Of the whole, in pixels; beside it only the points of the curves hang on it.
        ground : str
            Colour behind the chart.
        interactive : bool
            Whether hover and zoom are wanted; they change nothing that is drawn at first.
        language : str
            Of its words.
        """
        from turnwell.pictures.speed_trace_layers import layered

        made = layered(self, ground, interactive=interactive, language=language)
        made["width"] = width
        # One that is drawn anew in the browser is zoomed, and needs all points at any width.
        columns = COLUMNS if interactive else min(COLUMNS, int(width / PX_A_COLUMN))
        made["datasets"] |= {
            name: [_columns(trace.points(columns))]
            for name, trace in zip(("after", "before"), self.traces, strict=False)
        }
        return made


def speed_trace(after: SpeedTrace | None, before: SpeedTrace | None) -> SpeedTraceChart | None:
    """Put one or two traces on a clock; None where there is none.

    With two, 0 is the moment the air was shut off, so that the coast-downs can be compared. With
    one, or where either was never shut off, 0 is the start of the run.
    """
    if after is None:
        after, before = before, None
    if after is None:
        return None
    if before is None:
        return SpeedTraceChart(after.shifted(-after.start_s))
    if after.release_s is not None and before.release_s is not None:
        return SpeedTraceChart(after.shifted(-after.release_s), before.shifted(-before.release_s))
    return SpeedTraceChart(after.shifted(-after.start_s), before.shifted(-before.start_s))


def speed_trace_in_words(chart: SpeedTraceChart, *, language: str = "en") -> str:
    """Say in words what the trace shows."""
    said = [text_of(Message("pictures.speedtrace.says"), language)]
    names = ("alone",) if chart.before is None else ("after", "before")
    for name, trace in zip(names, chart.traces, strict=True):
        parts = [
            f"{phase_name(phase, language)} {phase_figure(phase, trace)}"
            for phase in turning(trace)
        ] or [text_of("pictures.speedtrace.no_phase", language)]
        params = {"phases": "; ".join(parts)}
        said.append(text_of(Message(f"pictures.speedtrace.{name}", params), language))
    if (band := band_words(chart.after, language)) is not None:
        said.append(f"{band[0].upper()}{band[1:]}.")
    return " ".join(said)


def turning(trace: SpeedTrace) -> list[Phase]:
    """Give the phases in which something turns."""
    return [phase for phase in trace.phases if phase.kind != "silent"]


def phase_name(phase: Phase, language: str) -> str:
    """Give the name of a phase."""
    return text_of(f"pictures.speedtrace.{phase.kind.replace('-', '_')}", language)


def phase_figure(phase: Phase, trace: SpeedTrace) -> str:
    """Give the figure that goes with a phase: the steady speed, or how long it took."""
    if phase.kind == "steady" and trace.steady_rpm is not None:
        return f"{steady_figure(trace)} rpm"
    return f"{written(phase.duration_s, 1)} s"


def steady_figure(trace: SpeedTrace) -> str:
    """Give the steady speed as its interval lets it be written; empty where there is none."""
    if trace.steady_rpm is None:
        return ""
    value, low, high = trace.steady_rpm
    return written(value, min(decimals_for((high - low) / 2.0), 0))


def band_words(trace: SpeedTrace, language: str) -> str | None:
    """Give the limit of the steady speed in words."""
    if trace.limit is None:
        return None
    low, high = trace.limit.low, trace.limit.high
    ends = {
        "low": "" if low is None else written(low, 0),
        "high": "" if high is None else written(high, 0),
    }
    kind = "at_least" if high is None else "at_most" if low is None else "between"
    return text_of(Message(f"pictures.speedtrace.band_{kind}", ends), language)


def _columns(points: Sequence[TracePoint]) -> dict[str, list[float]]:
    """Give the points as one row of lists, which takes half the room of a row for each."""
    return {
        "time_s": [round(point.time_s, 4) for point in points],
        "speed_rpm": [round(point.speed_rpm) for point in points],
        "low_rpm": [round(point.low_rpm) for point in points],
        "high_rpm": [round(point.high_rpm) for point in points],
        "run": [point.run for point in points],
    }
