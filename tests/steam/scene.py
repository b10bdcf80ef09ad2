"""Small synthetic runs for tests: pressures drawn by hand, temperatures at their boiling point.

The boiling point is taken from CoolProp's IAPWS-95, not from the code under test.
"""

from dataclasses import dataclass, field
from functools import cache

import numpy as np
from CoolProp.CoolProp import PropsSI
from numpy.typing import NDArray

from turnwell.steam.cycle import AirRemoval, Cycle
from turnwell.steam.record import Record

Array = NDArray[np.float64]

DYNAMIC = Cycle(
    name="134 °C",
    set_c=134.0,
    band_k=4.0,
    hold_s=180.0,
    dry_s=600.0,
    air_removal=AirRemoval.DYNAMIC,
    pulses=3,
    source="test",
)
GRAVITY = Cycle(
    name="121 °C",
    set_c=121.0,
    band_k=4.0,
    hold_s=900.0,
    dry_s=1200.0,
    air_removal=AirRemoval.GRAVITY,
    source="test",
)


@cache
def _tables() -> tuple[Array, Array]:
    pressures = np.geomspace(0.7, 500.0, 900)
    return pressures, np.asarray(PropsSI("T", "P", pressures * 1e3, "Q", 1, "Water")) - 273.15


def boiling_c(pressure_kpa: Array | float) -> Array:
    pressures, temperatures = _tables()
    return np.interp(np.log(pressure_kpa), np.log(pressures), temperatures)


def pressure_kpa(temperature_c: float) -> float:
    pressures, temperatures = _tables()
    return float(np.exp(np.interp(temperature_c, temperatures, np.log(pressures))))


@dataclass
class Run:
    """A run written part by part at 1 s; `record` thins it and adds what the sensors do."""

    atmosphere_kpa: float = 101.3
    pressures: list[Array] = field(default_factory=list)
    temperatures: list[Array] = field(default_factory=list)

    @property
    def last_kpa(self) -> float:
        return float(self.pressures[-1][-1]) if self.pressures else self.atmosphere_kpa

    @property
    def last_c(self) -> float:
        return float(self.temperatures[-1][-1]) if self.temperatures else 60.0

    def steam(self, stop_kpa: float, seconds: int, *, air_kpa: float = 0.0, over_k: float = 0.0):
        """Go to a pressure in a straight line with the temperature of the steam's own pressure."""
        pressure = np.linspace(self.last_kpa, stop_kpa, seconds + 1)[1:]
        self.pressures.append(pressure)
        target = boiling_c(np.maximum(pressure - air_kpa, 1.0)) + over_k
        start = self.last_c
        settle = np.exp(-np.arange(1, seconds + 1) / 4.0)
        self.temperatures.append(target + (start - target[0]) * settle)
        return self

    def vacuum(self, low_kpa: float, tau_s: float, seconds: int, *, towards_c: float = 85.0):
        """Draw a vacuum; the wall keeps the temperature far above the boiling point."""
        time = np.arange(1, seconds + 1)
        self.pressures.append(low_kpa + (self.last_kpa - low_kpa) * np.exp(-time / tau_s))
        self.temperatures.append(towards_c + (self.last_c - towards_c) * np.exp(-time / 200.0))
        return self

    def air(self, stop_kpa: float, seconds: int, *, towards_c: float | None = None):
        """Let air in, in a straight line."""
        pressure = np.linspace(self.last_kpa, stop_kpa, seconds + 1)[1:]
        self.pressures.append(pressure)
        towards = self.last_c if towards_c is None else towards_c
        time = np.arange(1, seconds + 1)
        self.temperatures.append(towards + (self.last_c - towards) * np.exp(-time / 20.0))
        return self

    def boil_down(self, low_kpa: float, tau_s: float, seconds: int):
        """Fall slowly with the temperature at the boiling point."""
        time = np.arange(1, seconds + 1)
        pressure = low_kpa + (self.last_kpa - low_kpa) * np.exp(-time / tau_s)
        self.pressures.append(pressure)
        self.temperatures.append(boiling_c(pressure) + 0.5)
        return self

    def record(
        self,
        *,
        step_s: int = 1,
        offset_k: float = 0.0,
        offset_kpa: float = 0.0,
        noise_k: float = 0.05,
        noise_kpa: float = 0.2,
        step_k: float = 0.1,
        seed: int = 1,
        atmosphere_kpa: float | None = None,
    ) -> Record:
        rng = np.random.default_rng(seed)
        temperature = np.concatenate(self.temperatures)[::step_s]
        pressure = np.concatenate(self.pressures)[::step_s]
        temperature = temperature + offset_k + noise_k * rng.standard_normal(temperature.size)
        pressure = pressure + offset_kpa + noise_kpa * rng.standard_normal(pressure.size)
        return Record(
            time_s=float(step_s) * np.arange(temperature.size),
            temperature_c=np.round(temperature / step_k) * step_k,
            pressure_kpa=np.round(pressure, 1),
            atmosphere_kpa=self.atmosphere_kpa if atmosphere_kpa is None else atmosphere_kpa,
        )


def dynamic(
    *,
    set_c: float = 134.0,
    hold_s: int = 210,
    lows_kpa: tuple[float, ...] = (18.0, 18.0, 18.0),
    high_kpa: float = 170.0,
    atmosphere_kpa: float = 101.3,
    air_kpa: float = 0.0,
    under_k: float = 0.0,
    over_k: float = 0.0,
    hold_over_k: float = 0.5,
    tau_s: float = 22.0,
) -> Run:
    """A run up to the end of its exhaust: pulses, heating, plateau, exhaust."""
    run = Run(atmosphere_kpa).air(atmosphere_kpa, 20)
    for number, low in enumerate(lows_kpa):
        run.vacuum(low - 1.0, tau_s, round(4.1 * tau_s), towards_c=75.0)
        if number < len(lows_kpa) - 1:
            run.steam(high_kpa, 40, air_kpa=min(60.0, 6.0 * air_kpa / 2.0**number)).steam(
                high_kpa, 15
            )
    plateau_kpa = pressure_kpa(set_c + hold_over_k - under_k) + air_kpa
    run.steam(plateau_kpa, 150, air_kpa=air_kpa, over_k=over_k)
    run.steam(plateau_kpa, hold_s, air_kpa=air_kpa, over_k=over_k)
    return run.steam(atmosphere_kpa + 4.0, 60)


def gravity(
    *, set_c: float = 121.0, hold_s: int = 960, atmosphere_kpa: float = 101.3, air_kpa: float = 0.0
) -> Run:
    """A run with an open vent, up to the end of its exhaust."""
    run = Run(atmosphere_kpa).air(atmosphere_kpa, 20, towards_c=60.0)
    run.air(atmosphere_kpa + 2.0, 240, towards_c=float(boiling_c(atmosphere_kpa + 2.0 - air_kpa)))
    run.steam(atmosphere_kpa + 2.0, 120, air_kpa=air_kpa)
    top = pressure_kpa(set_c + 0.6) + air_kpa
    run.steam(top, 240, air_kpa=air_kpa).steam(top, hold_s, air_kpa=air_kpa)
    return run.steam(atmosphere_kpa + 3.0, 90)


def dried(
    run: Run, *, seconds: int = 660, low_kpa: float = 6.0, tau_s: float = 25.0, admissions: int = 1
) -> Run:
    """Vacuum drying with admissions of air and a slow air inlet at its end."""
    part = seconds // (admissions + 1)
    for number in range(admissions + 1):
        run.vacuum(low_kpa, tau_s, part - 20, towards_c=80.0)
        if number < admissions:
            run.air(low_kpa + 30.0, 20)
    return run.air(run.atmosphere_kpa, 40).air(run.atmosphere_kpa, 30)


def rested(run: Run) -> Run:
    return run.air(run.atmosphere_kpa, 20)
