"""Whether a stretch of records changed at once or slowly, and how fast.

References
----------
Slope: [THEIL1950], its interval [SEN1968]. Step or drift: [SCHWARZ1978], with the difference of 6
that [KASS1995] calls strong.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from math import log, sqrt

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.months.confidence import NORMAL_95
from turnwell.steam.months.level_shift import (
    FEWEST_VALUES,
    Level,
    level_of,
    memory_of,
    shift_in,
    spread_of,
)

__all__ = ["ChangeKind", "Drift", "drift_of", "kind_of", "slope_of"]

Floats = NDArray[np.float64]

DAYS_A_MONTH = 365.25 / 12.0
_STRONG = 6.0  # difference of two information criteria, [KASS1995]
_STEP_COST, _LINE_COST = 3.0, 2.0  # parameters: a level and a place, which counts as two
_MOST_BLOCKS = 400
_CLIP_SD = 2.5


class ChangeKind(StrEnum):
    """How a reading changed."""

    STEP = "step"
    DRIFT = "drift"
    UNDECIDED = "step or drift"


@dataclass(frozen=True, slots=True)
class Drift:
    """A line through a stretch: where it begins and ends, and what lies between."""

    before: Level
    after: Level
    moved: Level


def kind_of(days: Floats, values: Floats, *, false_alarm: float) -> ChangeKind:
    """Tell steps from a drift by the information that each leaves over.

    Parameters
    ----------
    days, values : array, shape (n,)
        A stretch in which the level changes.
    false_alarm : float
        For each further step that is looked for in it.
    """
    line = values - slope_of(days, values).value / DAYS_A_MONTH * days
    line = line - np.median(line)
    parts = list(_parts(values, false_alarm))
    step = np.concatenate([part - np.median(part) for part in parts])
    cost = 1.0 + _STEP_COST * (len(parts) - 1) - _LINE_COST
    spreads = spread_of(line), spread_of(step)
    reach = _CLIP_SD * (min(spreads) or max(spreads))
    count = values.size
    least = 1e-12 * float(np.var(values))
    powers = [
        max(float(np.mean(np.clip(residuals, -reach, reach) ** 2)), least)
        for residuals in (step, line)
    ]
    memory = memory_of(step if powers[0] <= powers[1] else line)
    ahead = count / memory * log(powers[1] / powers[0]) - cost * log(count)
    if abs(ahead) < _STRONG:
        return ChangeKind.UNDECIDED
    return ChangeKind.STEP if ahead > 0.0 else ChangeKind.DRIFT


def _parts(values: Floats, false_alarm: float) -> Iterator[Floats]:
    """Cut a stretch wherever its level changes."""
    shift = shift_in(values) if values.size >= FEWEST_VALUES else None
    if shift is None or shift.chance > false_alarm:
        yield values
        return
    yield from _parts(values[: shift.index], false_alarm)
    yield from _parts(values[shift.index :], false_alarm)


def slope_of(days: Floats, values: Floats) -> Level:
    """Give the median slope between all pairs of records, in units a month, with its interval.

    Parameters
    ----------
    days : array, shape (n,)
        Never falling.
    values : array, shape (n,)
    """
    of = values.size
    if values.size > _MOST_BLOCKS:
        blocks = np.array_split(np.arange(values.size), _MOST_BLOCKS)
        days = np.array([np.median(days[block]) for block in blocks])
        values = np.array([np.median(values[block]) for block in blocks])
    first, second = np.triu_indices(values.size, 1)
    apart = days[second] - days[first]
    slopes = (values[second] - values[first])[apart > 0.0] / apart[apart > 0.0]
    if slopes.size == 0:
        return Level(0.0, 0.0, 0.0, of)
    middle = float(np.median(slopes))
    memory = memory_of(values - middle * days - np.median(values - middle * days))
    count = values.size
    pairs = count * (count - 1) / 2.0
    half = NORMAL_95 * sqrt(memory * count * (count - 1) * (2 * count + 5) / 18.0) / (2.0 * pairs)
    low, high = np.quantile(slopes, [max(0.5 - half, 0.0), min(0.5 + half, 1.0)])
    months = DAYS_A_MONTH
    return Level(middle * months, float(low) * months, float(high) * months, of)


def drift_of(days: Floats, values: Floats, slope: Level) -> Drift:
    """Give the line's value at both ends of a stretch, and what lies between them."""
    per_day = slope.value / DAYS_A_MONTH
    past = days - days[0]
    start_level = level_of(values - per_day * past)
    months = float(past[-1]) / DAYS_A_MONTH
    moved = Level(slope.value * months, slope.low * months, slope.high * months, slope.count)
    stop_level = Level(
        start_level.value + moved.value,
        start_level.low + moved.value,
        start_level.high + moved.value,
        start_level.count,
    )
    return Drift(start_level, stop_level, moved)
