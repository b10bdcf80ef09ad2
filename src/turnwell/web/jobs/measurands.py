"""What is read off an instrument and typed in: its unit, the units accepted, the range believed.

The ranges only catch slips of the finger and of the unit; they are no limits of the trade. Limits
come from the catalogue and the shop's own.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from math import isfinite

from turnwell import units
from turnwell.errors import InputError
from turnwell.web.shop.models import Instrument

__all__ = [
    "LARGEST_DRIVE_PRESSURE_KPA",
    "MEASURANDS",
    "Measurand",
    "in_own_unit",
    "measurand",
    "step_in_own_unit",
]

# Twice what any drive line is set to (common practice): above it a unit was mistaken.
LARGEST_DRIVE_PRESSURE_KPA = 700.0
Convert = Callable[[float], float]


def _same(value: float) -> float:
    return value


def _per_litre(value: float) -> float:
    return value * 1000.0


@dataclass(frozen=True, slots=True)
class Measurand:
    """One thing that can be measured and typed in.

    Parameters
    ----------
    key : str
        Key of the reading.
    unit : str
        Unit of the reading and of its limits.
    highest : float
        Largest value believed, in `unit`; the smallest is `lowest`.
    repeats : int
        How often it is worth repeating; the spread is known from two on.
    kinds : tuple of Instrument.Kind
        Instruments it can be read off.
    accepts : mapping of str to function
        Further units accepted, with the way to `unit`.
    """

    key: str
    unit: str
    highest: float
    repeats: int
    kinds: tuple[Instrument.Kind, ...]
    accepts: Mapping[str, Convert] = field(default_factory=dict)
    lowest: float = 0.0

    @property
    def all_units(self) -> tuple[str, ...]:
        """The units it may be typed in, its own first."""
        return (self.unit, *self.accepts)


Kind = Instrument.Kind
PRESSURES: Mapping[str, Convert] = {"psi": units.psi_to_kpa, "bar": units.bar_to_kpa}
FLOW: tuple[Instrument.Kind, ...] = (Kind.FLOW_METER, Kind.TIMER)

MEASURANDS: Mapping[str, Measurand] = {
    row.key: row
    for row in (
        Measurand("free_running_speed", "rpm", 600_000, 3, (Kind.TACHOMETER,)),
        Measurand("run_out", "mm", 2, 3, (Kind.DIAL_GAUGE,), {"in": units.inch_to_mm}),
        Measurand("chuck_extraction_force", "N", 200, 3, (Kind.FORCE_GAUGE,)),
        Measurand("stall_torque", "N·mm", 500, 5, (Kind.TORQUE_GAUGE,), {"mN·m": _same}),
        Measurand("spray_water_flow", "mL/min", 500, 2, FLOW, {"L/min": _per_litre}),
        Measurand("spray_air_flow", "NL/min", 50, 2, FLOW),
        Measurand("drive_air_pressure", "kPa", 700, 2, (Kind.PRESSURE_GAUGE,), PRESSURES),
        Measurand("drive_air_consumption", "NL/min", 300, 2, FLOW),
        Measurand("start_pressure", "kPa", 700, 3, (Kind.PRESSURE_GAUGE,), PRESSURES),
        Measurand("coast_down_time", "s", 300, 3, (Kind.TIMER,)),
        Measurand("noise_level", "dB(A)", 140, 2, (Kind.SOUND_LEVEL_METER,)),
        Measurand(
            "temperature_head",
            "°C",
            150,
            2,
            (Kind.THERMOMETER,),
            {"°F": units.fahrenheit_to_celsius},
            lowest=-10.0,
        ),
    )
}


def measurand(key: str) -> Measurand:
    """Give the measurand of a reading's key.

    Raises
    ------
    InputError
        If nothing of that key is typed in.
    """
    if key not in MEASURANDS:
        raise InputError(f"{key!r} is nothing that is measured and typed in")
    return MEASURANDS[key]


def in_own_unit(row: Measurand, value: float, unit: str) -> float:
    """Give a typed value in the measurand's unit.

    Raises
    ------
    InputError
        If the unit does not fit, or the value is not finite or not believed in that unit.

    Examples
    --------
    >>> round(in_own_unit(measurand("start_pressure"), 20.0, "psi"), 1)
    137.9
    """
    if unit not in row.all_units:
        raise InputError(f"{row.key} is not measured in {unit!r}; use {', '.join(row.all_units)}")
    if not isfinite(value):
        raise InputError(f"{value} is not a number that can be kept; type it again")
    kept = row.accepts[unit](value) if unit in row.accepts else value
    if not row.lowest <= kept <= row.highest:
        raise InputError(
            f"{value:g} {unit} is outside {row.lowest:g} to {row.highest:g} {row.unit};"
            f" is the unit right?"
        )
    return kept


def step_in_own_unit(row: Measurand, step: float, unit: str) -> float:
    """Give a difference of two values, or an instrument's step, in the measurand's unit.

    Taken as it is where the instrument's unit is not one of the measurand's.

    Examples
    --------
    >>> round(step_in_own_unit(measurand("temperature_head"), 9.0, "°F"), 6)
    5.0
    """
    if unit not in row.accepts:
        return step
    return row.accepts[unit](step) - row.accepts[unit](0.0)
