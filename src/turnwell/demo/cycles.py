"""Invented cycle records of invented sterilizers, as text a sterilizer might write.

Pressure is drawn stage by stage; where steam fills the chamber the temperature is that of
saturation, elsewhere it goes its own way between walls and load. Enough for a page to look at; the
accuracy of the analysis is checked against other records.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.water import saturation_pressure_kpa, saturation_temperature_c

__all__ = ["Run", "record_bytes"]

STEP_S = 5.0
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Run:
    """One run to be told.

    Parameters
    ----------
    began : datetime
        By the sterilizer's own clock, without zone.
    atmosphere_kpa : float
        Of the place.
    set_c : float
        Sterilization temperature.
    hold_s, dry_s : float
        How long it held and dried.
    pulses : int
        Vacua before heating; 0 for one that lets steam push the air out.
    vacuum_kpa : float
        Lowest pressure of the drying; the atmosphere for one without a pump.
    """

    began: datetime
    atmosphere_kpa: float
    set_c: float = 134.0
    hold_s: float = 240.0
    dry_s: float = 1200.0
    pulses: int = 3
    vacuum_kpa: float = 6.0


@dataclass(frozen=True, slots=True)
class _Part:
    """A stretch: where the pressure goes, in what time, and whether steam fills the chamber.

    `bend` is how many times the pressure closes in on its end within the stretch; 0 is straight.
    """

    seconds: float
    end_kpa: float
    bend: float
    is_steam: bool
    end_c: float = 0.0


def record_bytes(run: Run, rng: np.random.Generator) -> bytes:
    """Write the record of a run as text: clock, temperature in °C, absolute pressure in kPa.

    Parameters
    ----------
    run : Run
    rng : numpy.random.Generator
        Source of the sensors' noise.
    """
    pressure_kpa, temperature_c = _curves(run)
    pressure_kpa = np.maximum(pressure_kpa + rng.normal(0.0, 0.15, pressure_kpa.size), 0.5)
    temperature_c = temperature_c + rng.normal(0.0, 0.05, temperature_c.size)
    lines = ["Date and time;Chamber temperature [°C];Chamber pressure [kPa abs]"]
    for row, (hot, pressed) in enumerate(zip(temperature_c, pressure_kpa, strict=True)):
        clock = run.began + timedelta(seconds=STEP_S * row)
        lines.append(f"{clock:%Y-%m-%d %H:%M:%S};{hot:.1f};{pressed:.1f}")
    return ("\n".join(lines) + "\n").encode()


def _parts(run: Run) -> list[_Part]:
    """Give the stretches of a run in order."""
    air = run.atmosphere_kpa
    # Set a little above the lowest temperature allowed, as sterilizers are.
    hot_kpa = float(saturation_pressure_kpa(run.set_c + 0.8))
    parts = [_Part(60.0, air, 0.0, is_steam=False, end_c=55.0)]
    for _ in range(run.pulses):
        parts += [
            _Part(110.0, 18.0, 3.5, is_steam=False, end_c=62.0),
            _Part(60.0, 160.0, 1.5, is_steam=True),
        ]
    if run.pulses:
        parts.append(_Part(110.0, 16.0, 3.5, is_steam=False, end_c=70.0))
    else:
        parts.append(_Part(420.0, air + 3.0, 0.0, is_steam=True))
    parts += [
        _Part(300.0, hot_kpa, 2.5, is_steam=True),
        _Part(run.hold_s, hot_kpa, 0.0, is_steam=True),
        _Part(90.0, air + 2.0, 3.0, is_steam=True),
    ]
    return [
        *parts,
        *_drying(run),
        _Part(40.0, air, 2.5, is_steam=False, end_c=84.0),
        _Part(60.0, air, 0.0, is_steam=False, end_c=78.0),
    ]


def _drying(run: Run) -> list[_Part]:
    """Give the stretches of the drying: one vacuum held, or warm air at the atmosphere."""
    if not run.pulses:
        return [_Part(run.dry_s, run.atmosphere_kpa, 2.0, is_steam=False, end_c=92.0)]
    down_s = min(240.0, run.dry_s)
    parts = [_Part(down_s, run.vacuum_kpa + 1.0, 4.0, is_steam=False, end_c=72.0)]
    if run.dry_s > down_s:
        held = _Part(run.dry_s - down_s, run.vacuum_kpa, 1.0, is_steam=False, end_c=88.0)
        parts.append(held)
    return parts


def _curves(run: Run) -> tuple[Floats, Floats]:
    """Give pressure and temperature of every row."""
    pressures, temperatures = [], []
    at_kpa, at_c = run.atmosphere_kpa, 45.0
    for part in _parts(run):
        share = (np.arange(round(part.seconds / STEP_S)) + 1.0) / round(part.seconds / STEP_S)
        course = (
            share if part.bend == 0.0 else -np.expm1(-part.bend * share) / -np.expm1(-part.bend)
        )
        pressure = at_kpa + (part.end_kpa - at_kpa) * course
        if part.is_steam:
            # The first of the steam meets cool walls: the sensor follows within some rows.
            saturated = np.asarray(saturation_temperature_c(pressure))
            temperature = saturated - (saturated[0] - at_c) * np.exp(-share * part.seconds / 12.0)
        else:
            temperature = at_c + (part.end_c - at_c) * (-np.expm1(-3.0 * share))
        pressures.append(pressure)
        temperatures.append(temperature)
        at_kpa, at_c = float(pressure[-1]), float(temperature[-1])
    return np.concatenate(pressures), np.concatenate(temperatures)
