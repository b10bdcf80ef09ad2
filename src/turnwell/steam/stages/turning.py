"""Turning points of a pressure curve: lows and highs that differ by more than a given swing."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Turn", "turns_of"]


@dataclass(frozen=True, slots=True)
class Turn:
    """A low or a high of a curve.

    Parameters
    ----------
    index : int
        Of the sample.
    value : float
    is_low : bool
    """

    index: int
    value: float
    is_low: bool


def turns_of(values: NDArray[np.float64], swing: float) -> tuple[Turn, ...]:
    """Find the lows and highs, in turn, between which a curve moves by `swing` at least.

    The first and the last sample are turns where the curve leaves or reaches them by as much.

    Parameters
    ----------
    values : array, shape (n,)
        Finite.
    swing : float
        > 0.

    Examples
    --------
    >>> [turn.index for turn in turns_of(np.array([5.0, 1.0, 1.2, 9.0, 8.8, 3.0]), 2.0)]
    [0, 1, 3, 5]
    """
    curve = values.tolist()
    turns: list[Turn] = []
    low = high = 0
    direction = 0
    for index, value in enumerate(curve):
        if value < curve[low]:
            low = index
        if value > curve[high]:
            high = index
        if direction >= 0 and value <= curve[high] - swing:
            turns.append(Turn(high, curve[high], is_low=False))
            direction, low = -1, index
            high = index
        elif direction <= 0 and value >= curve[low] + swing:
            turns.append(Turn(low, curve[low], is_low=True))
            direction, high = 1, index
            low = index
    if direction:
        last = low if direction < 0 else high
        turns.append(Turn(last, curve[last], is_low=direction < 0))
    return tuple(turns)
