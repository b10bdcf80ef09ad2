"""Where a curve leaves its level: the foot of a rise, or the shoulder of a fall."""

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.stages.signals import Signals

__all__ = ["foot_s"]

# The move's own pace is taken between these parts of it: clear of its rounded ends.
EARLY_PART = 0.2
LATE_PART = 0.5
# The level before a move is the median of this long before it.
LEVEL_S = 30.0
LEVEL_SAMPLES = 5
# The move has begun beyond this many standard deviations of a sample, or this part of the move.
BEYOND_NOISE = 3.0
BEYOND_PART = 0.02
# Or beyond what the control's ripple made of the level, up to this part of the move.
RIPPLE_SHARE = 0.95
RIPPLE_PART = 0.05


def foot_s(signals: Signals, first: int, last: int, level_kpa: float | None = None) -> float:
    """Give when the pressure leaves the level it has at `first` for that at `last`, for good.

    The pace between a fifth and half of the move is followed back to the level before it: one
    noisy sample decides nothing, and a level that creeps, as by a leak, is followed, too.

    Parameters
    ----------
    signals : Signals
    first, last : int
        Samples before and after the move, first < last.
    level_kpa : float or None
        What it has before the move, where the first sample may stand out of it.
    """
    time_s, pressure = signals.time_s, signals.pressure_kpa
    span = pressure[first : last + 1]
    level = float(span[0]) if level_kpa is None else level_kpa
    move = float(span[-1]) - level
    if move == 0.0:
        return float(time_s[first])
    way = (span - level) / move
    middle = _last_under(way, LATE_PART)
    early = _last_under(way[: middle + 1], EARLY_PART)
    late_s = signals.crossing_s(pressure, first + middle + 1, level + LATE_PART * move)
    early_s = signals.crossing_s(pressure, first + early + 1, level + EARLY_PART * move)
    pace = (LATE_PART - EARLY_PART) * move / max(late_s - early_s, 1e-3)
    guess_s = early_s - EARLY_PART * move / pace
    back_s = max(LEVEL_S, LEVEL_SAMPLES * signals.interval_s)
    at_s = time_s[first : last + 1]
    before = span[(at_s >= guess_s - back_s) & (at_s <= guess_s)]
    level = float(np.median(before)) if before.size else level
    rises = 1.0 if move > 0.0 else -1.0
    ripple = float(np.quantile((before - level) * rises, RIPPLE_SHARE)) if before.size else 0.0
    beyond = max(
        BEYOND_NOISE * signals.noise_kpa,
        BEYOND_PART * abs(move),
        min(ripple, RIPPLE_PART * abs(move)),
    )
    gone = (span[: middle + 1] - level) * rises > beyond
    leaving = int(np.flatnonzero(~gone)[-1]) if np.any(~gone) else 0
    crossed_s = signals.crossing_s(pressure, first + leaving + 1, level + rises * beyond)
    return float(np.clip(crossed_s - beyond / abs(pace), time_s[first], late_s))


def _last_under(way: NDArray[np.float64], part: float) -> int:
    """Give the last sample that has come less than a part of the way, never the very last."""
    under = np.flatnonzero(way[:-1] < part)
    return int(under[-1]) if under.size else 0
