"""How often drying is cut short before a date, and from it on.

References
----------
Interval of a difference: [NEWCOMBE1998], method 10. Comparison of two counts: [FISHER1934].
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from math import sqrt
from typing import Any

from turnwell.measure import Reading, cannot_tell, reading
from turnwell.steam.months.chance import chance_of_unlike
from turnwell.steam.months.share import PERCENT, DryingRun, Share, share_of_runs
from turnwell.words import Message

__all__ = ["FEWEST_RUNS", "Turn", "turn_at"]

# Fewer on either side and not even all against none is rarer than one in twenty.
FEWEST_RUNS = 4
# A share of 40 % that becomes 16 % falls by 24 of these, not by 24 %.
POINTS = "percentage points"


@dataclass(frozen=True, slots=True)
class Turn:
    """The share before a date and from it on.

    Parameters
    ----------
    at : date
        The first day after the change.
    before, after : Share
    difference : Reading
        After less before, in percentage points.
    chance : float
        Of counts at least as unlike where nothing changed, by Fisher's exact test.
    """

    at: date
    before: Share
    after: Share
    difference: Reading
    chance: float

    @property
    def is_shown(self) -> bool:
        """True where the interval of the difference leaves 0 out."""
        low, high = self.difference.low, self.difference.high
        return low is not None and high is not None and not low <= 0.0 <= high

    @property
    def sentence(self) -> Message:
        """What it comes to."""
        return self.difference.why

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the turn as JSON values."""
        return {
            "at": self.at.isoformat(),
            "before": self.before.as_dict(),
            "after": self.after.as_dict(),
            "difference": self.difference.as_dict(language),
            "chance": self.chance,
            "is_shown": self.is_shown,
        }


def turn_at(runs: Iterable[DryingRun], at: date) -> Turn:
    """Compare the share before a date with that from it on.

    Parameters
    ----------
    runs : iterable of DryingRun
    at : date
        Of a visit, say; runs of that day count as after it.

    Examples
    --------
    >>> from datetime import datetime
    >>> runs = [DryingRun(datetime(2026, 3, 2), True)] * 12
    >>> runs += [DryingRun(datetime(2026, 3, 2), False)] * 28
    >>> runs += [DryingRun(datetime(2026, 4, 2), False)] * 40
    >>> turn = turn_at(runs, date(2026, 4, 1))
    >>> round(turn.difference.value), turn.is_shown
    (-30, True)
    """
    counted = list(runs)
    before = share_of_runs(run for run in counted if run.started_at.date() < at)
    after = share_of_runs(run for run in counted if run.started_at.date() >= at)
    if min(before.runs, after.runs) < FEWEST_RUNS:
        return Turn(at, before, after, _too_few(before, after, at), 1.0)
    chance = chance_of_unlike(before, after)
    return Turn(at, before, after, _difference(before, after, at), chance)


def _difference(before: Share, after: Share, at: date) -> Reading:
    """Give after less before, by the score interval of a difference."""
    value = after.value - before.value
    low = value - sqrt((after.value - after.low) ** 2 + (before.high - before.value) ** 2)
    high = value + sqrt((after.high - after.value) ** 2 + (before.value - before.low) ** 2)
    word = "fell" if high < 0.0 else "rose" if low > 0.0 else "not_shown"
    why = Message(
        f"steam_trend.turn.{word}",
        {
            "day": _day(at),
            "before": PERCENT * before.value,
            "after": PERCENT * after.value,
            "before_short": before.short,
            "before_runs": before.runs,
            "after_short": after.short,
            "after_runs": after.runs,
        },
    )
    return reading(
        "drying_cut_short_change",
        PERCENT * value,
        PERCENT * low,
        PERCENT * high,
        POINTS,
        name=Message("steam_trend.name.cut_short_change"),
        why=why,
    )


def _too_few(before: Share, after: Share, at: date) -> Reading:
    why = Message(
        "steam_trend.turn.too_few",
        {
            "day": _day(at),
            "before_runs": before.runs,
            "after_runs": after.runs,
            "missing": FEWEST_RUNS - min(before.runs, after.runs),
        },
    )
    return cannot_tell(
        "drying_cut_short_change", POINTS, why, name=Message("steam_trend.name.cut_short_change")
    )


def _day(at: date) -> str:
    """Write a day as pages do."""
    return f"{at.day} {at:%b %Y}"
