"""The physics of an invented run, in tenths of a second, and what is true of it.

Pressure follows the pump, the steam valve and the vents. Air mixes ideally: a pump takes air and
steam alike, steam adds no air. Where steam condenses in the chamber, the sensor nears the
temperature at which water boils at the steam's own part of the pressure; in thin gas it lags.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from tests.steam.truth.known import STEP_S, Truth, truth_of
from tests.steam.truth.plans import GRAVITY, Kind, Plan
from tests.steam.truth.saturation import boiling_c, boiling_kpa

__all__ = ["simulate"]

Floats = NDArray[np.float64]
ROOM_C = 23.0
NEAR_KPA = 2.0


@dataclass(slots=True, eq=False)
class _Chamber:
    """A chamber that pieces of a run are added to, each with what its gas comes from."""

    air_kpa: float
    temperature_c: float
    pressures: list[Floats] = field(default_factory=list)
    airs: list[Floats] = field(default_factory=list)
    temperatures: list[Floats] = field(default_factory=list)
    marks: dict[str, tuple[float, float]] = field(default_factory=dict)
    count: int = 0

    @property
    def now_s(self) -> float:
        return self.count * STEP_S

    @property
    def pressure_kpa(self) -> float:
        return float(self.pressures[-1][-1])

    def mark(self, what: str, earliest_s: float | None = None) -> None:
        self.marks[what] = (self.now_s if earliest_s is None else earliest_s, self.now_s)

    def add(self, pressure: Floats, air: Floats, aim_c: Floats, lag_s: float) -> None:
        """Add a piece whose sensor nears `aim_c` with a time constant."""
        share = 1.0 - np.exp(-STEP_S / lag_s)
        start = [(1.0 - share) * self.temperature_c]
        reached, _ = lfilter([share], [1.0, share - 1.0], aim_c, zi=start)
        self.pressures.append(pressure)
        self.airs.append(air)
        self.temperatures.append(reached)
        self.count += pressure.size
        self.air_kpa = float(air[-1])
        self.temperature_c = float(reached[-1])

    def pumped(self, pressure: Floats) -> Floats:
        """Air while a pump or a vent takes what is there."""
        return self.air_kpa * pressure / self.pressure_kpa


def steps(seconds: float) -> Floats:
    """Times since the start of a piece, after each step."""
    return STEP_S * np.arange(1, max(2, round(seconds / STEP_S)) + 1)


def simulate(plan: Plan) -> Truth:
    """Run a plan."""
    warm = plan.warm_c
    chamber = _Chamber(air_kpa=plan.atmosphere_kpa, temperature_c=warm)
    rest = steps(max(plan.rest_before_s, 0.2))
    still = np.full(rest.size, plan.atmosphere_kpa)
    chamber.add(still, still, np.full(rest.size, warm), 30.0)
    if plan.kind in GRAVITY:
        _vented_heating(chamber, plan)
    elif plan.kind is Kind.PRESSURE_PULSE_134:
        _pressure_pulses(chamber, plan)
    else:
        _vacua(chamber, plan)
    _rise(chamber, plan)
    _hold(chamber, plan)
    if plan.wrong.cut is None:
        _exhaust(chamber, plan)
        if plan.kind in GRAVITY or plan.kind is Kind.PRESSURE_PULSE_134:
            _warm_drying(chamber, plan)
        else:
            _vacuum_drying(chamber, plan)
    curves = (chamber.pressures, chamber.airs, chamber.temperatures)
    pressure, air, temperature = (np.concatenate(curve) for curve in curves)
    return truth_of(plan, (pressure, air, temperature + plan.wrong.offset_k), chamber.marks)


def _pump(chamber: _Chamber, plan: Plan, to_kpa: float, *, first: bool = False) -> None:
    """Draw a vacuum to a pressure."""
    start = chamber.pressure_kpa
    floor = min(plan.pump_kpa, to_kpa - 0.7)
    length_s = plan.pump_s * np.log((start - floor) / (to_kpa - floor))
    pressure = floor + (start - floor) * np.exp(-steps(length_s) / plan.pump_s)
    air = chamber.pumped(pressure)
    if first:
        aim = np.full(pressure.size, plan.warm_c - 4.0)
    else:
        aim = np.maximum(boiling_c(pressure - air), plan.warm_c)
    chamber.add(pressure, air, aim, plan.vacuum_lag_s)


def _steam(chamber: _Chamber, plan: Plan, pressure: Floats, lag_s: float | None = None) -> None:
    """Let steam in; the air stays what it is."""
    air = np.full(pressure.size, chamber.air_kpa)
    aim = boiling_c(np.maximum(pressure - air, 1.0))
    # Steam meets walls and a sensor that may be warmer than it boils at.
    aim = np.maximum(aim, np.minimum(chamber.temperature_c, plan.warm_c))
    chamber.add(pressure, air, aim, lag_s or plan.steam_lag_s)


def _ramp(start: float, stop: float, rate: float) -> Floats:
    length = steps(abs(stop - start) / rate)
    return start + (stop - start) * length / length[-1]


def _vacua(chamber: _Chamber, plan: Plan) -> None:
    chamber.mark("air removal")
    for number, low in enumerate(plan.lows_kpa):
        _pump(chamber, plan, low, first=number == 0)
        if number < len(plan.highs_kpa):
            high = plan.highs_kpa[number]
            _steam(chamber, plan, _ramp(chamber.pressure_kpa, high, plan.steam_kpa_s))
            if plan.dwell_s >= 0.2:
                _steam(chamber, plan, np.full(steps(plan.dwell_s).size, high))
    chamber.mark("heating")


def _pressure_pulses(chamber: _Chamber, plan: Plan) -> None:
    """Steam in, vent out, several times; the chamber is never drawn below the atmosphere."""
    chamber.mark("air removal")
    for low, high in zip(plan.lows_kpa, plan.highs_kpa, strict=True):
        _steam(chamber, plan, _ramp(chamber.pressure_kpa, high, plan.steam_kpa_s / 3.0))
        start, floor = chamber.pressure_kpa, plan.atmosphere_kpa
        length_s = 0.6 * plan.exhaust_s * np.log((start - floor) / low)
        pressure = floor + (start - floor) * np.exp(-steps(length_s) / (0.6 * plan.exhaust_s))
        air = chamber.pumped(pressure)
        chamber.add(pressure, air, boiling_c(pressure - air), 3.0 * plan.steam_lag_s)
    chamber.mark("heating")


def _vented_heating(chamber: _Chamber, plan: Plan) -> None:
    """Boil water with the vent open: the temperature climbs until steam has pushed the air out."""
    chamber.mark("heating")
    top = float(boiling_c(plan.atmosphere_kpa + 3.0))
    length_s = (top - plan.warm_c) / (0.9 * 0.25 * plan.heating_kpa_s)
    part = steps(length_s) / length_s
    temperature = plan.warm_c + (top - plan.warm_c) * part
    pressure = plan.atmosphere_kpa + 4.0 * part**4
    air = np.maximum(pressure - boiling_kpa(temperature), 0.0)
    chamber.add(pressure, air, temperature, plan.steam_lag_s)
    flush = steps(60.0)
    pressure = np.full(flush.size, plan.atmosphere_kpa + 4.0)
    left = max(plan.left_kpa, plan.wrong.air_kpa)
    air = left + (max(chamber.air_kpa, left) - left) * np.exp(-flush / 12.0)
    chamber.add(pressure, air, boiling_c(pressure - air), plan.steam_lag_s)


def _rise(chamber: _Chamber, plan: Plan) -> None:
    """Raise the pressure to the plateau's; a cycle that displaces air bleeds it meanwhile."""
    left = chamber.air_kpa if plan.kind in GRAVITY else _left(chamber, plan)
    aim_c = plan.set_c + plan.margin_k + plan.overshoot_k
    if plan.wrong.by_pressure:
        peak = float(boiling_kpa(aim_c))
    else:
        peak = float(boiling_kpa(aim_c - plan.wrong.superheat_k)) + left
    pressure = _ramp(chamber.pressure_kpa, peak, plan.heating_kpa_s)
    air = np.linspace(chamber.air_kpa, left, pressure.size)
    aim = boiling_c(np.maximum(pressure - air, 1.0))
    aim = aim + plan.wrong.superheat_k * (pressure / peak) ** 4
    aim = np.maximum(aim, np.minimum(chamber.temperature_c, plan.warm_c))
    chamber.add(pressure, air, aim, plan.steam_lag_s)
    chamber.mark("top")


def _left(chamber: _Chamber, plan: Plan) -> float:
    if plan.wrong.air_kpa > 0.0:
        return plan.wrong.air_kpa
    return min(chamber.air_kpa, plan.left_kpa)


def _hold(chamber: _Chamber, plan: Plan) -> None:
    """Hold: the control keeps temperature or pressure with a ripple; dips and crests on top."""
    wrong = plan.wrong
    length_s = plan.held_s * (1.0 if wrong.cut is None else wrong.cut)
    at = steps(length_s)
    settle = plan.overshoot_k * np.exp(-at / 15.0)
    ripple = plan.ripple_k * np.sin(2.0 * np.pi * at / plan.ripple_s)
    ripple = ripple * -np.expm1(-at / 15.0)
    aim_c = plan.set_c + plan.margin_k + settle + ripple
    if wrong.dip_k > 0.0:
        aim_c = aim_c - (plan.margin_k + wrong.dip_k) * _bump(at, length_s, wrong.dip_s)
    if wrong.crest_k > 0.0:
        over = plan.band_k - plan.margin_k + wrong.crest_k
        aim_c = aim_c + over * _bump(at, length_s, wrong.crest_s)
    air = np.full(at.size, chamber.air_kpa)
    if wrong.by_pressure:
        pressure = boiling_kpa(aim_c)
    else:
        pressure = boiling_kpa(aim_c - wrong.superheat_k) + air
    aim = boiling_c(pressure - air) + wrong.superheat_k
    chamber.add(pressure, air, aim, plan.steam_lag_s)
    chamber.mark("exhaust")


def _bump(at: Floats, length_s: float, width_s: float) -> Floats:
    """A flat-topped bump in the middle, with flanks of 6 s."""
    away = np.abs(at - 0.5 * length_s) - 0.5 * width_s
    return 1.0 / (1.0 + np.exp(np.clip(away / 1.5, -50.0, 50.0)))


def _exhaust(chamber: _Chamber, plan: Plan) -> None:
    start, floor = chamber.pressure_kpa, plan.atmosphere_kpa
    length_s = plan.exhaust_s * np.log((start - floor) / NEAR_KPA)
    pressure = floor + (start - floor) * np.exp(-steps(length_s) / plan.exhaust_s)
    air = chamber.pumped(pressure)
    chamber.add(pressure, air, boiling_c(pressure - air) + 0.5, 2.0 * plan.steam_lag_s)
    # "About the atmosphere" begins 10 kPa over it, and lasts until a vacuum is drawn.
    near = int(np.count_nonzero(pressure > floor + 10.0))
    earliest = chamber.now_s - STEP_S * (pressure.size - near)
    rest = steps(plan.exhaust_rest_s) if plan.exhaust_rest_s else np.empty(0)
    if rest.size:
        still = np.full(rest.size, chamber.pressure_kpa)
        air = np.full(rest.size, chamber.air_kpa)
        chamber.add(still, air, boiling_c(still - air) + 1.0, 5.0)
    chamber.mark("drying", earliest)


def _vacuum_drying(chamber: _Chamber, plan: Plan) -> None:
    """Pump, admit air and pump again; the load's water cools, then it warms from the walls."""
    begin_s = chamber.now_s
    stops = [(share * plan.dry_s, high) for share, high in plan.admissions]
    end_s = plan.dried_s
    for at_s, high in [(at_s, high) for at_s, high in stops if at_s < end_s - 60.0]:
        _pull_down(chamber, plan, at_s - (chamber.now_s - begin_s), begin_s)
        pressure = _ramp(chamber.pressure_kpa, high, 4.0)
        air = chamber.air_kpa + (pressure - chamber.pressure_kpa)
        chamber.add(pressure, air, _load_c(chamber, plan, pressure, begin_s), plan.vacuum_lag_s)
    _pull_down(chamber, plan, end_s - (chamber.now_s - begin_s), begin_s)
    chamber.mark("air inlet")
    _let_in(chamber, plan, 2.0 if plan.wrong.door else plan.inlet_s)


def _pull_down(chamber: _Chamber, plan: Plan, length_s: float, begin_s: float) -> None:
    """Pump for a time; boiling water holds the pressure up on a shoulder, if there is much."""
    at = steps(max(length_s, 1.0))
    start = chamber.pressure_kpa
    pressure = plan.pump_kpa + (start - plan.pump_kpa) * np.exp(-at / plan.pump_s)
    if plan.wrong.shoulder_kpa > plan.pump_kpa and chamber.now_s - begin_s < 1.0:
        shoulder = plan.wrong.shoulder_kpa * np.exp(-0.15 * at / plan.wrong.shoulder_s)
        gone = np.exp(-np.maximum(at - plan.wrong.shoulder_s, 0.0) / (1.5 * plan.pump_s))
        pressure = np.maximum(pressure, plan.pump_kpa + (shoulder - plan.pump_kpa) * gone)
    air = chamber.pumped(pressure)
    chamber.add(pressure, air, _load_c(chamber, plan, pressure, begin_s), plan.vacuum_lag_s)


def _load_c(chamber: _Chamber, plan: Plan, pressure: Floats, begin_s: float) -> Floats:
    """Between the boiling point of the water still there and the walls' temperature."""
    at = chamber.now_s - begin_s + steps(pressure.size * STEP_S)[: pressure.size]
    wet = 0.55 * np.exp(-at / plan.wet_s)
    return wet * boiling_c(pressure) + (1.0 - wet) * (plan.set_c - 22.0)


def _let_in(chamber: _Chamber, plan: Plan, length_s: float) -> None:
    """Let air in through a filter, or by the door all at once; then rest."""
    start, top = chamber.pressure_kpa, plan.atmosphere_kpa
    at = steps(length_s)
    pressure = start + (top - 0.3 - start) * (1.0 - (1.0 - at / at[-1]) ** 1.5)
    air = chamber.air_kpa + (pressure - start)
    cool = ROOM_C + 5.0 if plan.wrong.door else chamber.temperature_c - 6.0
    lag_s = 18.0 if plan.wrong.door else 60.0
    near_s = chamber.now_s + STEP_S * int(np.count_nonzero(pressure < top - 5.0))
    chamber.add(pressure, air, np.full(at.size, cool), lag_s)
    chamber.mark("rest", near_s)
    rest = steps(plan.rest_after_s)
    pressure = top - 0.3 * np.exp(-rest / 5.0)
    chamber.add(pressure, pressure, np.full(rest.size, cool), lag_s)


def _warm_drying(chamber: _Chamber, plan: Plan) -> None:
    """Dry with the heater at the atmosphere until the record ends."""
    at = steps(plan.dried_s)
    top = plan.atmosphere_kpa
    pressure = top + (chamber.pressure_kpa - top) * np.exp(-at / 20.0)
    wet = np.exp(-at / plan.wet_s)
    aim = 98.0 * wet + (1.0 - wet) * (plan.set_c - 30.0)
    chamber.add(pressure, pressure * -np.expm1(-at / 120.0), aim, 40.0)
