"""The law of the drag as an answer: its rates with their intervals, and how well it fits."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.coast.departure import Curve
from turnwell.sound.coast.fit import TERMS, chances, fit_terms, rate_interval
from turnwell.sound.coast.law import DragLaw
from turnwell.units import hz_to_rpm

__all__ = ["FittedLaw", "fitted_law"]

Floats = NDArray[np.float64]

_RATES = ("constant_rad_s2", "linear_per_s", "quadratic_per_rad")
_SHOWN = 60


@dataclass(frozen=True, slots=True, eq=False)
class FittedLaw:
    """The law nearest to a coast-down among the seven sets of terms.

    Parameters
    ----------
    drag : DragLaw
    intervals : tuple of pairs, of constant, linear, quadratic
        95 % intervals over all sets of terms, each weighted by its chance; SI units.
    chance : float
        Of this set of terms.
    correlation : array, shape (1 + terms, 1 + terms)
        Of the start speed and the rates that are there.
    misfit_hz : float
        Root mean square of the points less the law: the law's honest figure, since the intervals
        of the rates hold only as far as the rotor obeys it.
    reached_share : float
        Lowest speed of the track over the free speed.
    time_s, rotation_hz : arrays
        The law's curve, time since the release.
    """

    drag: DragLaw
    intervals: tuple[tuple[float, float], ...]
    chance: float
    correlation: Floats
    misfit_hz: float
    reached_share: float
    time_s: Floats
    rotation_hz: Floats

    def as_dict(self, factor: float = 1.0) -> dict[str, Any]:
        """Give the law as JSON values; rates are of the shaft that is heard, speeds are shown."""
        rpm = hz_to_rpm(1.0) * factor
        terms = self.drag.terms
        rates: dict[str, Any] = {}
        for term, name, (low, high) in zip(TERMS, _RATES, self.intervals, strict=True):
            value = getattr(self.drag, name)
            rates[name] = {"value": value, "low": low, "high": high} if term in terms else None
        return {
            "terms": list(terms),
            **rates,
            "misfit_rpm": round(rpm * self.misfit_hz, 3),
            "reached_share": round(self.reached_share, 4),
            "time_s": np.round(self.time_s, 4).tolist(),
            "speed_rpm": np.round(rpm * self.rotation_hz, 2).tolist(),
        }


def fitted_law(
    curve: Curve, speed: Floats, *, start_s: float, span_s: float, unit_hz: float, reached: float
) -> FittedLaw:
    """Fit the law to the points of a curve, departures from it taken into the weights.

    Parameters
    ----------
    curve : Curve
        Through the points, in its own units.
    speed : array, shape (n,)
        Speeds of the points in the curve's unit.
    start_s : float
        Time 0 of the curve, since the release.
    span_s, unit_hz : float
        The curve's units of time and speed.
    reached : float
        Lowest speed of the track over the free speed.
    """
    fitted = fit_terms(curve.time, speed, curve.whitened)
    chance = chances(fitted, speed.size)
    best = fitted[int(np.argmax(chance))]
    unit_rad_s = 2.0 * np.pi * unit_hz
    units = (unit_rad_s / span_s, 1.0 / span_s, 1.0 / (unit_rad_s * span_s))
    law = best.law
    intervals = []
    for term, (unit, name) in enumerate(zip(units, _RATES, strict=True)):
        low, high = rate_interval(fitted, chance, term)
        value = getattr(law, name)
        intervals.append((min(low, value) * unit, max(high, value) * unit))
    shown = np.linspace(-start_s / span_s, float(curve.time[-1]), _SHOWN)
    rest = speed - law.speed_rad_s(best.start, curve.time)
    return FittedLaw(
        drag=DragLaw(
            law.constant_rad_s2 * units[0],
            law.linear_per_s * units[1],
            law.quadratic_per_rad * units[2],
        ),
        intervals=tuple(intervals),
        chance=float(chance.max()),
        correlation=best.correlation,
        misfit_hz=float(np.sqrt(np.mean(rest**2))) * unit_hz,
        reached_share=reached,
        time_s=start_s + span_s * shown,
        rotation_hz=unit_hz * law.speed_rad_s(best.start, shown),
    )
