"""Asks where a file's numbers deny what its words, or a layout confirmed before, say of them."""

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.reading.fitting import Candidate, Fit, absolute_kpa, celsius, fits_of
from turnwell.steam.reading.layout import Layout
from turnwell.steam.reading.search import PHYSICAL_UNITS, Search
from turnwell.steam.water import saturation_temperature_c

__all__ = ["ask_if_compound", "ask_if_denied", "ask_of_confirmed", "ask_of_length"]

Array = NDArray[np.float64]
MARGIN_K = 3.0
WORST_K = 9.0
DOUBT_K = 7.0
HOT_C = 115.0
# Nothing holds the heat of a run for less, or is one for longer.
SHORTEST_HOT_S, LONGEST_S = 180.0, 30_000.0
SECONDS = {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86_400.0, "ms": 0.001}
# A chamber this cold has no steam of such a pressure: the gauge shows vacuum without its sign.
COLD_K = 15.0
OVER_KPA = 40.0
BELOW_KPA = -2.0


def ask_if_denied(search: Search, best: Fit | None, temperature: int, pressure: int) -> None:
    """Ask where another unit or zero makes steam of two columns, and the one said does not."""
    score = np.inf if best is None else best.score
    if score <= DOUBT_K:
        return
    values = search.numbers
    pairs = [(temperature, pressure)] + ([(pressure, temperature)] if best is None else [])
    others = [
        fit
        for hot, pressed in pairs
        for fit in fits_of(
            [Candidate(hot, values[hot], ("C", "F"))],
            [
                Candidate(
                    pressed,
                    values[pressed],
                    (*PHYSICAL_UNITS, "kg/cm2"),
                    ("absolute", "gauge"),
                )
            ],
            atmosphere_kpa=search.atmosphere_kpa,
        )
    ]
    other = min(others, key=lambda fit: fit.score, default=None)
    if other is None or other.score > min(WORST_K, score - MARGIN_K):
        return
    layout = search.given
    said = (
        f"{layout.temperature_unit}, {layout.pressure_unit} {layout.pressure_zero}"
        if best is None
        else f"{best.temperature_unit}, {best.pressure_unit} {best.pressure_zero}"
    )
    fits = f"{other.temperature_unit}, {other.pressure_unit} {other.pressure_zero}"
    if other.temperature != temperature:
        fits += f" with temperature in column {other.temperature + 1}"
    search.ask("contradiction", (said, fits), "--columns, --units, --pressure-zero",
               column=str(pressure + 1), said=said, fits=fits)  # fmt: skip


def ask_of_confirmed(search: Search) -> None:
    """Hold a layout that was confirmed for another file against this one."""
    layout = search.given
    hot = (layout.temperature_column or 1) - 1
    if layout.temperature_column is None or hot not in search.numbers:
        return
    unit = layout.temperature_unit or "C"
    pressed = None if layout.pressure_column is None else layout.pressure_column - 1
    if pressed in search.numbers:
        fits = fits_of(
            [Candidate(hot, search.numbers[hot], (unit,))],
            [
                Candidate(
                    pressed,
                    search.numbers[pressed],
                    (layout.pressure_unit or "kPa",),
                    (layout.pressure_zero or "absolute",),
                )
            ],
            atmosphere_kpa=search.atmosphere_kpa,
        )
        ask_if_denied(search, fits[0] if fits else None, hot, pressed)
    ask_of_length(search, layout)


def ask_of_length(search: Search, layout: Layout) -> None:
    """Ask where a run that got hot would be over in seconds, or take the night."""
    at, hot = layout.time_column, layout.temperature_column
    size = SECONDS.get(layout.time_unit or "")
    if at is None or hot is None or size is None:
        return
    times, temperatures = search.numbers.get(at - 1), search.numbers.get(hot - 1)
    if times is None or temperatures is None or not np.any(np.isfinite(times)):
        return
    top_c = float(np.nanmax(celsius(temperatures, layout.temperature_unit or "C")))
    known = times[np.isfinite(times)]
    span = float(np.percentile(known, 98) - np.percentile(known, 2))
    if top_c < HOT_C or SHORTEST_HOT_S <= span * size <= LONGEST_S:
        return
    likely = tuple(
        unit for unit, other in SECONDS.items() if SHORTEST_HOT_S <= span * other <= LONGEST_S
    )
    if likely:
        search.ask("time_denied", (layout.time_unit or "", *likely), "--units",
                   column=str(at), said=layout.time_unit or "", fits=" or ".join(likely),
                   length=f"{span * size:,.0f} s")  # fmt: skip


def ask_if_compound(search: Search, best: Fit) -> None:
    """Ask where a gauge without a minus sign stands high while the chamber is cold."""
    given = search.given
    if best.pressure_zero != "gauge" or (given.pressure_unit and given.pressure_zero):
        return
    pressure_kpa = absolute_kpa(
        search.numbers[best.pressure], best.pressure_unit, "gauge", search.atmosphere_kpa
    )
    over_kpa = pressure_kpa - search.atmosphere_kpa
    known = np.isfinite(over_kpa)
    if not np.any(known) or np.nanmin(over_kpa) < BELOW_KPA:
        return
    temperature_c = celsius(search.numbers[best.temperature], best.temperature_unit)
    saturated_c = saturation_temperature_c(np.clip(pressure_kpa, 1.0, 1000.0))
    cold = (over_kpa > OVER_KPA) & (temperature_c < saturated_c - COLD_K)
    if np.count_nonzero(cold) >= max(3, 0.03 * cold.size):
        search.ask("compound", (), "--units, --pressure-zero", column=str(best.pressure + 1))
