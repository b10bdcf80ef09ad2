"""What answers to lives and to returns share: ages to print, the thinned curve, reasons."""

from math import floor, log10
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from turnwell.life.summary import Curve
from turnwell.words import Message

__all__ = ["curve_of", "reason_of", "round_ages", "told_by_chance"]

MOST_STEPS = 500
# Rows of a table that a person takes in at once.
_ROWS = 8
_ROUND = (1.0, 2.0, 2.5, 5.0, 10.0)
_LEAST_CHANCE = 0.001


class _Stepped(Protocol):
    """A curve with steps and pointwise limits."""

    @property
    def start(self) -> float: ...
    @property
    def end(self) -> float: ...
    @property
    def time(self) -> NDArray[np.float64]: ...
    @property
    def low(self) -> NDArray[np.float64]: ...
    @property
    def high(self) -> NDArray[np.float64]: ...
    @property
    def at_risk(self) -> NDArray[np.float64]: ...


def curve_of(curve: _Stepped, value: NDArray[np.float64]) -> Curve:
    """Give a curve thinned to `MOST_STEPS` steps, the first and the last among them."""
    count = curve.time.size
    kept = np.arange(count)
    if count > MOST_STEPS:
        kept = np.unique(np.linspace(0, count - 1, MOST_STEPS).round().astype(np.intp))
    return Curve(
        curve.start,
        curve.end,
        curve.time[kept],
        value[kept],
        curve.low[kept],
        curve.high[kept],
        curve.at_risk[kept],
        count,
    )


def round_ages(start: float, end: float) -> list[float]:
    """Give round ages after a start up to an end, at most eight.

    >>> round_ages(0.0, 500.0)
    [100.0, 200.0, 300.0, 400.0, 500.0]
    >>> round_ages(40.0, 173.4)
    [60.0, 80.0, 100.0, 120.0, 140.0, 160.0]
    """
    least = (end - start) / _ROWS
    power = 10.0 ** floor(log10(least))
    step = power * next(part for part in _ROUND if part * power >= least * (1.0 - 1e-9))
    first, last = floor(start / step) + 1, floor(end / step * (1.0 + 1e-12))
    return [float(f"{place * step:.12g}") for place in range(first, last + 1)] or [end]


def reason_of(refusal: str) -> Message:
    """Give a method's refusal as the reason why a reading cannot be told."""
    sentence = refusal[:1].upper() + refusal[1:]
    return Message("life_summary.reason", {"reason": sentence.rstrip(".")})


def told_by_chance(p: float) -> Message:
    """Give a p-value in words.

    >>> from turnwell.words import text_of
    >>> text_of(told_by_chance(0.0362)), text_of(told_by_chance(4e-5))
    ('p = 0.036', 'p below 0.001')
    """
    if p < _LEAST_CHANCE:
        return Message("life_summary.p_below", {"least": _LEAST_CHANCE})
    return Message("life_summary.p_is", {"p": p})
