"""The water balance of a load: what condenses on it, what the drying can take off, what is left."""

from dataclasses import dataclass, replace
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.measure import Basis, Limit, Reading, cannot_tell, reading
from turnwell.steam.load.condensate import condensate_g, left_after_flash_g
from turnwell.steam.load.items import HEAT_CAPACITY_PART, Load
from turnwell.steam.load.wall import POUCH_M2, wall_heat_w
from turnwell.steam.water import (
    STANDARD_ATMOSPHERE_KPA,
    evaporation_heat_kj_kg,
    saturation_temperature_c,
)
from turnwell.units import s_to_min
from turnwell.words import Message, text_of

__all__ = ["Lever", "Reached", "WaterBalance", "no_balance", "water_balance"]

# Each thing that is not known, as the range it may have; common practice unless a source is named.
# Steam is wet and wrapping takes its share: a practice figure is 1.36 times the formula's.
EXCESS = (1.0, 1.4)
ROOM_K = 5.0
# What a handpiece that was blown out, not dried, may still hold, in grams a pouch.
BEFORE_G = (0.0, 0.4)
# Residue allowed on metal, part of its mass: EN 285 and EN 13060, from memory.
ALLOWED_PART = 0.002
# What the levers set: a good pump's vacuum, ten minutes more.
GOOD_VACUUM_KPA = 5.0
MORE_S = 600.0
# Beyond these no sterilizer holds: the units were misread, and a balance would be nonsense.
COLDEST_STEAM_C, HOTTEST_STEAM_C = 100.0, 150.0
CASES = 1021
# Generators of a lattice of 1021 points in six dimensions (Korobov, 331).
GENERATORS = tuple(pow(331, power, CASES) for power in range(6))
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lever:
    """One thing the office could change, and how much less water it would leave.

    Parameters
    ----------
    key : str
        ``"vacuum"``, ``"time"``, ``"load"`` or ``"dry_before"``.
    change : Message
        What to change, with its figures.
    saved_g, low_g, high_g : float
        Grams less left over, with the ends of the 95 % interval.
    """

    key: str
    change: Message
    saved_g: float
    low_g: float
    high_g: float

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the lever as JSON values."""
        return {
            "key": self.key,
            "change": text_of(self.change, language),
            "saved_g": self.saved_g,
            "low_g": self.low_g,
            "high_g": self.high_g,
        }


@dataclass(frozen=True, slots=True)
class WaterBalance:
    """What became of the water of one load.

    Parameters
    ----------
    condensate, left : Reading
        Grams, keys ``condensate_g`` and ``water_left_g``; "cannot tell" where a thing is not known.
    levers : tuple of Lever
        The most useful first, but a drying that was cut short is run in full before anything else;
        empty where `left` cannot be told.
    """

    condensate: Reading
    left: Reading
    levers: tuple[Lever, ...] = ()

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the balance as JSON values."""
        return {
            "condensate": self.condensate.as_dict(language),
            "left": self.left.as_dict(language),
            "levers": [lever.as_dict(language) for lever in self.levers],
        }


@dataclass(frozen=True, slots=True)
class Reached:
    """What the run did to its load, as far as the record tells.

    Parameters
    ----------
    steam_c : float
        Temperature of the plateau.
    drying_kpa : float or None
        Lowest pressure of the drying, absolute; None where it was not drawn or logged.
    drying_s : float or None
        For how long the drying stood near its lowest pressure: there the wall's heat boils water.
    start_c : float
        The load before the cycle.
    pressure_bound_kpa : float
        Within which the gauge is true.
    missed_s : float or None
        By how much the drying fell short of its planned time, where a fault says that it did.
    """

    steam_c: float
    drying_kpa: float | None
    drying_s: float | None
    start_c: float = 20.0
    pressure_bound_kpa: float = 2.0
    missed_s: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class _Cases:
    """The ranges of what is not known, spread evenly: one array a quantity."""

    excess: Array
    heat_j_k: Array
    start_c: Array
    emissivity: Array
    before_g: Array
    pressure_kpa: Array
    area_m2: float


@dataclass(frozen=True, slots=True)
class _Lying:
    """How the pouches lie: emissivity of pouch and wall together, from `low` to `high`.

    A `skew` of 2 puts more cases near the low end, 1 spreads them evenly.
    """

    low: float
    high: float
    skew: float


# In a stack: from wholly shielded to both dull and free. All free: from one of them bright to both
# dull. Common practice for paper and for steel that has seen steam.
_STACKED = _Lying(0.0, 0.66, skew=2.0)
_FREE = _Lying(0.32, 0.66, skew=1.0)


def no_balance(why: Message) -> WaterBalance:
    """Give the balance of a load that nobody described."""
    return WaterBalance(
        condensate=cannot_tell("condensate_g", "g", why),
        left=cannot_tell("water_left_g", "g", why),
    )


def water_balance(load: Load, reached: Reached) -> WaterBalance:
    """Work out the water of a load.

    Of 1,021 cases that spread every unknown over its range (the steam's wetness, the heat
    capacities, the load's temperature before, what the wall gives, the water left before, the
    gauge) the mean is the estimate and the middle 95 % are the interval.

    Parameters
    ----------
    load : Load
    reached : Reached

    Returns
    -------
    WaterBalance
        The inside of a lumen is in the balance as if it dried like the outside, which it does not:
        what is left is a lower bound for it.
    """
    if not COLDEST_STEAM_C <= reached.steam_c <= HOTTEST_STEAM_C:
        return no_balance(Message("steam_water.no_steam", {"steam_c": reached.steam_c}))
    cases = _cases(load, reached, _STACKED)
    made = _condensate(cases, reached)
    least = float(
        condensate_g(
            load.heat_j_k,
            load.water_before_g or 0.0,
            start_c=reached.start_c,
            steam_c=reached.steam_c,
        )
    )
    condensate = reading(
        "condensate_g",
        least,
        min(_quantile(made, 0.025), least),
        max(_quantile(made, 0.975), least),
        "g",
        why=Message("steam_water.condensate"),
    )
    if reached.drying_s is None or reached.drying_kpa is None or not isfinite(reached.drying_kpa):
        why = Message("steam_water.no_drying")
        return WaterBalance(condensate, cannot_tell("water_left_g", "g", why))
    left = _left(cases, reached)
    return WaterBalance(condensate, _left_reading(load, left), _levers(load, reached, left))


def _cases(load: Load, reached: Reached, lying: _Lying) -> _Cases:
    spread = [
        np.asarray(np.arange(CASES) * generator % CASES + 0.5) / CASES for generator in GENERATORS
    ]

    def between(index: int, low: float, high: float) -> Array:
        return low + (high - low) * spread[index]

    before = load.water_before_g
    few_g, many_g = (before, before) if before is not None else _before_range(load)
    bound = reached.pressure_bound_kpa
    lowest = reached.drying_kpa if reached.drying_kpa is not None else STANDARD_ATMOSPHERE_KPA
    heat = load.heat_j_k
    free = spread[3] ** lying.skew
    return _Cases(
        excess=between(0, *EXCESS),
        heat_j_k=between(1, heat * (1 - HEAT_CAPACITY_PART), heat * (1 + HEAT_CAPACITY_PART)),
        start_c=between(2, reached.start_c - ROOM_K, reached.start_c + ROOM_K),
        emissivity=lying.low + (lying.high - lying.low) * free,
        before_g=between(4, few_g, many_g),
        pressure_kpa=np.maximum(between(5, lowest - bound, lowest + bound), 1.0),
        area_m2=POUCH_M2 * max(load.pouches, 1),
    )


def _before_range(load: Load) -> tuple[float, float]:
    """Give the water that may have been left before where nobody said it."""
    pieces = max(load.pouches, 1)
    return BEFORE_G[0] * pieces, BEFORE_G[1] * pieces


def _condensate(cases: _Cases, reached: Reached) -> Array:
    return cases.excess * condensate_g(
        cases.heat_j_k, cases.before_g, start_c=cases.start_c, steam_c=reached.steam_c
    )


def _left(cases: _Cases, reached: Reached) -> Array:
    """Give what is left in each case: after boiling down, less what the wall's heat takes off."""
    water = _condensate(cases, reached) + cases.before_g
    boiled = left_after_flash_g(
        cases.heat_j_k, water, steam_c=reached.steam_c, pressure_kpa=cases.pressure_kpa
    )
    cold = saturation_temperature_c(cases.pressure_kpa)
    heat = wall_heat_w(
        cases.area_m2, emissivity=cases.emissivity, wall_c=reached.steam_c, load_c=cold
    )
    taken = heat * (reached.drying_s or 0.0) / evaporation_heat_kj_kg(cold)
    return np.maximum(boiled - taken, 0.0)


def _left_reading(load: Load, left: Array) -> Reading:
    metal_g = load.metal_g
    limit = None
    if metal_g > 0.0:
        source = "0.2 % of the metal's mass, EN 285 and EN 13060"
        limit = Limit(low=None, high=ALLOWED_PART * metal_g, source=source, basis=Basis.MEMORY)
    said = "left" if load.water_before_g is not None else "left_before_unknown"
    return reading(
        "water_left_g",
        min(float(np.mean(left)), _quantile(left, 0.975)),
        _quantile(left, 0.025),
        _quantile(left, 0.975),
        "g",
        limit=limit,
        why=Message(f"steam_water.{said}"),
    )


def _levers(load: Load, reached: Reached, left: Array) -> tuple[Lever, ...]:
    """Give what each change would save, in their order; those that save nothing are out."""
    as_it_was = _cases(load, reached, _STACKED)
    levers: list[Lever] = []
    if reached.drying_kpa is not None and reached.drying_kpa > GOOD_VACUUM_KPA:
        deeper = replace(reached, drying_kpa=GOOD_VACUUM_KPA)
        change = Message(
            "steam_water.lever.vacuum",
            {"lowest_kpa": reached.drying_kpa, "good_kpa": GOOD_VACUUM_KPA},
        )
        after = _left(_cases(load, deeper, _STACKED), deeper)
        levers.append(_lever("vacuum", change, left - after))
    more_s = MORE_S if reached.missed_s is None else reached.missed_s
    longer = replace(reached, drying_s=(reached.drying_s or 0.0) + more_s)
    word = "time" if reached.missed_s is None else "full_time"
    change = Message(f"steam_water.lever.{word}", {"longer_min": s_to_min(more_s)})
    levers.append(_lever("time", change, left - _left(as_it_was, longer)))
    change = Message("steam_water.lever.load")
    apart = _left(_cases(load, reached, _FREE), reached)
    levers.append(_lever("load", change, left - apart))
    if load.water_before_g != 0.0:
        dried = replace(load, water_before_g=0.0)
        change = Message("steam_water.lever.dry_before")
        after = _left(_cases(dried, reached, _STACKED), reached)
        levers.append(_lever("dry_before", change, left - after))
    in_full = None if reached.missed_s is None else "time"
    useful = [one for one in levers if one.saved_g > 0.0]
    return tuple(sorted(useful, key=lambda one: (one.key != in_full, -one.saved_g)))


def _lever(key: str, change: Message, saved: Array) -> Lever:
    return Lever(
        key,
        change,
        saved_g=float(np.mean(saved)),
        low_g=_quantile(saved, 0.025),
        high_g=_quantile(saved, 0.975),
    )


def _quantile(values: Array, part: float) -> float:
    return float(np.quantile(values, part))
