"""The coast trace: how the speed falls once the air is off, before and after over each other.

Every run is a thin line, the drag that was fitted a firm one; marks stand where the speed has
fallen to 90, 50 and 10 % of its free value. The earlier test is dashed, its marks are open.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from turnwell.pictures import palette
from turnwell.pictures.coast_runs import FALLEN_TO, CoastRun, CoastRuns
from turnwell.pictures.figures import written
from turnwell.words import Message, Param, text_of

__all__ = ["CoastTraceChart", "coast_trace", "coast_trace_in_words", "fall_words"]


@dataclass(frozen=True, slots=True)
class CoastTraceChart:
    """A coast trace ready to be drawn.

    Parameters
    ----------
    after : CoastRuns
        The coast-downs that are judged.
    before : CoastRuns or None
        Earlier ones, dashed.
    """

    after: CoastRuns
    before: CoastRuns | None = None

    @property
    def tests(self) -> tuple[CoastRuns, ...]:
        """The one or two tests."""
        return (self.after,) if self.before is None else (self.after, self.before)

    @property
    def stop_s(self) -> float:
        """Where the time axis ends, with room for the last label; it begins at the shut-off."""
        return 1.12 * max(test.stop_s for test in self.tests)

    def specification(
        self, width: float, *, ground: str = palette.PAPER, language: str = "en"
    ) -> dict[str, Any]:
        """Give the chart's specification.

        Parameters
        ----------
        width : float
            Of the whole, in pixels; labels are placed and curves thinned for it.
        ground : str
            Colour behind the chart.
        language : str
            Of its words.
        """
        from turnwell.pictures.coast_trace_layers import layered

        return layered(self, width, ground, language)


def coast_trace(
    after: Mapping[str, Any] | None, before: Mapping[str, Any] | None = None
) -> CoastTraceChart | None:
    """Put the coast-downs of one or two recordings on one clock; None where none is heard.

    Parameters
    ----------
    after, before : mapping or None
        Documents as stored; those of versions that kept no coast-downs give none.
    """
    later, earlier = CoastRuns.from_listening(after), CoastRuns.from_listening(before)
    if later is None:
        later, earlier = earlier, None
    return None if later is None else CoastTraceChart(later, earlier)


def coast_trace_in_words(chart: CoastTraceChart, *, language: str = "en") -> str:
    """Say in words what the trace shows."""
    said = [text_of("pictures.coasttrace.says", language)]
    names = ("alone",) if chart.before is None else ("after", "before")
    for name, test in zip(names, chart.tests, strict=True):
        params: dict[str, Param] = {
            "runs": len(test.runs),
            "speed": written(test.typical.free_speed_rpm, -3),
            "falls": _falls(test, language),
        }
        said.append(text_of(Message(f"pictures.coasttrace.{name}", params), language))
        said.append(_law_words(test.typical, language))
    return " ".join(part for part in said if part)


def fall_words(test: CoastRuns, language: str) -> str:
    """Say how long the fall from 90 to 10 % took; empty where it was not heard to its end."""
    fall_s = test.fall_s
    if fall_s is None:
        return ""
    return text_of(Message("pictures.coasttrace.fall", {"time": written(fall_s, 2)}), language)


def _falls(test: CoastRuns, language: str) -> str:
    """List the times at which the marks are reached."""
    parts = []
    for share in FALLEN_TO:
        time_s = test.mean_time_to(share)
        key = "mark_lost" if time_s is None else "mark"
        params: dict[str, Param] = {
            "share": round(100.0 * share),
            "time": "" if time_s is None else written(time_s, 2),
        }
        parts.append(text_of(Message(f"pictures.coasttrace.{key}", params), language))
    return ", ".join(parts)


def _law_words(run: CoastRun, language: str) -> str:
    """Say by what drag the typical run falls, or why that could not be told."""
    if run.law is None:
        return run.why_no_law
    terms = " + ".join(text_of(f"pictures.coasttrace.term.{term}", language) for term in run.terms)
    return text_of(Message("pictures.coasttrace.law", {"terms": terms}), language)
