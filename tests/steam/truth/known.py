"""What is true of an invented run: its stages, its lethality, its plateau and its drying."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.steam.truth.plans import Plan
from tests.steam.truth.saturation import boiling_c

__all__ = ["STEP_S", "Span", "Truth", "f0_min", "truth_of"]

Floats = NDArray[np.float64]
STEP_S = 0.1


@dataclass(frozen=True, slots=True)
class Span:
    """A stage; where its ends are a matter of definition, the earliest and the latest of each."""

    kind: str
    start_s: tuple[float, float]
    stop_s: tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Truth:
    """A run as it was, without the sensors' errors.

    Parameters
    ----------
    time_s, temperature_c, pressure_kpa, air_kpa : array, shape (n,)
        Every tenth of a second; the pressure is absolute, air is its part of it.
    stages : tuple of Span
    f0_min : float
        Of the whole run, by the sum over tenths of a second.
    time_in_band_s : float
        The longest unbroken.
    plateau_low_c, plateau_high_c, difference_k : float
        Of the plateau; the difference from saturation of largest size, signed.
    drying_s, drying_low_kpa : float or None
        None where the run has no drying in vacuum.
    """

    plan: Plan
    time_s: Floats
    temperature_c: Floats
    pressure_kpa: Floats
    air_kpa: Floats
    stages: tuple[Span, ...]
    f0_min: float
    time_in_band_s: float
    plateau_low_c: float
    plateau_high_c: float
    difference_k: float
    drying_s: float | None
    drying_low_kpa: float | None

    def stage(self, kind: str) -> Span | None:
        """Give the stage of a kind."""
        return next((span for span in self.stages if span.kind == kind), None)


def f0_min(time_s: Floats, temperature_c: Floats) -> float:
    """Minutes at 121.1 °C that kill as much, with z = 10 K."""
    rate = 10.0 ** ((temperature_c - 121.1) / 10.0)
    return float(np.trapezoid(rate, time_s)) / 60.0


def truth_of(plan: Plan, curves: tuple[Floats, Floats, Floats], marks: dict) -> Truth:
    """Give what is true of the curves of pressure, air and temperature, and of their marks."""
    pressure, air, temperature = curves
    time_s = STEP_S * np.arange(pressure.size)
    fall_s = marks["exhaust"][1]
    reached = _reached(time_s, temperature, plan, marks["top"][0], fall_s)
    marks = {**marks, "plateau": reached}
    held = (time_s >= marks["plateau"][1]) & (time_s < fall_s)
    low, high, difference = _of_plateau(temperature, pressure, held)
    dried = marks.get("air inlet")
    inside = None
    if dried is not None:
        inside = pressure[(time_s >= marks["drying"][1]) & (time_s <= dried[0])]
    return Truth(
        plan=plan,
        time_s=time_s,
        temperature_c=temperature,
        pressure_kpa=pressure,
        air_kpa=air,
        stages=_spans(marks, float(time_s[-1])),
        f0_min=f0_min(time_s, temperature),
        time_in_band_s=_longest_s(
            (temperature >= plan.set_c) & (temperature <= plan.set_c + plan.band_k)
        ),
        plateau_low_c=low,
        plateau_high_c=high,
        difference_k=difference,
        drying_s=None if dried is None else dried[0] - marks["drying"][1],
        drying_low_kpa=None if inside is None else float(inside.min()),
    )


def _of_plateau(temperature: Floats, pressure: Floats, held) -> tuple[float, float, float]:
    difference = temperature[held] - boiling_c(pressure[held])
    largest = difference[np.argmax(np.abs(difference))]
    return float(temperature[held].min()), float(temperature[held].max()), float(largest)


def _reached(time_s, temperature, plan: Plan, top_s: float, fall_s: float) -> tuple[float, float]:
    """When the set temperature was reached; where it never was, when the rise ended."""
    near = (time_s > top_s - 300.0) & (time_s < fall_s) & (temperature >= plan.set_c)
    if not np.any(near):
        return top_s, top_s
    first_s = float(time_s[np.argmax(near)])
    # A sensor that reads wrong reaches it early or late: the flat top is as good a start.
    late_s = top_s if plan.wrong.offset_k else first_s
    return min(first_s, late_s), max(first_s, late_s)


def _longest_s(inside) -> float:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], inside.astype(int), [0]))))
    return float(STEP_S * np.max(edges[1::2] - edges[::2], initial=0))


def _spans(marks: dict[str, tuple[float, float]], end_s: float) -> tuple[Span, ...]:
    """Give the stages in order, each until the next begins."""
    order = ("air removal", "heating", "plateau", "exhaust", "drying", "air inlet", "rest")
    starts = [(kind, marks[kind]) for kind in order if kind in marks]
    if "drying" not in marks:
        starts = [pair for pair in starts if pair[0] != "exhaust"]
    stops = [start for _, start in starts[1:]] + [(end_s, end_s)]
    pairs = zip(starts, stops, strict=True)
    return tuple(Span(kind, start, stop) for (kind, start), stop in pairs if kind != "rest")
