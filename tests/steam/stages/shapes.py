"""Runs drawn segment by segment, each with the stage it belongs to: the truth of the stage tests.

Boiling points are CoolProp's (IAPWS-95), as in `tests.steam.scene`, not those of the code tested.
"""

from dataclasses import dataclass, field

import numpy as np

from tests.steam.scene import boiling_c, pressure_kpa
from turnwell.steam.record import Record
from turnwell.steam.stage import StageKind

__all__ = ["Drawn", "gravity_run", "pressure_pulse_run", "vacuum_run"]

FINE_S = 0.25


@dataclass
class Drawn:
    """A run at a quarter of a second, grown from its start; `kinds` names each segment's stage."""

    rest_kpa: float = 101.3
    start_c: float = 60.0
    pressures: list[float] = field(default_factory=list)
    temperatures: list[float] = field(default_factory=list)
    spans: list[tuple[StageKind, float, float]] = field(default_factory=list)
    pulses: int = 0
    admissions: int = 0

    @property
    def now_s(self) -> float:
        return FINE_S * len(self.pressures)

    def go(
        self,
        kind: StageKind,
        stop_kpa: float,
        seconds: float,
        *,
        tau_s: float | None = None,
        towards_c: float | None = None,
        lag_s: float = 2.0,
        shift_k: float = 0.0,
    ) -> "Drawn":
        """Go to a pressure, straight or with a time constant; the temperature follows with a lag.

        It goes to the boiling point of the pressure, or to `towards_c`.
        """
        start_s = self.now_s
        count = max(round(seconds / FINE_S), 1)
        at = np.arange(1, count + 1) * FINE_S
        first = self.pressures[-1] if self.pressures else self.rest_kpa
        if tau_s is None:
            curve = first + (stop_kpa - first) * at / at[-1]
        else:
            curve = stop_kpa + (first - stop_kpa) * np.exp(-at / tau_s)
        aims = boiling_c(np.maximum(curve, 1.0)) + shift_k if towards_c is None else None
        keep = float(np.exp(-FINE_S / lag_s))
        temperature = self.temperatures[-1] if self.temperatures else self.start_c
        for index in range(count):
            aim = towards_c if aims is None else float(aims[index])
            temperature = aim + (temperature - aim) * keep
            self.temperatures.append(temperature)
        self.pressures.extend(curve.tolist())
        if self.spans and self.spans[-1][0] is kind:
            start_s = self.spans.pop()[1]
        self.spans.append((kind, start_s, self.now_s))
        return self

    def rest(self, seconds: float, towards_c: float) -> "Drawn":
        if seconds <= 0.0:
            return self
        return self.go(
            StageKind.NOT_RECOGNISED, self.rest_kpa, seconds, towards_c=towards_c, lag_s=200.0
        )

    def record(
        self,
        *,
        step_s: float = 1.0,
        noise_k: float = 0.1,
        noise_kpa: float = 0.5,
        digit_k: float = 0.1,
        seed: int = 0,
        stop_s: float | None = None,
        given_kpa: float | None = None,
        with_pressure: bool = True,
    ) -> Record:
        rng = np.random.default_rng(seed)
        fine = np.arange(len(self.pressures)) * FINE_S
        time_s = np.arange(0.0, stop_s or float(fine[-1]), step_s)
        kelvin = np.interp(time_s, fine, self.temperatures)
        kelvin = kelvin + noise_k * rng.standard_normal(time_s.size)
        kpa = np.interp(time_s, fine, self.pressures)
        kpa = kpa + noise_kpa * rng.standard_normal(time_s.size)
        return Record(
            time_s=time_s,
            temperature_c=np.round(kelvin / digit_k) * digit_k,
            pressure_kpa=np.round(kpa, 1) if with_pressure else np.full(time_s.size, np.nan),
            atmosphere_kpa=self.rest_kpa if given_kpa is None else given_kpa,
        )

    def edges_s(self) -> dict[tuple[StageKind, str], float]:
        """Give start and stop of every stage but rest."""
        edges: dict[tuple[StageKind, str], float] = {}
        for kind, start_s, stop_s in self.spans:
            if kind is not StageKind.NOT_RECOGNISED:
                edges.setdefault((kind, "start"), start_s)
                edges[(kind, "stop")] = stop_s
        return edges


def heat_and_hold(
    run: Drawn, set_c: float, hold_s: float, rate_kpa_s: float, over_k: float
) -> None:
    """Rise through the set temperature to a flat top `over_k` above it, and hold it."""
    knee, top = pressure_kpa(set_c), pressure_kpa(set_c + over_k)
    # The temperature lags two seconds behind; the plateau is the chamber's, so let it.
    run.go(StageKind.HEATING, knee, abs(knee - run.pressures[-1]) / rate_kpa_s)
    run.go(StageKind.PLATEAU, top, max((top - knee) / rate_kpa_s, 1.0))
    run.go(StageKind.PLATEAU, top, hold_s)


def vacuum_run(
    *,
    rest_kpa: float = 101.3,
    set_c: float = 134.0,
    hold_s: float = 210.0,
    lows_kpa: tuple[float, ...] = (15.0, 15.0, 15.0),
    high_kpa: float = 170.0,
    pump_s: float = 25.0,
    rate_kpa_s: float = 2.5,
    over_k: float = 0.8,
    dry_kpa: float = 6.0,
    dry_s: float = 600.0,
    admissions: int = 2,
    admit_kpa: float = 40.0,
    inlet_s: float = 35.0,
    rest_s: float = 30.0,
    ending: str = "inlet",
) -> Drawn:
    """Pulses of vacuum, vacuum drying; `ending` is "inlet" or "door"."""
    run = Drawn(rest_kpa, start_c=60.0).rest(rest_s, 60.0)
    for number, low in enumerate(lows_kpa):
        seconds = pump_s * float(np.log(((run.pressures or [rest_kpa])[-1] - low + 2.0) / 2.0))
        run.go(StageKind.AIR_REMOVAL, low - 2.0, seconds, tau_s=pump_s, towards_c=70.0, lag_s=40.0)
        run.pulses += 1
        if number < len(lows_kpa) - 1:
            run.go(StageKind.AIR_REMOVAL, high_kpa, (high_kpa - low) / 6.0)
            run.go(StageKind.AIR_REMOVAL, high_kpa, 8.0)
    heat_and_hold(run, set_c, hold_s, rate_kpa_s, over_k)
    top = run.pressures[-1]
    run.go(StageKind.EXHAUST, rest_kpa, 18.0 * float(np.log(top / rest_kpa)) + 20.0)
    part = dry_s / (admissions + 1)
    for number in range(admissions + 1):
        tau_s = pump_s
        run.go(StageKind.DRYING, dry_kpa, part - 15.0, tau_s=tau_s, towards_c=80.0, lag_s=90.0)
        if number < admissions:
            run.go(StageKind.DRYING, admit_kpa, 15.0, towards_c=85.0, lag_s=60.0)
            run.admissions += 1
    if ending == "door":
        run.go(StageKind.AIR_INLET, rest_kpa, 2.0, towards_c=30.0, lag_s=20.0)
        run.go(StageKind.NOT_RECOGNISED, rest_kpa, 90.0, towards_c=30.0, lag_s=20.0)
    else:
        run.go(StageKind.AIR_INLET, rest_kpa, inlet_s, towards_c=80.0, lag_s=60.0)
        run.rest(rest_s, 70.0)
    return run


def pressure_pulse_run(
    *, rest_kpa: float = 101.3, set_c: float = 134.0, pulses: int = 4, hold_s: float = 240.0
) -> Drawn:
    """Pulses of pressure alone, drying at the atmosphere."""
    run = Drawn(rest_kpa, start_c=60.0).rest(20.0, 60.0)
    for _ in range(pulses):
        run.go(StageKind.AIR_REMOVAL, 200.0, 50.0)
        run.go(StageKind.AIR_REMOVAL, rest_kpa + 4.0, 15.0)
        run.pulses += 1
    heat_and_hold(run, set_c, hold_s, 1.2, 0.8)
    run.go(StageKind.EXHAUST, rest_kpa + 1.0, 40.0)
    return run.go(StageKind.DRYING, rest_kpa, 1200.0, towards_c=95.0, lag_s=100.0)


def gravity_run(
    *,
    rest_kpa: float = 101.3,
    set_c: float = 121.0,
    hold_s: float = 960.0,
    vent_kpa: float = 4.0,
    dry_s: float = 1500.0,
    door: bool = False,
) -> Drawn:
    """Heat-up with an open vent, drying at the atmosphere, at its end the door opened or not."""
    run = Drawn(rest_kpa, start_c=25.0).rest(20.0, 25.0)
    run.go(StageKind.HEATING, rest_kpa + vent_kpa, 360.0, towards_c=103.0, lag_s=110.0)
    run.go(StageKind.HEATING, rest_kpa + vent_kpa, 60.0)
    heat_and_hold(run, set_c, hold_s, 0.5, 0.8)
    run.go(StageKind.EXHAUST, rest_kpa + 2.0, 70.0)
    run.go(StageKind.DRYING, rest_kpa, dry_s, towards_c=95.0, lag_s=200.0)
    if door:
        run.go(StageKind.NOT_RECOGNISED, rest_kpa, 120.0, towards_c=35.0, lag_s=40.0)
    return run
