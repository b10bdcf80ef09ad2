"""What an invented run is made of: a kind of cycle, a sterilizer, and levers for what goes wrong.

The ranges are common practice for small steam sterilizers.
"""

from dataclasses import dataclass
from enum import StrEnum

from numpy.random import Generator

__all__ = ["VACUUM_DRIED", "Kind", "Plan", "Wrong", "draw"]


class Kind(StrEnum):
    """Kinds of cycle."""

    DYNAMIC_134 = "dynamic 134"
    DYNAMIC_121 = "dynamic 121"
    DYNAMIC_132 = "dynamic 132"
    DYNAMIC_135 = "dynamic 135"
    SINGLE_VACUUM_134 = "single vacuum 134"
    WEAK_PUMP_134 = "weak pump 134"
    GRAVITY_121 = "gravity 121"
    GRAVITY_132 = "gravity 132"
    PRESSURE_PULSE_134 = "pressure pulse 134"


GRAVITY = (Kind.GRAVITY_121, Kind.GRAVITY_132)
VACUUM_DRIED = tuple(k for k in Kind if k not in {*GRAVITY, Kind.PRESSURE_PULSE_134})
SET_C = {kind: float(kind.value[-3:]) for kind in Kind}
HOLD_S = {134.0: (180, 210, 240, 330), 121.0: (900, 1200), 132.0: (240,), 135.0: (180,)}


@dataclass(frozen=True, slots=True)
class Wrong:
    """Levers of what goes wrong; at their defaults nothing does."""

    air_kpa: float = 0.0  # left in the chamber, at the plateau
    by_pressure: bool = False  # the control holds the pressure of the set temperature
    superheat_k: float = 0.0  # above saturation while holding
    offset_k: float = 0.0  # of the temperature sensor, in the whole record
    dip_k: float = 0.0  # below the set temperature, in the middle of the hold
    dip_s: float = 0.0
    crest_k: float = 0.0  # above the band, in the middle of the hold
    crest_s: float = 0.0
    door: bool = False  # opened in the drying vacuum
    cut: float | None = None  # the record stops at this share of the hold
    shoulder_kpa: float = 0.0  # where boiling water holds up the drying vacuum
    shoulder_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Plan:
    """One run: the sterilizer's figures, what was asked of it, and what it does."""

    kind: Kind
    set_c: float
    band_k: float
    hold_s: float  # asked for
    dry_s: float  # asked for
    held_s: float  # done, from reaching the set temperature
    dried_s: float  # done
    altitude_m: float
    warm_c: float
    rest_before_s: float
    rest_after_s: float
    lows_kpa: tuple[float, ...]
    highs_kpa: tuple[float, ...]
    dwell_s: float  # at the high of a pulse
    pump_s: float  # time constant of the pull-down
    pump_kpa: float  # what it ends at
    steam_kpa_s: float
    heating_kpa_s: float
    margin_k: float  # of the hold over the set temperature
    overshoot_k: float
    ripple_k: float
    ripple_s: float
    left_kpa: float  # air left by a cycle that displaces it
    exhaust_s: float
    exhaust_rest_s: float
    admissions: tuple[tuple[float, float], ...]  # share of the drying, up to kPa
    inlet_s: float
    wet_s: float  # time constant with which the load gives off its water
    steam_lag_s: float
    vacuum_lag_s: float
    wrong: Wrong = Wrong()

    @property
    def atmosphere_kpa(self) -> float:
        """Of the standard atmosphere at the place's altitude."""
        return 101.325 * (1.0 - 2.25577e-5 * self.altitude_m) ** 5.25588


def draw(kind: Kind, rng: Generator) -> Plan:
    """Draw a clean run of a kind."""
    set_c = SET_C[kind]
    vacuum = kind in VACUUM_DRIED
    weak = kind is Kind.WEAK_PUMP_134
    floor_kpa = rng.uniform(18.0, 27.0) if weak else rng.uniform(3.0, 8.0)
    hold_s = _hold_s(kind, set_c, rng)
    dry_s = 60.0 * float(rng.integers(8, 21) if vacuum else rng.integers(20, 46))
    count = _pulses(kind, rng)
    lows, highs = _swings(kind, count, floor_kpa, rng)
    return Plan(
        kind=kind,
        set_c=set_c,
        band_k=float(rng.choice([3.0, 4.0])),
        hold_s=hold_s,
        dry_s=dry_s,
        held_s=hold_s * rng.uniform(1.04, 1.15) + 5.0,
        dried_s=dry_s * rng.uniform(1.02, 1.1) + 10.0,
        altitude_m=rng.uniform(0.0, 2000.0) if rng.random() < 0.5 else rng.uniform(0.0, 300.0),
        warm_c=rng.uniform(40.0, 85.0) if kind not in GRAVITY else rng.uniform(22.0, 60.0),
        rest_before_s=rng.uniform(0.0, 90.0) if rng.random() < 0.7 else 0.0,
        rest_after_s=rng.uniform(15.0, 120.0),
        lows_kpa=lows,
        highs_kpa=highs,
        dwell_s=rng.uniform(0.0, 20.0),
        pump_s=rng.uniform(18.0, 40.0),
        pump_kpa=floor_kpa,
        steam_kpa_s=rng.uniform(3.0, 12.0),
        heating_kpa_s=rng.uniform(1.2, 4.0) if vacuum else rng.uniform(0.4, 1.2),
        margin_k=rng.uniform(0.5, 1.2),
        overshoot_k=rng.uniform(0.0, 0.6),
        ripple_k=rng.uniform(0.0, 0.15),
        ripple_s=rng.uniform(8.0, 45.0),
        left_kpa=rng.uniform(0.5, 3.0),
        exhaust_s=rng.uniform(12.0, 35.0),
        exhaust_rest_s=rng.uniform(3.0, 15.0) if rng.random() < 0.4 else 0.0,
        admissions=_admissions(dry_s, floor_kpa, rng) if vacuum else (),
        inlet_s=rng.uniform(20.0, 60.0),
        wet_s=rng.uniform(90.0, 400.0),
        steam_lag_s=rng.uniform(0.5, 2.0),
        vacuum_lag_s=rng.uniform(15.0, 45.0),
    )


def _hold_s(kind: Kind, set_c: float, rng: Generator) -> float:
    if kind in GRAVITY:
        return {121.0: 1800.0, 132.0: 900.0}[set_c]
    return float(rng.choice(HOLD_S[set_c]))


def _pulses(kind: Kind, rng: Generator) -> int:
    if kind in GRAVITY:
        return 0
    if kind is Kind.SINGLE_VACUUM_134:
        return 1
    if kind is Kind.PRESSURE_PULSE_134:
        return int(rng.integers(4, 7))
    return int(rng.integers(3, 5))


def _swings(kind: Kind, count: int, floor_kpa: float, rng: Generator):
    """Lows and highs of the air removal; of pressure pulses the lows lie above the atmosphere."""
    if kind is Kind.PRESSURE_PULSE_134:
        lows = tuple(rng.uniform(2.0, 6.0, count).tolist())  # above the atmosphere
        return lows, tuple(rng.uniform(180.0, 240.0, count).tolist())
    if kind is Kind.SINGLE_VACUUM_134:
        return (rng.uniform(15.0, 25.0),), ()
    lows = (floor_kpa + rng.uniform(1.5, 8.0, count)).tolist()
    return tuple(lows), tuple(rng.uniform(120.0, 195.0, max(count - 1, 0)).tolist())


def _admissions(dry_s: float, floor_kpa: float, rng: Generator) -> tuple[tuple[float, float], ...]:
    count = int(rng.integers(0, 6))
    if dry_s / (count + 1) < 120.0:
        count = max(0, int(dry_s / 120.0) - 1)
    shares = [(number + 1.0) / (count + 1.0) for number in range(count)]
    highs = floor_kpa + rng.uniform(15.0, 28.0, count)
    return tuple(zip(shares, highs.tolist(), strict=True))
