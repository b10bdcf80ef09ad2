"""The cycle trace: temperature, pressure and saturation difference of a run, stage by stage.

Three panels on one clock. The plan's band is washed in brass, drying that was planned and did not
run is hatched, gaps of the record are boxed, faults stand as brick strokes where they show.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from turnwell.pictures import palette
from turnwell.pictures.cycle_run import CycleRun
from turnwell.pictures.figures import written
from turnwell.words import Message, text_of

__all__ = ["CycleTraceChart", "cycle_trace", "cycle_trace_in_words", "stage_name"]


@dataclass(frozen=True, slots=True)
class CycleTraceChart:
    """A cycle trace ready to be drawn.

    Parameters
    ----------
    run : CycleRun
    """

    run: CycleRun

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
        from turnwell.pictures.cycle_trace_layers import layered

        return layered(self, width, ground, language)


def cycle_trace(document: Mapping[str, Any] | None) -> CycleTraceChart | None:
    """Take the run of a document of schema ``turnwell.steam/1``; None where it has no curve."""
    run = CycleRun.from_review(document)
    return None if run is None else CycleTraceChart(run)


def cycle_trace_in_words(chart: CycleTraceChart, *, language: str = "en") -> str:
    """Say in words what the trace shows."""
    run = chart.run
    named = [
        text_of(
            Message(
                "pictures.cycletrace.stage",
                {
                    "name": stage_name(stage.kind, language),
                    "minutes": written(stage.stop_min - stage.start_min, 1),
                },
            ),
            language,
        )
        for stage in run.stages
        if stage.kind != "not recognised"
    ] or [text_of("pictures.cycletrace.no_stage", language)]
    parts = {"minutes": written(run.stop_min, 0), "stages": ", ".join(named)}
    said = [text_of(Message("pictures.cycletrace.says", parts), language)]
    if run.pulses:
        said.append(text_of(Message("pictures.cycletrace.pulses", {"n": run.pulses}), language))
    if held := run.held(run.temperature):
        ends = {"low": written(min(held), 1), "high": written(max(held), 1)}
        said.append(text_of(Message("pictures.cycletrace.held", ends), language))
    if run.missing_drying is not None:
        start, stop = run.missing_drying
        missing = {"minutes": written(stop - start, 1)}
        said.append(text_of(Message("pictures.cycletrace.missing", missing), language))
    if run.gaps:
        said.append(text_of(Message("pictures.cycletrace.gaps", {"n": len(run.gaps)}), language))
    if run.faults:
        names = {"names": ", ".join(dict.fromkeys(fault.name for fault in run.faults))}
        said.append(text_of(Message("pictures.cycletrace.faults", names), language))
    return " ".join(said)


def stage_name(kind: str, language: str) -> str:
    """Give the name of a stage."""
    return text_of(f"pictures.cycletrace.kind.{kind.replace(' ', '_')}", language)
