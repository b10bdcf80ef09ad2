"""Air, superheat or a sensor offset: one difference, told apart by how it goes through the run.

| cause | while holding | at the pulses' tops and while venting |
| --- | --- | --- |
| temperature sensor off | any sign | the same difference |
| pressure off, wrong atmosphere | any sign | the difference times the ratio of dTsat/dp |
| air | below zero | fades from pulse to pulse; few or shallow pulses leave it |
| superheat | above zero | none |
"""

import numpy as np

from turnwell.steam.fault import Fault, FaultKey
from turnwell.steam.faults.signs import MIXING, Signs
from turnwell.steam.quality import Stretch, StretchKind, rows_of
from turnwell.steam.stage import StageKind, Sure
from turnwell.steam.water import saturation_temperature_c
from turnwell.words import Message, Param

__all__ = ["is_everywhere", "pressure_offset", "saturation_fault"]

# Beyond what the sensors' bounds explain: noise, lag of the sensor, differing formulas.
MARGIN_K = 0.3
# Two stretches agree when they differ by less than this, or by this share of the difference.
AGREE_K, AGREE_SHARE = 0.8, 0.35
# Superheat is made while holding; at a top there is none, however slow the sensor.
HOT_SHARE = 0.5
# A top's own difference is at least this of an offset; where only the air left by ideal mixing
# makes up for it, as at a single top, the heating decides: from 60 kPa over the first third of the
# way to the plateau's pressure.
TOP_SHARE, EARLY_KPA, EARLY_SHARE = 0.25, 60.0, 1.0 / 3.0
# A pressure sensor at rest is off when it differs by more than weather and its bound explain.
WEATHER_KPA = 4.0
# The limit between measured and saturated temperature; beyond it with the margin a fault is clear.
CLEAR_K = 2.0


def saturation_fault(signs: Signs) -> Fault | None:
    """Give the one fault that explains the difference while holding; None where none is needed."""
    plateau = signs.plateau
    if plateau is None or abs(plateau.median_k) <= _explained_k(signs, plateau):
        return None
    if is_everywhere(signs, plateau):
        return _temperature_offset(signs, plateau)
    return _superheat(signs, plateau) if plateau.median_k > 0.0 else _air(signs, plateau)


def _explained_k(signs: Signs, stretch: Stretch) -> float:
    """Give the difference that sensors within their bounds, rounding and noise can explain."""
    sensors = signs.sensors
    return (
        sensors.temperature_k
        + sensors.pressure_kpa * stretch.slope_k_per_kpa
        + signs.step_k / 2.0
        + MARGIN_K
    )


def is_everywhere(signs: Signs, plateau: Stretch) -> bool:
    """Say whether the plateau's difference stands in the other saturated stretches, too."""
    tops, venting = _tops(signs), _venting(signs)
    if not tops:
        # Venting is slow, so nothing lags; air would be twice as large there, by dTsat/dp.
        near = max(AGREE_K, AGREE_SHARE * abs(plateau.median_k))
        return bool(venting) and all(abs(one - plateau.median_k) <= near for one in venting)
    if plateau.median_k > 0.0:
        if not all(top >= HOT_SHARE * plateau.median_k for top in tops):
            return False
        shown = all(top.median_k >= TOP_SHARE * plateau.median_k for top in signs.pulse_tops[-1:])
        return shown or _early_k(signs) >= HOT_SHARE * plateau.median_k
    # A lagging sensor may make it larger at a top, not smaller.
    near = max(AGREE_K, AGREE_SHARE * -plateau.median_k)
    if not all(top <= plateau.median_k + near for top in tops):
        return False
    # Air lies below zero in every stretch, too; it is ruled out only by vacua that leave none.
    return MIXING * signs.left_air_kpa() < -plateau.median_k / plateau.slope_k_per_kpa


def _tops(signs: Signs) -> tuple[float, ...]:
    """Difference at the last pulse's top, less what the air left there by ideal mixing makes."""
    return tuple(
        top.median_k + signs.left_air_kpa(top.start_s) * top.slope_k_per_kpa
        for top in signs.pulse_tops[-1:]
    )


def _early_k(signs: Signs) -> float:
    """Difference early in the heating, where there is little air left and no superheat yet."""
    heating = signs.course.stage(StageKind.HEATING)
    if heating is None:
        return 0.0
    rows = rows_of(signs.record, heating.start_s, heating.stop_s)
    pressure = signs.pressure_kpa[rows]
    top_kpa = EARLY_KPA if signs.plateau is None else signs.plateau.pressure_kpa
    high_kpa = EARLY_KPA + EARLY_SHARE * (top_kpa - EARLY_KPA)
    with np.errstate(invalid="ignore"):
        early = (pressure >= EARLY_KPA) & (pressure <= high_kpa)
    over = signs.temperature_c[rows][early] - saturation_temperature_c(pressure[early])
    over = over[np.isfinite(over)]
    return float(np.median(over)) if over.size else 0.0


def _venting(signs: Signs) -> tuple[float, ...]:
    """Give the difference late in the venting: a rest of pressure at about the atmosphere."""
    venting = next((one for one in signs.stretches if one.kind is StretchKind.VENTING), None)
    return () if venting is None else (venting.median_k,)


def _comparable(signs: Signs) -> tuple[float, ...]:
    """Differences in which a sensor's offset shows and superheat does not."""
    return _tops(signs) or _venting(signs)


def pressure_offset(signs: Signs) -> Fault | None:
    """Find a pressure that is off at rest by as much as the difference while holding asks for."""
    plateau, rest = signs.plateau, _rest_kpa(signs)
    if plateau is None or rest is None or abs(plateau.median_k) <= MARGIN_K:
        return None
    off_kpa = rest - signs.record.atmosphere_kpa
    if abs(off_kpa) <= WEATHER_KPA + signs.sensors.pressure_kpa:
        return None
    expected_k = -off_kpa * plateau.slope_k_per_kpa
    if abs(expected_k - plateau.median_k) > max(AGREE_K, AGREE_SHARE * abs(plateau.median_k)):
        return None
    params: dict[str, Param] = {
        "off_kpa": off_kpa,
        "rest_kpa": rest,
        "atmosphere_kpa": signs.record.atmosphere_kpa,
        "difference_k": plateau.median_k,
    }
    return Fault(
        FaultKey.SENSOR_OFFSET,
        Message("steam_fault.pressure_offset", params),
        Sure.LIKELY,
        plateau.start_s,
        plateau.stop_s,
    )


def _rest_kpa(signs: Signs) -> float | None:
    """Give the pressure before the run, where it stands still; None where it does not."""
    first = signs.pressure_kpa[: max(2, round(15.0 / signs.record.interval_s))]
    first = first[np.isfinite(first)]
    if first.size < 2 or float(np.ptp(first)) > 1.0:
        return None
    return float(np.median(first))


def _temperature_offset(signs: Signs, plateau: Stretch) -> Fault:
    others = _comparable(signs)
    params: dict[str, Param] = {
        "difference_k": plateau.median_k,
        "elsewhere_k": others[-1],
        "boiling_c": saturation_temperature_c(plateau.pressure_kpa),
    }
    return _fault(
        FaultKey.SENSOR_OFFSET, Message("steam_fault.temperature_offset", params), signs, plateau
    )


def _superheat(signs: Signs, plateau: Stretch) -> Fault:
    others = _comparable(signs)
    params: dict[str, Param] = {"difference_k": plateau.median_k}
    key = "steam_fault.superheat_alone"
    if others:
        key = "steam_fault.superheat"
        params["elsewhere_k"] = others[-1]
    return _fault(FaultKey.SUPERHEAT, Message(key, params), signs, plateau, is_sure=bool(others))


def _air(signs: Signs, plateau: Stretch) -> Fault:
    """Air, in its two kinds: the pressure is high at a right temperature, or the heat is low."""
    lows = [pulse.low_kpa for pulse in signs.course.pulses]
    set_c, rows = signs.cycle.set_c, signs.holding
    held_c = float(np.nanmedian(signs.temperature_c[rows])) if rows is not None else 0.0
    is_cold = set_c is not None and held_c < set_c - signs.sensors.temperature_k
    params: dict[str, Param] = {
        "air_kpa": -plateau.median_k / plateau.slope_k_per_kpa,
        "difference_k": -plateau.median_k,
        "held_c": held_c,
        "pressure_kpa": plateau.pressure_kpa,
        "removal": Message(
            "steam_fault.pulses" if lows else "steam_fault.no_pulses",
            {"count": len(lows), "low_kpa": min(lows)} if lows else {},
        ),
    }
    if is_cold and set_c is not None:
        params["under_k"] = set_c - held_c
    kind = "steam_fault.air_by_pressure" if is_cold else "steam_fault.air_by_temperature"
    return _fault(FaultKey.AIR_NOT_REMOVED, Message(kind, params), signs, plateau)


def _fault(
    key: FaultKey, evidence: Message, signs: Signs, plateau: Stretch, *, is_sure: bool = True
) -> Fault:
    clear = abs(plateau.median_k) >= CLEAR_K + signs.step_k / 2.0
    sure = Sure.CLEAR if clear and is_sure else Sure.LIKELY
    return Fault(key, evidence, sure, plateau.start_s, plateau.stop_s)
