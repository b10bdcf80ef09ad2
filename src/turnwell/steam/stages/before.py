"""What comes before the plateau: rest, air removal with its pulses, heating."""

from dataclasses import dataclass

import numpy as np

from turnwell.steam.stage import Pulse
from turnwell.steam.stages.foot import foot_s
from turnwell.steam.stages.signals import Signals
from turnwell.steam.stages.turning import Turn, turns_of

__all__ = ["Approach", "approach_of"]

# A vacuum is this far under the atmosphere at least, a pulse of pressure this far above it: an
# open vent over boiling water keeps within about 10 kPa.
DEEP_PART = 0.08
DEEP_KPA = 6.0
PULSE_KPA = 20.0
# Lows and highs nearer than this are ripple.
SWING_KPA = 5.0
# The rise that ends the last vacuum is followed over this much: steam comes in slower at first.
RISEN_KPA = 30.0
# Warming is not followed back for longer than this.
MOST_LEAD_S = 15.0


@dataclass(frozen=True, slots=True)
class Approach:
    """The way to the plateau.

    Parameters
    ----------
    removal_start_s, heating_start_s : float or None
        None where no air-removal pulse is seen; heating then begins when the chamber leaves rest.
    pulses : tuple of Pulse
    """

    removal_start_s: float | None
    heating_start_s: float
    pulses: tuple[Pulse, ...]


def approach_of(signals: Signals, plateau_start: int) -> Approach:
    """Find pulses and heating before a sample, that at which the plateau begins."""
    pressure = signals.pressure_kpa[: plateau_start + 1]
    swing = max(SWING_KPA, 8.0 * signals.noise_kpa)
    rest = signals.atmosphere_kpa
    turns = turns_of(pressure, swing) if signals.has_pressure else ()
    lows = [turn for turn in turns if turn.is_low and 0 < turn.index < plateau_start]
    deep = rest - max(DEEP_PART * rest, DEEP_KPA, 6.0 * signals.noise_kpa)
    highs = [turn for turn in turns if not turn.is_low and turn.index < plateau_start]
    vacua = [turn for turn in lows if turn.value <= deep]
    # A pulse of pressure is let off again; the rise to the plateau is none.
    last = lows[-1].index if lows else 0
    pushes = [turn for turn in highs if turn.value >= rest + PULSE_KPA and turn.index < last]
    # Heating may pause and sag on its way; it began at a low below half of what was reached.
    half = rest + 0.5 * max([turn.value - rest for turn in pushes], default=0.0)
    last_low = next((turn for turn in reversed(lows) if turn.value <= half), None)
    if last_low is None or not (vacua or pushes):
        return Approach(None, _leaves_rest_s(signals, plateau_start), ())
    pulses = _pulses(signals, turns, vacua, pushes, plateau_start)
    end_s = _leaves_low_s(signals, last_low, plateau_start)
    first = min([*vacua, *pushes], key=lambda turn: turn.index)
    return Approach(_begins_s(signals, turns, first), end_s, pulses)


def _pulses(
    signals: Signals,
    turns: tuple[Turn, ...],
    vacua: list[Turn],
    pushes: list[Turn],
    plateau_start: int,
) -> tuple[Pulse, ...]:
    """Pair every low with the high that follows; pulses of pressure alone with the low after."""
    pairs: list[tuple[int, int]] = []
    for low in vacua:
        later = [turn.index for turn in turns if not turn.is_low and turn.index > low.index]
        pairs.append((low.index, min([*later[:1], plateau_start])))
    for push in pushes if not vacua else ():
        earlier = [turn.index for turn in turns if turn.is_low and turn.index < push.index]
        pairs.append((earlier[-1] if earlier else 0, push.index))
    return tuple(
        Pulse(
            low_s=float(signals.time_s[low]),
            low_kpa=float(np.min(signals.logged_kpa[_about(low)])),
            high_s=float(signals.time_s[high]),
            high_kpa=float(signals.pressure_kpa[high]),
        )
        for low, high in pairs
    )


def _about(index: int) -> slice:
    """Give a sample and its neighbours: of a sharp turn the smoothed curve lacks the tip."""
    return slice(max(index - 1, 0), index + 2)


def _leaves_low_s(signals: Signals, low: Turn, plateau_start: int) -> float:
    """Give when the pressure begins to rise from the last low: where it was kept, its end."""
    ahead = signals.pressure_kpa[low.index : plateau_start + 1]
    risen = np.flatnonzero(ahead > low.value + max(RISEN_KPA, 8.0 * signals.noise_kpa))
    if not risen.size:
        return float(signals.time_s[low.index])
    return foot_s(signals, low.index, low.index + int(risen[0]))


def _begins_s(signals: Signals, turns: tuple[Turn, ...], first: Turn) -> float:
    """Give when the pressure leaves the level it had before its first low or high."""
    pressure = signals.pressure_kpa[: first.index + 1]
    starts = [turn for turn in turns if turn.index < first.index]
    begin = starts[-1].index if starts else 0
    level = float(np.median(pressure[: max(begin, 0) + 1]))
    tolerance = max(3.0 * signals.noise_kpa, 1.0)
    at_rest = np.flatnonzero(np.abs(pressure - level) <= tolerance)
    # Only the stretch before the last move counts: the level may be passed again on the way.
    at_rest = at_rest[at_rest <= first.index]
    return float(signals.time_s[int(at_rest[-1])]) if at_rest.size else 0.0


def _leaves_rest_s(signals: Signals, plateau_start: int) -> float:
    """Give when the chamber begins to warm or its pressure to rise; the start where it always does.

    The temperature is held against the coldest it was, within its noise.
    """
    warm = signals.temperature_c[: plateau_start + 1]
    tolerance = max(4.0 * signals.noise_k, 1.0)
    coldest = int(np.argmin(warm))
    still = np.flatnonzero(warm[coldest:] <= warm[coldest] + tolerance)
    last = coldest + int(still[-1])
    if last == 0:
        return float(signals.time_s[0])
    # It left the coldest before it was seen to: as long before as it takes for the same again.
    later = np.flatnonzero(warm[last:] >= warm[coldest] + 2.0 * tolerance)
    seen_s = float(signals.time_s[last])
    lead_s = float(signals.time_s[last + int(later[0])]) - seen_s if later.size else 0.0
    return max(seen_s - min(lead_s, MOST_LEAD_S), float(signals.time_s[0]))
