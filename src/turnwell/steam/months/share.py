"""Runs whose drying was cut short, as a share of all with its interval.

References
----------
Interval: [WILSON1927], as [NEWCOMBE1998] tries it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from math import sqrt

from turnwell.errors import InputError
from turnwell.steam.months.confidence import NORMAL_95

__all__ = ["PERCENT", "DryingRun", "Share", "share_of", "share_of_runs"]

PERCENT = 100.0


@dataclass(frozen=True, slots=True)
class DryingRun:
    """One run whose drying can be judged.

    Parameters
    ----------
    started_at : datetime
        In the office's own time.
    is_cut_short : bool
        True where the drying was shorter than planned, or broken off.
    """

    started_at: datetime
    is_cut_short: bool


@dataclass(frozen=True, slots=True)
class Share:
    """A share of runs with its 95 % interval.

    Parameters
    ----------
    short, runs : int
        Runs cut short, and all of them.
    value, low, high : float
        Between 0 and 1; value is 0 and the interval all of it where there are no runs.
    """

    short: int
    runs: int
    value: float
    low: float
    high: float

    def as_dict(self) -> dict[str, float | int]:
        """Give the share as JSON values."""
        return {
            "short": self.short,
            "runs": self.runs,
            "value": self.value,
            "low": self.low,
            "high": self.high,
        }


def share_of(short: int, runs: int) -> Share:
    """Give a share with its score interval.

    Raises
    ------
    InputError
        If more were cut short than ran.

    Examples
    --------
    >>> share = share_of(81, 263)  # the example of [NEWCOMBE1998]
    >>> round(share.low, 4), round(share.high, 4)
    (0.2553, 0.3662)
    """
    if not 0 <= short <= runs:
        raise InputError(f"{short} of {runs} runs cut short cannot be; count again")
    if runs == 0:
        return Share(0, 0, 0.0, 0.0, 1.0)
    share, square = short / runs, NORMAL_95**2
    middle = (share + square / (2.0 * runs)) / (1.0 + square / runs)
    spread = share * (1.0 - share) / runs + square / (4.0 * runs**2)
    half = NORMAL_95 * sqrt(spread) / (1.0 + square / runs)
    low = 0.0 if short == 0 else middle - half
    high = 1.0 if short == runs else middle + half
    return Share(short, runs, share, min(low, share), max(high, share))


def share_of_runs(runs: Iterable[DryingRun]) -> Share:
    """Count the runs that were cut short, and all of them."""
    counted = list(runs)
    return share_of(sum(run.is_cut_short for run in counted), len(counted))
