"""When drying is cut short: shares by weekday and hour, and before and after a date.

A sterilizer that is always stopped on Friday afternoon is a habit, not a fault. Half-days and
hours of the week are each held against all the others; what stands out is said only where all the
comparisons together raise a false alarm in one of twenty such tables at most.

References
----------
Intervals: [WILSON1927], of a difference [NEWCOMBE1998]. Comparison of two counts: [FISHER1934].
Many comparisons: [HOLM1979], without those that could never stand out, [TARONE1990].
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import exp, lgamma, sqrt
from typing import Any

from turnwell.errors import InputError
from turnwell.measure import Reading, cannot_tell, reading
from turnwell.words import Message, text_of

__all__ = ["Cell", "DryingRun", "Habits", "Share", "Turn", "habits_of", "share_of", "turn_at"]

DAYS = 7
HOURS = 24
NOON = 12
FALSE_ALARM = 0.05
# Fewer on either side and not even all against none is rarer than one in twenty.
FEWEST_RUNS = 4
_NORMAL = 1.959963984540054
_PERCENT = 100.0
# A share of 40 % that becomes 16 % falls by 24 of these, not by 24 %.
POINTS = "percentage points"


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


@dataclass(frozen=True, slots=True)
class Cell:
    """A part of the week against the rest of it.

    Parameters
    ----------
    weekday : int
        0 is Monday.
    hour : int or None
        From 0 to 23; None for a half-day.
    afternoon : bool
        From noon on.
    share, rest : Share
        Of this part, and of all others.
    chance : float
        Of so many cut short here where the part makes no difference.
    stands_out : bool
        More often cut short than elsewhere, after all comparisons are counted.
    """

    weekday: int
    hour: int | None
    afternoon: bool
    share: Share
    rest: Share
    chance: float
    stands_out: bool

    def as_dict(self) -> dict[str, Any]:
        """Give the part as JSON values."""
        return {
            "weekday": self.weekday,
            "hour": self.hour,
            "afternoon": self.afternoon,
            "share": self.share.as_dict(),
            "rest": self.rest.as_dict(),
            "chance": self.chance,
            "stands_out": self.stands_out,
        }


@dataclass(frozen=True, slots=True)
class Habits:
    """When in the week drying is cut short.

    Parameters
    ----------
    every : Share
        Of all runs.
    share : Reading
        The same in per cent, "cannot tell" where there are no runs.
    half_days, hours : tuple of Cell
        Those in which anything ran, Monday morning first.
    sentences : tuple of Message
        What stands out; or that nothing does.
    """

    every: Share
    share: Reading
    half_days: tuple[Cell, ...]
    hours: tuple[Cell, ...]
    sentences: tuple[Message, ...]

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the habits as JSON values."""
        return {
            "every": self.every.as_dict(),
            "reading": self.share.as_dict(language),
            "half_days": [cell.as_dict() for cell in self.half_days],
            "hours": [cell.as_dict() for cell in self.hours],
            "sentences": [text_of(sentence, language) for sentence in self.sentences],
        }


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
    is_shown : bool
        True where the interval of the difference leaves 0 out.
    """

    at: date
    before: Share
    after: Share
    difference: Reading
    chance: float
    is_shown: bool

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


def habits_of(runs: Iterable[DryingRun], *, false_alarm: float = FALSE_ALARM) -> Habits:
    """Count by weekday and hour, and tell what stands out.

    Parameters
    ----------
    runs : iterable of DryingRun
    false_alarm : float
        Chance, above 0 and below 1, that anything stands out where the week makes no difference;
        half of it goes to the half-days, half to the hours.

    Examples
    --------
    >>> friday = datetime(2026, 3, 6, 16, 0)
    >>> monday = datetime(2026, 3, 2, 9, 0)
    >>> habits = habits_of(
    ...     [DryingRun(friday, True)] * 8
    ...     + [DryingRun(friday, False)] * 2
    ...     + [DryingRun(monday, False)] * 40
    ... )
    >>> [(cell.weekday, cell.afternoon) for cell in habits.half_days if cell.stands_out]
    [(4, True)]
    """
    if not 0.0 < false_alarm < 1.0:
        raise InputError(f"false_alarm is {false_alarm:g}, must lie between 0 and 1")
    counted = list(runs)
    every = share_of(sum(run.is_cut_short for run in counted), len(counted))
    halves = _cells(counted, every, by_hour=False, false_alarm=false_alarm / 2.0)
    hours = _cells(counted, every, by_hour=True, false_alarm=false_alarm / 2.0)
    return Habits(every, _share_reading(every), halves, hours, _sentences(halves, hours, every))


def turn_at(runs: Iterable[DryingRun], at: date) -> Turn:
    """Compare the share before a date with that from it on.

    Parameters
    ----------
    runs : iterable of DryingRun
    at : date
        Of a visit, say; runs of that day count as after it.

    Examples
    --------
    >>> runs = [DryingRun(datetime(2026, 3, 2), True)] * 12
    >>> runs += [DryingRun(datetime(2026, 3, 2), False)] * 28
    >>> runs += [DryingRun(datetime(2026, 4, 2), False)] * 40
    >>> turn = turn_at(runs, date(2026, 4, 1))
    >>> round(turn.difference.value), turn.is_shown
    (-30, True)
    """
    counted = list(runs)
    before, after = (
        share_of(sum(run.is_cut_short for run in part), len(part))
        for part in (
            [run for run in counted if run.started_at.date() < at],
            [run for run in counted if run.started_at.date() >= at],
        )
    )
    if min(before.runs, after.runs) < FEWEST_RUNS:
        return Turn(at, before, after, _too_few(before, after), 1.0, is_shown=False)
    chance = _unlike(before, after)
    difference = _difference(before, after, at)
    is_shown = difference.why.key != "steam_trend.turn.not_shown"
    return Turn(at, before, after, difference, chance, is_shown)


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
    share, square = short / runs, _NORMAL**2
    middle = (share + square / (2.0 * runs)) / (1.0 + square / runs)
    spread = share * (1.0 - share) / runs + square / (4.0 * runs**2)
    half = _NORMAL * sqrt(spread) / (1.0 + square / runs)
    low = 0.0 if short == 0 else middle - half
    high = 1.0 if short == runs else middle + half
    return Share(short, runs, share, min(low, share), max(high, share))


def _cells(
    runs: Sequence[DryingRun], every: Share, *, by_hour: bool, false_alarm: float
) -> tuple[Cell, ...]:
    """Count the parts of the week and mark those that stand out."""
    counts: dict[tuple[int, int], list[int]] = {}
    for run in runs:
        hour = run.started_at.hour
        part = hour if by_hour else hour // NOON
        counted = counts.setdefault((run.started_at.weekday(), part), [0, 0])
        counted[0] += run.is_cut_short
        counted[1] += 1
    places = sorted(counts)
    shares = [share_of(*counts[place]) for place in places]
    chances = [_more_often(share, every) for share in shares]
    least = [_more_often(_at_most(share, every), every) for share in shares]
    out = _standing_out(chances, least, false_alarm)
    return tuple(
        Cell(
            weekday=weekday,
            hour=part if by_hour else None,
            afternoon=part >= NOON if by_hour else part == 1,
            share=share,
            rest=share_of(every.short - share.short, every.runs - share.runs),
            chance=chance,
            stands_out=stands_out,
        )
        for (weekday, part), share, chance, stands_out in zip(
            places, shares, chances, out, strict=True
        )
    )


def _at_most(share: Share, every: Share) -> Share:
    """Give the part with as many cut short as could have been there."""
    return share_of(min(share.runs, every.short), share.runs)


def _standing_out(
    chances: Sequence[float], least: Sequence[float], false_alarm: float
) -> list[bool]:
    """Mark the parts whose chance passes the limit, step by step from the rarest.

    Parts that could not pass even if all their runs were cut short count for nothing.
    """
    tests = next(
        (
            count
            for count in range(1, len(chances) + 1)
            if sum(rare <= false_alarm / count for rare in least) <= count
        ),
        1,
    )
    tested = [at for at, rare in enumerate(least) if rare <= false_alarm / tests]
    out = [False] * len(chances)
    for left, at in enumerate(sorted(tested, key=lambda at: chances[at])):
        if chances[at] > false_alarm / max(len(tested) - left, 1):
            break
        out[at] = True
    return out


def _more_often(share: Share, every: Share) -> float:
    """Give the chance of at least so many cut short in a part, were all runs drawn alike."""
    most = min(share.runs, every.short)
    return min(
        1.0, sum(_hypergeometric(found, share, every) for found in range(share.short, most + 1))
    )


def _unlike(before: Share, after: Share) -> float:
    """Give the two-sided chance of Fisher's exact test: all tables that are no likelier."""
    every = share_of(before.short + after.short, before.runs + after.runs)
    first, last = max(0, every.short - after.runs), min(before.runs, every.short)
    found = _hypergeometric(before.short, before, every)
    chances = [_hypergeometric(short, before, every) for short in range(first, last + 1)]
    return min(1.0, sum(chance for chance in chances if chance <= found * (1.0 + 1e-7)))


def _hypergeometric(short: int, part: Share, every: Share) -> float:
    """Give the chance of exactly so many cut short in a part of all runs."""
    return exp(
        _log_ways(every.short, short)
        + _log_ways(every.runs - every.short, part.runs - short)
        - _log_ways(every.runs, part.runs)
    )


def _log_ways(total: int, drawn: int) -> float:
    if not 0 <= drawn <= total:
        return float("-inf")
    return lgamma(total + 1.0) - lgamma(drawn + 1.0) - lgamma(total - drawn + 1.0)


def _share_reading(every: Share) -> Reading:
    if every.runs == 0:
        return cannot_tell(
            "drying_cut_short_share",
            "%",
            Message("steam_trend.habits.no_runs"),
            name=Message("steam_trend.name.cut_short_share"),
        )
    why = Message("steam_trend.habits.share", {"short": every.short, "runs": every.runs})
    return reading(
        "drying_cut_short_share",
        _PERCENT * every.value,
        _PERCENT * every.low,
        _PERCENT * every.high,
        "%",
        name=Message("steam_trend.name.cut_short_share"),
        why=why,
    )


def _sentences(halves: Sequence[Cell], hours: Sequence[Cell], every: Share) -> tuple[Message, ...]:
    """Say what stands out; an hour only where its half-day does not say it already."""
    said = [cell for cell in halves if cell.stands_out]
    covered = {(cell.weekday, cell.afternoon) for cell in said}
    said += [
        cell for cell in hours if cell.stands_out and (cell.weekday, cell.afternoon) not in covered
    ]
    if said:
        return tuple(map(_sentence, said))
    key = "nothing" if every.runs else "no_runs"
    return (Message(f"steam_trend.habits.{key}", {"runs": every.runs}),)


def _sentence(cell: Cell) -> Message:
    params: dict[str, float | Message] = {
        "day": Message(f"steam_trend.day.{cell.weekday}"),
        "short": cell.share.short,
        "runs": cell.share.runs,
        "percent": _PERCENT * cell.share.value,
        "low": _PERCENT * cell.share.low,
        "high": _PERCENT * cell.share.high,
        "rest_percent": _PERCENT * cell.rest.value,
    }
    if cell.hour is not None:
        return Message(
            "steam_trend.habits.hour", params | {"hour": cell.hour, "until": cell.hour + 1}
        )
    part = "afternoon" if cell.afternoon else "morning"
    return Message(f"steam_trend.habits.{part}", params)


def _difference(before: Share, after: Share, at: date) -> Reading:
    """Give after less before, by the score interval of a difference."""
    value = after.value - before.value
    low = value - sqrt((after.value - after.low) ** 2 + (before.high - before.value) ** 2)
    high = value + sqrt((after.high - after.value) ** 2 + (before.value - before.low) ** 2)
    word = "fell" if high < 0.0 else "rose" if low > 0.0 else "not_shown"
    why = Message(
        f"steam_trend.turn.{word}",
        {
            "day": f"{at.day} {at:%b %Y}",
            "before": _PERCENT * before.value,
            "after": _PERCENT * after.value,
            "before_short": before.short,
            "before_runs": before.runs,
            "after_short": after.short,
            "after_runs": after.runs,
        },
    )
    return reading(
        "drying_cut_short_change",
        _PERCENT * value,
        _PERCENT * low,
        _PERCENT * high,
        POINTS,
        name=Message("steam_trend.name.cut_short_change"),
        why=why,
    )


def _too_few(before: Share, after: Share) -> Reading:
    why = Message(
        "steam_trend.turn.too_few",
        {
            "before_runs": before.runs,
            "after_runs": after.runs,
            "missing": FEWEST_RUNS - min(before.runs, after.runs),
        },
    )
    return cannot_tell(
        "drying_cut_short_change", POINTS, why, name=Message("steam_trend.name.cut_short_change")
    )
