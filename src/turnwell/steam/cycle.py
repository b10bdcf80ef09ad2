"""The plan that a run is held against: what the sterilizer was set to, and usual limits."""

from dataclasses import dataclass, field
from enum import StrEnum
from math import isfinite
from typing import Any

from turnwell.errors import InputError
from turnwell.measure import Basis, Limit

__all__ = ["AirRemoval", "Cycle", "Sensors"]

SATURATION = Limit(
    low=-2.0,
    high=2.0,
    source="2 K between measured and saturated temperature, EN 285, 8.3.1.2",
    basis=Basis.MEMORY,
)


class AirRemoval(StrEnum):
    """How a cycle takes the air out."""

    GRAVITY = "gravity"
    DYNAMIC = "dynamic"


@dataclass(frozen=True, slots=True)
class Cycle:
    """What a run was meant to be; what is None was not said, and nothing is held against it.

    Parameters
    ----------
    name : str
        As the sterilizer or the catalogue calls it.
    set_c : float or None
        Sterilization temperature, 100 to 140 °C.
    band_k : float or None
        Width of the band above `set_c`, in kelvin, > 0.
    hold_s : float or None
        Shortest time in the band, > 0.
    dry_s : float or None
        Planned drying time, > 0.
    air_removal : AirRemoval or None
    pulses : int or None
        Planned air-removal pulses.
    drying_pressure : Limit or None
        What the lowest pressure of the drying is held against, kPa absolute.
    saturation : Limit
        Of measured less saturated temperature while holding, in K.
    source, basis
        Where set temperature, band, hold and drying time are from.

    Raises
    ------
    InputError
        If a value is out of its range.
    """

    name: str = ""
    set_c: float | None = None
    band_k: float | None = None
    hold_s: float | None = None
    dry_s: float | None = None
    air_removal: AirRemoval | None = None
    pulses: int | None = None
    drying_pressure: Limit | None = None
    saturation: Limit = field(default=SATURATION)
    source: str = "as given"
    basis: Basis = Basis.OWN

    def __post_init__(self) -> None:
        for what, value, low, high in (
            ("set temperature", self.set_c, 100.0, 140.0),
            ("band", self.band_k, 0.1, 20.0),
            ("holding time", self.hold_s, 1.0, 7200.0),
            ("drying time", self.dry_s, 1.0, 14400.0),
        ):
            if value is not None and (not isfinite(value) or not low <= value <= high):
                raise InputError(f"the {what} is {value:g}, must lie between {low:g} and {high:g}")

    @property
    def band_c(self) -> tuple[float, float] | None:
        """Lowest and highest temperature allowed while holding; None where the plan is silent."""
        if self.set_c is None or self.band_k is None:
            return None
        return self.set_c, self.set_c + self.band_k

    def as_dict(self) -> dict[str, Any]:
        """Give the plan as JSON values."""
        limit = self.drying_pressure
        return {
            "name": self.name,
            "set_c": self.set_c,
            "band_k": self.band_k,
            "hold_s": self.hold_s,
            "dry_s": self.dry_s,
            "air_removal": None if self.air_removal is None else self.air_removal.value,
            "pulses": self.pulses,
            "drying_pressure": None if limit is None else limit.as_dict(),
            "source": self.source,
            "basis": self.basis.value,
        }


@dataclass(frozen=True, slots=True)
class Sensors:
    """What the sterilizer's own sensors are believed to within; one error for a whole record.

    Parameters
    ----------
    temperature_k, pressure_kpa : float
        Bounds ±, > 0. The defaults are common practice for a sensor in service, not a maker's
        figure; set them from the last calibration.
    """

    temperature_k: float = 0.5
    pressure_kpa: float = 2.0

    def __post_init__(self) -> None:
        for what, value in (
            ("temperature", self.temperature_k),
            ("pressure", self.pressure_kpa),
        ):
            if not isfinite(value) or not 0.0 < value <= 20.0:
                raise InputError(
                    f"the {what} sensor's bound is {value:g}, must be above 0 and at most 20"
                )
