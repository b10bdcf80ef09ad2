"""Runs drawn from straight lines and sharp corners, plainer than any chamber: no lag, no noise.

A person who knows the trade's table of fault signatures would draw them so. Boiling points are
CoolProp's, as in `tests.steam.scene`.
"""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from tests.steam.scene import boiling_c, pressure_kpa
from turnwell.steam.cycle import AirRemoval, Cycle
from turnwell.steam.record import Record
from turnwell.steam.stage import StageKind

__all__ = ["Line", "Log", "Shape", "drawn", "plan_of", "record_of", "with_gap"]

FINE_S = 0.1
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Shape:
    """What a run looks like; every time is that of a straight line."""

    set_c: float = 134.0
    band_k: float = 4.0
    hold_s: float = 240.0
    planned_hold_s: float = 210.0
    dry_s: float = 600.0
    planned_dry_s: float = 600.0
    rest_kpa: float = 101.325
    lows_kpa: tuple[float, ...] = (15.0, 15.0, 15.0)
    high_kpa: float = 180.0
    pull_s: float = 90.0
    steam_s: float = 40.0
    top_s: float = 0.0  # at the top of a steam pulse
    vacuum_c: float | None = None  # None: falls with saturation
    heat_s: float = 150.0
    over_k: float = 0.5  # of the hold over the set temperature
    ripple_k: float = 0.0
    ripple_s: float = 20.0
    overshoot_k: float = 0.0  # over the hold, gone within 30 s
    exhaust_s: float = 60.0
    vented_kpa: float | None = None  # None: the atmosphere
    dry_kpa: float = 6.0
    dry_c: float | None = 85.0  # None: saturation
    dry_pull_s: float = 100.0
    admissions: int = 2
    admit_kpa: float = 40.0
    inlet_s: float = 40.0
    rest_s: float = 30.0
    start_s: float = 20.0
    gravity: bool = False
    venting_kpa: float = 101.325
    air_kpa: float = 0.0  # left while holding
    by_pressure: bool = False
    superheat_k: float = 0.0
    dip_k: float = 0.0  # under the set temperature, in the middle of the hold
    crest_k: float = 0.0  # over the band
    event_s: float = 40.0
    door: bool = False
    cut_s: float | None = None  # the record stops this long after the set temperature is reached
    leak: bool = False
    shoulder_kpa: float = 0.0
    shoulder_s: float = 300.0


@dataclass
class Line:
    """Pressure and temperature at a tenth of a second, and the stage of each stretch."""

    kpa: list[Array] = field(default_factory=list)
    celsius: list[Array] = field(default_factory=list)
    marks: list[tuple[StageKind, float]] = field(default_factory=list)
    last_kpa: float = 101.325
    last_c: float = 60.0
    last_air_kpa: float = 0.0
    last_over_k: float = 0.0
    now_s: float = 0.0

    def mark(self, kind: StageKind) -> None:
        self.marks.append((kind, self.now_s))

    def to(
        self,
        stop_kpa: float,
        seconds: float,
        stop_c: float | None = None,
        *,
        air_kpa: float = 0.0,
        over_k: float = 0.0,
    ) -> None:
        """Go straight; the temperature straight to `stop_c`, or along saturation.

        Air and superheat come, and go, over the way.
        """
        count = round(seconds / FINE_S)
        if count < 1:
            return
        part = np.arange(1, count + 1) / count
        pressure = self.last_kpa + (stop_kpa - self.last_kpa) * part
        if stop_c is None:
            air = self.last_air_kpa + (air_kpa - self.last_air_kpa) * part
            over = self.last_over_k + (over_k - self.last_over_k) * part
            celsius = boiling_c(np.maximum(pressure - air, 1.0)) + over
        else:
            celsius = self.last_c + (stop_c - self.last_c) * part
        self.add(pressure, celsius)
        self.last_air_kpa, self.last_over_k = air_kpa, over_k

    def add(self, pressure: Array, celsius: Array) -> None:
        self.kpa.append(pressure)
        self.celsius.append(celsius)
        self.last_kpa, self.last_c = float(pressure[-1]), float(celsius[-1])
        self.now_s = round(self.now_s + FINE_S * pressure.size, 3)

    @property
    def time_s(self) -> Array:
        return FINE_S * np.arange(1, sum(part.size for part in self.kpa) + 1)

    @property
    def temperature_c(self) -> Array:
        return np.concatenate(self.celsius)

    @property
    def pressure_kpa(self) -> Array:
        return np.concatenate(self.kpa)


@dataclass(frozen=True, slots=True)
class Log:
    """How a run is written down."""

    step_s: float = 1.0
    noise_k: float = 0.0
    noise_kpa: float = 0.0
    digit_k: float = 0.1
    digit_kpa: float = 0.1
    jitter_s: float = 0.0
    offset_k: float = 0.0
    given_kpa: float | None = None
    seed: int = 0


def plan_of(shape: Shape) -> Cycle:
    return Cycle(
        name="plain",
        set_c=shape.set_c,
        band_k=shape.band_k,
        hold_s=shape.planned_hold_s,
        dry_s=shape.planned_dry_s,
        air_removal=AirRemoval.GRAVITY if shape.gravity else AirRemoval.DYNAMIC,
        source="test",
    )


def drawn(shape: Shape) -> Line:
    """Draw a run."""
    line = Line(last_kpa=shape.rest_kpa, last_c=25.0 if shape.gravity else 60.0)
    line.to(shape.rest_kpa, shape.start_s, line.last_c)
    if shape.gravity:
        _vent(line, shape)
    else:
        _remove_air(line, shape)
    _heat_and_hold(line, shape)
    if shape.cut_s is not None:
        return line
    line.mark(StageKind.EXHAUST)
    vented = shape.rest_kpa if shape.vented_kpa is None else shape.vented_kpa
    line.to(vented, shape.exhaust_s)
    line.mark(StageKind.DRYING)
    if shape.gravity:
        line.to(shape.rest_kpa, 20.0, line.last_c)
        line.to(shape.rest_kpa, shape.dry_s - 20.0, 95.0)
        return line
    _dry(line, shape)
    return line


def _remove_air(line: Line, shape: Shape) -> None:
    line.mark(StageKind.AIR_REMOVAL)
    pull_s = shape.pull_s * (2.5 if shape.leak else 1.0)
    for number, low in enumerate(shape.lows_kpa):
        line.to(low, pull_s, shape.vacuum_c)
        if number < len(shape.lows_kpa) - 1:
            line.to(shape.high_kpa, shape.steam_s)
            line.to(shape.high_kpa, shape.top_s)


def _vent(line: Line, shape: Shape) -> None:
    line.mark(StageKind.HEATING)
    line.to(shape.venting_kpa, 360.0, float(boiling_c(shape.venting_kpa)))
    line.to(shape.venting_kpa, 60.0)


def _heat_and_hold(line: Line, shape: Shape) -> None:
    if not shape.gravity:
        line.mark(StageKind.HEATING)
    air, hot = shape.air_kpa, shape.superheat_k
    # Control by pressure holds that of the set temperature; the air makes it colder.
    top_c = shape.set_c + shape.over_k
    top = pressure_kpa(top_c) if shape.by_pressure else pressure_kpa(top_c - hot) + air
    knee = pressure_kpa(shape.set_c - hot) + air
    knee = min(knee, top)
    line.to(knee, shape.heat_s, air_kpa=air, over_k=hot)
    line.mark(StageKind.PLATEAU)
    length = shape.hold_s if shape.cut_s is None else shape.cut_s
    at = FINE_S * np.arange(1, round(length / FINE_S) + 1)
    rise_s = min(3.0, length)
    level = shape.over_k * np.minimum(at / rise_s, 1.0)
    level = level + shape.overshoot_k * np.interp(at, [0.0, 8.0, 30.0], [0.0, 1.0, 0.0])
    level = level + shape.ripple_k * np.sin(2.0 * np.pi * at / shape.ripple_s)
    inside = np.abs(at - length / 2.0) <= shape.event_s / 2.0
    if shape.dip_k:
        level = np.where(inside, -shape.dip_k, level)
    if shape.crest_k:
        level = np.where(inside, shape.band_k + shape.crest_k, level)
    celsius = shape.set_c + level
    if shape.by_pressure:
        pressure = np.interp(celsius, boiling_c(_GRID), _GRID)
        line.add(pressure, boiling_c(pressure - air))
    else:
        line.add(np.interp(celsius - hot, boiling_c(_GRID), _GRID) + air, celsius)


_GRID = np.linspace(80.0, 480.0, 4001)


def _dry(line: Line, shape: Shape) -> None:
    part = shape.dry_s / (shape.admissions + 1)
    pull_s = min(shape.dry_pull_s * (2.5 if shape.leak else 1.0), part - 20.0)
    for number in range(shape.admissions + 1):
        left_s = part
        if number == 0 and shape.shoulder_kpa:
            line.to(shape.shoulder_kpa, 30.0)
            line.to(shape.shoulder_kpa - 5.0, shape.shoulder_s)
            left_s -= 30.0 + shape.shoulder_s
        line.to(shape.dry_kpa, min(pull_s, left_s - 10.0), shape.dry_c)
        left_s -= min(pull_s, left_s - 10.0)
        last = number == shape.admissions
        line.to(shape.dry_kpa, left_s - (0.0 if last else 15.0), shape.dry_c)
        if not last:
            line.to(shape.admit_kpa, 15.0, shape.dry_c)
    line.mark(StageKind.AIR_INLET)
    if shape.door:
        line.to(shape.rest_kpa, 2.0, line.last_c - 3.0)
        line.mark(StageKind.NOT_RECOGNISED)
        line.to(shape.rest_kpa, 45.0, 35.0)
        line.to(shape.rest_kpa, 45.0, 30.0)
        return
    line.to(shape.rest_kpa, shape.inlet_s, line.last_c)
    line.mark(StageKind.NOT_RECOGNISED)
    line.to(shape.rest_kpa, shape.rest_s, line.last_c - 2.0)


def record_of(line: Line, log: Log, *, rest_kpa: float = 101.325) -> Record:
    """Write a run down."""
    rng = np.random.default_rng(log.seed)
    time_s = np.arange(FINE_S, float(line.time_s[-1]) + 1e-9, log.step_s)
    time_s[1:] += np.clip(rng.normal(0.0, log.jitter_s, time_s.size - 1), -0.45, 0.45)
    time_s = np.clip(time_s, FINE_S, float(line.time_s[-1]))
    celsius = np.interp(time_s, line.time_s, line.temperature_c) + log.offset_k
    celsius = celsius + log.noise_k * rng.standard_normal(time_s.size)
    kpa = np.interp(time_s, line.time_s, line.pressure_kpa)
    kpa = kpa + log.noise_kpa * rng.standard_normal(time_s.size)
    return Record(
        time_s=time_s - time_s[0],
        temperature_c=np.round(np.round(celsius / log.digit_k) * log.digit_k, 6),
        pressure_kpa=np.maximum(np.round(np.round(kpa / log.digit_kpa) * log.digit_kpa, 6), 0.0),
        atmosphere_kpa=rest_kpa if log.given_kpa is None else log.given_kpa,
    )


def with_gap(record: Record, start_s: float, stop_s: float) -> Record:
    """Leave the rows of a stretch out."""
    kept = (record.time_s < start_s) | (record.time_s >= stop_s)
    return replace(
        record,
        time_s=record.time_s[kept],
        temperature_c=record.temperature_c[kept],
        pressure_kpa=record.pressure_kpa[kept],
    )
