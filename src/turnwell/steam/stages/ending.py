"""How a run ended: air let in as planned, door opened, power cut."""

from dataclasses import dataclass

from turnwell.steam.stage import Ending
from turnwell.steam.stages.after import Descent
from turnwell.steam.stages.plateau import Plateau
from turnwell.steam.stages.signals import Signals
from turnwell.words import Message

__all__ = ["End", "ending_of"]

# A valve takes longer than this to fill a chamber, an opened door does not.
STEP_S = 5.0
# Air that a valve lets in takes a minute or two; what takes longer seeps in.
CREEP_S = 300.0
# A step that has a sample in it spreads over two intervals, from a tenth to nine tenths.
STEP_SAMPLES = 1.6
# An opened chamber cools at this rate at least over its first minute.
COLLAPSE_K_PER_S = 0.25


@dataclass(frozen=True, slots=True)
class End:
    """The ending and what it was told by."""

    ending: Ending
    why: Message


def ending_of(signals: Signals, plateau: Plateau, descent: Descent | None) -> End:
    """Tell how a run ended."""
    if descent is None:
        return End(Ending.POWER_CUT, Message("steam_stage.ends_in_plateau"))
    if not signals.has_pressure:
        return End(Ending.UNKNOWN, Message("steam_stage.no_pressure"))
    if descent.is_silent:
        minutes = (descent.exhaust_stop_s - plateau.stop_s) / 60.0
        return End(Ending.POWER_CUT, Message("steam_stage.silent", {"minutes": minutes}))
    if not descent.reaches_atmosphere:
        kpa = float(signals.pressure_kpa[-1])
        return End(Ending.POWER_CUT, Message("steam_stage.ends_away", {"pressure": kpa}))
    return _at_atmosphere(signals, descent)


def _at_atmosphere(signals: Signals, descent: Descent) -> End:
    """Tell how the chamber came to the atmosphere, or was opened at it."""
    if not descent.has_vacuum:
        if descent.drying_stop_s is not None:
            return End(Ending.DOOR, Message("steam_stage.opened_warm"))
        return End(Ending.UNKNOWN, Message("steam_stage.ends_at_rest"))
    rise_s = descent.inlet_rise_s or 0.0
    if rise_s > CREEP_S:
        return End(Ending.UNKNOWN, Message("steam_stage.crept", {"minutes": rise_s / 60.0}))
    collapses = descent.collapse_k_per_s >= COLLAPSE_K_PER_S
    params = {"rise": rise_s, "fall": 60.0 * descent.collapse_k_per_s}
    # A coarse record stretches a step over its intervals; the fall of temperature then decides.
    if rise_s <= STEP_S or (rise_s <= STEP_SAMPLES * signals.interval_s and collapses):
        return End(Ending.DOOR, Message("steam_stage.step", params))
    return End(Ending.AIR_INLET, Message("steam_stage.ramp", params))
