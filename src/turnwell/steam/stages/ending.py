"""How a run ended: air let in as planned, door opened, power cut."""

from dataclasses import dataclass

import numpy as np

from turnwell.steam.cycle import Cycle
from turnwell.steam.stage import Ending
from turnwell.steam.stages.after import COLLAPSE_S, Descent
from turnwell.steam.stages.plateau import COLDEST_C, Plateau
from turnwell.steam.stages.signals import Signals
from turnwell.units import s_to_min
from turnwell.words import Message

__all__ = ["End", "ending_of", "ending_without_plateau"]

# A valve takes longer than this to fill a chamber, an opened door does not.
STEP_S = 5.0
# Air that a valve lets in takes a minute or two; what takes longer seeps in.
CREEP_S = 300.0
# A step that has a sample in it spreads over two intervals, from a tenth to nine tenths.
STEP_SAMPLES = 1.6
# An opened chamber cools at this rate at least over its first minute.
COLLAPSE_K_PER_S = 0.25
# One that stays shut keeps its warmth within this over so many rows after the inlet.
SHUT_K, SEEN_ROWS = 8.0, 2
# A valve takes about as long at least: rows farther apart may have the whole inlet between them.
VALVE_S = 10.0
# With rows no farther apart than this a vacuum at the end is no inlet about to begin.
FINE_S = 5.0
# A drying is far short of its plan under this share of it.
FAR_SHORT = 0.9
# On its way up: the last row this far above the one before.
RISING_KPA = 3.0
# Steam at 105 °C has 121 kPa; a chamber this far above the atmosphere is under pressure.
PRESSED_KPA = 15.0


@dataclass(frozen=True, slots=True)
class End:
    """The ending and what it was told by."""

    ending: Ending
    why: Message


def ending_of(signals: Signals, plateau: Plateau, descent: Descent | None, cycle: Cycle) -> End:
    """Tell how a run ended."""
    if descent is None:
        return End(Ending.POWER_CUT, Message("steam_stage.ends_in_plateau"))
    if not signals.has_pressure:
        return End(Ending.UNKNOWN, Message("steam_stage.no_pressure"))
    if descent.is_silent:
        fall_min = s_to_min(descent.exhaust_stop_s - plateau.stop_s)
        return End(Ending.POWER_CUT, Message("steam_stage.silent", {"fall_min": fall_min}))
    if not descent.reaches_atmosphere:
        if descent.has_vacuum:
            return _in_vacuum(signals, descent, cycle.dry_s)
        kpa = float(signals.pressure_kpa[-1])
        return End(Ending.POWER_CUT, Message("steam_stage.ends_away", {"pressure_kpa": kpa}))
    return _at_atmosphere(signals, descent)


def ending_without_plateau(signals: Signals | None) -> End | None:
    """Tell a record that heats up and ends hot and under pressure; None for any other."""
    if signals is None or not signals.has_pressure or signals.temperature_c[0] >= COLDEST_C:
        return None
    kpa = float(signals.pressure_kpa[-1])
    is_pressed = kpa >= signals.atmosphere_kpa + PRESSED_KPA
    if not is_pressed or signals.temperature_c[-1] < COLDEST_C:
        return None
    return End(Ending.POWER_CUT, Message("steam_stage.ends_away", {"pressure_kpa": kpa}))


def _in_vacuum(signals: Signals, descent: Descent, dry_s: float | None) -> End:
    """Tell a record that ends in the drying vacuum: cut off, or its inlet fell behind the last row.

    A cut needs rows close enough to show an inlet, none on the way up, and a drying far short of
    its plan; where the plan is silent, rows closer still.
    """
    pressure = signals.pressure_kpa
    drying_s = float(signals.time_s[-1]) - descent.exhaust_stop_s
    params = {
        "pressure_kpa": float(pressure[-1]),
        "drying_min": s_to_min(drying_s),
    }
    rising = float(pressure[-1] - np.min(pressure[-3:]))
    is_rising = rising >= max(RISING_KPA, 4.0 * signals.noise_kpa)
    closest_s = FINE_S if dry_s is None else VALVE_S
    is_done = dry_s is not None and drying_s >= FAR_SHORT * dry_s
    if is_rising or is_done or signals.interval_s > closest_s:
        return End(Ending.UNKNOWN, Message("steam_stage.ends_in_vacuum", params))
    return End(Ending.POWER_CUT, Message("steam_stage.cut_in_vacuum", params))


def _at_atmosphere(signals: Signals, descent: Descent) -> End:
    """Tell how the chamber came to the atmosphere, or was opened at it."""
    if not descent.has_vacuum:
        if descent.drying_stop_s is not None:
            return End(Ending.DOOR, Message("steam_stage.opened_warm"))
        return End(Ending.UNKNOWN, Message("steam_stage.ends_at_rest"))
    rise_s = descent.inlet_rise_s or 0.0
    if rise_s > CREEP_S:
        return End(Ending.UNKNOWN, Message("steam_stage.crept", {"rise_min": s_to_min(rise_s)}))
    collapses = descent.collapse_k_per_s >= COLLAPSE_K_PER_S
    params = {"rise_s": rise_s, "fall_k": COLLAPSE_S * descent.collapse_k_per_s}
    # A coarse record stretches a step over its intervals; the fall of temperature then decides.
    may_be_step = rise_s <= STEP_SAMPLES * signals.interval_s
    if rise_s <= STEP_S or (may_be_step and collapses):
        return End(Ending.DOOR, Message("steam_stage.step", params))
    if may_be_step and signals.interval_s > VALVE_S and not _stays_shut(signals, descent):
        return End(Ending.UNKNOWN, Message("steam_stage.step_or_ramp", params))
    return End(Ending.AIR_INLET, Message("steam_stage.ramp", params))


def _stays_shut(signals: Signals, descent: Descent) -> bool:
    """Whether rows after the inlet show a chamber that keeps its warmth."""
    if descent.drying_stop_s is None or descent.inlet_stop_s is None:
        return False
    last = int(np.searchsorted(signals.time_s, descent.drying_stop_s, side="right")) - 1
    after = signals.temperature_c[signals.time_s > descent.inlet_stop_s][:SEEN_ROWS]
    if after.size < SEEN_ROWS:
        return False
    return bool(signals.temperature_c[last] - np.min(after) <= SHUT_K)
