"""At which times of the week drying is cut short.

A sterilizer that is always stopped on Friday afternoon is a habit, not a fault. Half-days and
hours of the week are each held against all the others; what stands out is said only where all the
comparisons together raise a false alarm in one of twenty such tables at most (`chance`).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from turnwell.errors import InputError
from turnwell.measure import Reading, cannot_tell, reading
from turnwell.steam.months.chance import chance_of_more, standing_out
from turnwell.steam.months.confidence import FALSE_ALARM
from turnwell.steam.months.share import PERCENT, DryingRun, Share, share_of, share_of_runs
from turnwell.words import Message, text_of

__all__ = ["Cell", "Habits", "habits_of"]

NOON = 12


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


def habits_of(runs: Iterable[DryingRun], *, false_alarm: float = FALSE_ALARM) -> Habits:
    """Count by weekday and hour, and tell what stands out.

    Parameters
    ----------
    runs : iterable of DryingRun
    false_alarm : float
        Chance, above 0 and below 1, that anything stands out where the week makes no difference;
        half of it goes to the half-days, half to the hours.

    Raises
    ------
    InputError
        If the chance is out of its range.

    Examples
    --------
    >>> from datetime import datetime
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
    every = share_of_runs(counted)
    halves = _cells(counted, every, by_hour=False, false_alarm=false_alarm / 2.0)
    hours = _cells(counted, every, by_hour=True, false_alarm=false_alarm / 2.0)
    return Habits(every, _share_reading(every), halves, hours, _sentences(halves, hours, every))


def _cells(
    runs: Sequence[DryingRun], every: Share, *, by_hour: bool, false_alarm: float
) -> tuple[Cell, ...]:
    """Count the parts of the week and mark those that stand out."""
    parts: dict[tuple[int, int], list[DryingRun]] = {}
    for run in runs:
        hour = run.started_at.hour
        part = hour if by_hour else hour // NOON
        parts.setdefault((run.started_at.weekday(), part), []).append(run)
    places = sorted(parts)
    shares = [share_of_runs(parts[place]) for place in places]
    out = standing_out(shares, every, false_alarm=false_alarm)
    return tuple(
        Cell(
            weekday=weekday,
            hour=part if by_hour else None,
            afternoon=part >= NOON if by_hour else part == 1,
            share=share,
            rest=share_of(every.short - share.short, every.runs - share.runs),
            chance=chance_of_more(share, every),
            stands_out=stands_out,
        )
        for (weekday, part), share, stands_out in zip(places, shares, out, strict=True)
    )


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
        PERCENT * every.value,
        PERCENT * every.low,
        PERCENT * every.high,
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
        "percent": PERCENT * cell.share.value,
        "low": PERCENT * cell.share.low,
        "high": PERCENT * cell.share.high,
        "rest_percent": PERCENT * cell.rest.value,
    }
    if cell.hour is not None:
        return Message(
            "steam_trend.habits.hour", params | {"hour": cell.hour, "until": cell.hour + 1}
        )
    part = "afternoon" if cell.afternoon else "morning"
    return Message(f"steam_trend.habits.{part}", params)
