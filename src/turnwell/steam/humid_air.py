"""Moist air of a room: humidity ratio, dew point, wet bulb, enthalpy, volume.

References
----------
[ASHRAE2017], chapter 1, equations 20, 22, 28, 30 and 35; saturation pressure over water by
[IAPWS-IF97] above 0 °C.
"""

from collections.abc import Callable
from dataclasses import dataclass

from turnwell.errors import InputError
from turnwell.steam.water import STANDARD_ATMOSPHERE_KPA, saturation_pressure_kpa
from turnwell.units import celsius_to_kelvin

__all__ = ["RoomAir"]

# Of water vapour to dry air, by their molar masses.
MASS_RATIO = 0.621945
# Enthalpies, kJ/kg and kJ/(kg K): dry air, vapour at 0 °C, vapour, liquid.
AIR, VAPOUR_AT_ZERO, VAPOUR, LIQUID = 1.006, 2501.0, 1.86, 4.186
# Gas constant of dry air, kJ/(kg K).
GAS = 0.287042
HALVINGS = 60


@dataclass(frozen=True, slots=True)
class RoomAir:
    """Moist air at rest.

    Parameters
    ----------
    temperature_c : float
        0 to 60 °C.
    humidity : float
        Relative, 0 to 1.
    pressure_kpa : float
        Of the place.

    Examples
    --------
    >>> room = RoomAir(22.0, 0.5)
    >>> round(room.dew_point_c, 2), round(room.wet_bulb_c, 2), round(room.ratio, 5)
    (11.11, 15.43, 0.00823)
    """

    temperature_c: float
    humidity: float
    pressure_kpa: float = STANDARD_ATMOSPHERE_KPA

    def __post_init__(self) -> None:
        for what, value, low, high in (
            ("temperature", self.temperature_c, 0.0, 60.0),
            ("relative humidity", self.humidity, 0.0, 1.0),
            ("pressure", self.pressure_kpa, 40.0, 120.0),
        ):
            if not low <= value <= high:
                raise InputError(f"the room's {what} is {value:g}; give {low:g} to {high:g}")

    @classmethod
    def from_wet_bulb(
        cls, temperature_c: float, wet_bulb_c: float, pressure_kpa: float = STANDARD_ATMOSPHERE_KPA
    ) -> "RoomAir":
        """Give the air of a dry and a wet bulb, equation 35.

        >>> round(RoomAir.from_wet_bulb(40.0, 20.0).humidity, 2)
        0.14
        """
        if not 0.0 <= wet_bulb_c <= temperature_c:
            raise InputError(
                f"the wet bulb shows {wet_bulb_c:g} °C; it cannot be above the dry one,"
                f" {temperature_c:g} °C, nor below 0"
            )
        ratio = _ratio_at_wet_bulb(temperature_c, wet_bulb_c, pressure_kpa)
        vapour = pressure_kpa * ratio / (MASS_RATIO + ratio)
        humidity = min(max(vapour / saturation_pressure_kpa(temperature_c), 0.0), 1.0)
        return cls(temperature_c, humidity, pressure_kpa)

    @property
    def vapour_kpa(self) -> float:
        """Partial pressure of the water in it."""
        return self.humidity * saturation_pressure_kpa(self.temperature_c)

    @property
    def ratio(self) -> float:
        """Kilograms of water a kilogram of dry air, equation 20."""
        return MASS_RATIO * self.vapour_kpa / (self.pressure_kpa - self.vapour_kpa)

    @property
    def enthalpy_kj_kg(self) -> float:
        """Of a kilogram of dry air and its water, equation 30."""
        t = self.temperature_c
        return AIR * t + self.ratio * (VAPOUR_AT_ZERO + VAPOUR * t)

    @property
    def volume_m3_kg(self) -> float:
        """Of a kilogram of dry air and its water, equation 26."""
        kelvin = celsius_to_kelvin(self.temperature_c)
        return GAS * kelvin * (1.0 + self.ratio / MASS_RATIO) / self.pressure_kpa

    @property
    def dew_point_c(self) -> float:
        """Where its water begins to condense; the air must not be wholly dry."""
        vapour = self.vapour_kpa
        if vapour < saturation_pressure_kpa(0.0):
            raise InputError("the air's dew point is below 0 °C; this holds for water, not for ice")
        return _root(lambda t: saturation_pressure_kpa(t) - vapour, 0.0, self.temperature_c)

    @property
    def wet_bulb_c(self) -> float:
        """What a wetted bulb in a draught shows, equation 35."""
        return _root(
            lambda t: _ratio_at_wet_bulb(self.temperature_c, t, self.pressure_kpa) - self.ratio,
            0.0,
            self.temperature_c,
        )


def _ratio_at_wet_bulb(temperature_c: float, wet_bulb_c: float, pressure_kpa: float) -> float:
    """Humidity ratio by equation 35, above freezing."""
    boiling = saturation_pressure_kpa(wet_bulb_c)
    saturated = MASS_RATIO * boiling / (pressure_kpa - boiling)
    cooled = (VAPOUR_AT_ZERO - 2.326 * wet_bulb_c) * saturated - AIR * (temperature_c - wet_bulb_c)
    return cooled / (VAPOUR_AT_ZERO + VAPOUR * temperature_c - LIQUID * wet_bulb_c)


def _root(rises: Callable[[float], float], low: float, high: float) -> float:
    """Halve an interval in which a rising function passes 0."""
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if rises(middle) < 0.0 else (low, middle)
    return (low + high) / 2.0
