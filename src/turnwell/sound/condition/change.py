"""The change from one value to another with its 95 % interval, and whether it is shown.

The ends of the interval of a difference are recovered from the ends of both intervals, each side
by itself, so that a lopsided interval stays lopsided. Speeds are different: what is left open in
them is mostly the clock of the recorder, whose error is rectangular, and two rectangular errors
reach farther than their squares say.

References
----------
Difference of two values by the ends of their intervals: [ZOU2008].
"""

from dataclasses import dataclass
from enum import StrEnum
from math import hypot
from typing import Any

from turnwell.measure import Budget, Part, common_error
from turnwell.sound.quantity import Quantity
from turnwell.sound.speed.readings import half_width
from turnwell.words import Message, text_of

__all__ = ["Change", "ChangeVerdict", "difference", "speed_difference", "verdict_on_change"]

# The sum of two errors, each rectangular within ± b, lies within ± 2 b (1 - sqrt 0.05) in 95 % of
# cases, as one rectangular within ± 1.635 b does: 2 (1 - sqrt 0.05) / 0.95.
_TWO_CLOCKS = 1.635
# How far one recorder's clock strays between two days of different warmth. From memory.
_SAME_CLOCK_PPM = 10.0
_NORMAL = 1.959964


class ChangeVerdict(StrEnum):
    """Whether a change is shown; always shown as this word."""

    ROSE = "rose"
    FELL = "fell"
    NOT_SHOWN = "no change shown"
    CANNOT_TELL = "cannot tell"

    @property
    def key(self) -> str:
        """The word as an identifier, for message keys."""
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Change:
    """One reading before and after.

    Parameters
    ----------
    key : str
        Of the reading.
    name : Message
    unit : str
    before, after, change : Quantity or None
        In `unit`; None where they cannot be told.
    verdict : ChangeVerdict
    why : Message
        One sentence that says so.
    """

    key: str
    name: Message
    unit: str
    before: Quantity | None
    after: Quantity | None
    change: Quantity | None
    verdict: ChangeVerdict
    why: Message

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the change as JSON values."""
        return {
            "key": self.key,
            "name": text_of(self.name, language),
            "unit": self.unit,
            "before": None if self.before is None else self.before.as_dict(),
            "after": None if self.after is None else self.after.as_dict(),
            "change": None if self.change is None else self.change.as_dict(),
            "verdict": self.verdict.value,
            "why": text_of(self.why, language),
        }


def difference(before: Quantity, after: Quantity) -> Quantity:
    """Give after minus before, its interval from the ends of both.

    >>> change = difference(Quantity(10.0, 7.0, 11.0), Quantity(20.0, 16.0, 23.0))
    >>> change.value, round(change.low, 3), round(change.high, 3)
    (10.0, 5.877, 14.243)
    """
    value = after.value - before.value
    return Quantity(
        value=value,
        low=value - hypot(after.value - after.low, before.high - before.value),
        high=value + hypot(after.high - after.value, before.value - before.low),
    )


def speed_difference(
    before: Quantity, after: Quantity, *, clock_ppm: float, same_recorder: bool
) -> Quantity:
    """Give the change of a speed, the clocks of the recorders held apart from the rest.

    Parameters
    ----------
    before, after : Quantity
        Intervals hold a rectangular clock error of ± `clock_ppm` each.
    same_recorder : bool
        True where both were made with the same recorder: its clock's error is then the same, but
        for what warmth moves it.

    Examples
    --------
    >>> before = Quantity(400_000.0, 399_962.0, 400_038.0)
    >>> apart = speed_difference(before, before, clock_ppm=100.0, same_recorder=False)
    >>> same = speed_difference(before, before, clock_ppm=100.0, same_recorder=True)
    >>> round(apart.high), round(same.high)
    (62, 4)
    """
    bound = 0.5e-6 * clock_ppm * (before.value + after.value)
    own = hypot(_own_standard(before, clock_ppm), _own_standard(after, clock_ppm))
    left = min(bound * _SAME_CLOCK_PPM / clock_ppm, bound) if clock_ppm > 0.0 else 0.0
    clock = left if same_recorder else _TWO_CLOCKS * bound
    half = half_width(Budget(0.0, (Part("estimate", own), common_error(clock, key="clock"))))
    value = after.value - before.value
    return Quantity(value, value - half, value + half)


def _own_standard(speed: Quantity, clock_ppm: float) -> float:
    """Find the standard uncertainty that, with the clock's, gives the interval of a speed."""
    half = max(speed.high - speed.value, speed.value - speed.low)
    clock = common_error(speed.value * clock_ppm * 1e-6, key="clock")
    # An interval narrower than the clock's error alone holds none; then all of it is its own.
    if half_width(Budget(0.0, (clock,))) > half * (1.0 + 1e-3):
        return half / _NORMAL
    low, high = 0.0, half
    for _ in range(40):
        middle = 0.5 * (low + high)
        wide = half_width(Budget(0.0, (Part("estimate", middle), clock))) > half
        low, high = (low, middle) if wide else (middle, high)
    return high


def verdict_on_change(change: Quantity) -> ChangeVerdict:
    """Decide whether a change is shown: the whole interval lies on one side of zero.

    >>> verdict_on_change(Quantity(2.0, 0.5, 3.5)).value
    'rose'
    """
    if change.low > 0.0:
        return ChangeVerdict.ROSE
    if change.high < 0.0:
        return ChangeVerdict.FELL
    return ChangeVerdict.NOT_SHOWN
