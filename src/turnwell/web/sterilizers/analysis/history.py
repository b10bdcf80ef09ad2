"""The records of a sterilizer in time, by the steam core: shares, habits of the week, changes.

All moments are on the office's wall clock before the core sees them: days and hours are its own.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from turnwell.measure import Limit, Reading, Verdict
from turnwell.pictures.week_table import FEWEST_RUNS
from turnwell.steam.months import (
    FALSE_ALARM,
    DryingRun,
    Habits,
    Trend,
    Turn,
    habits_of,
    trend_of,
    turn_at,
)
from turnwell.units import s_to_min
from turnwell.web.handpieces.names import reading_name
from turnwell.web.shared.times import zone_of
from turnwell.web.sterilizers.minutes import limit_in_minutes
from turnwell.web.sterilizers.models import CycleReading, Sterilizer
from turnwell.web.sterilizers.queries import CycleRecordQuerySet
from turnwell.words import Message, text_of

__all__ = ["TREND_KEYS", "History", "NamedTrend", "Point", "history_of"]

# Readings that are followed, and the unit in which they are shown.
TREND_KEYS = {
    "drying_time_s": "min",
    "drying_lowest_pressure_kpa": "kPa",
    "drying_pull_down_s": "s",
    "plateau_temperature_c": "°C",
}
# Kept in seconds and shown in minutes.
IN_MINUTES = frozenset({"drying_time_s"})
# Smallest change that is said first, in the unit that is shown (common practice); smaller ones that
# are shown stand below.
WORTH_SAYING = {
    "drying_time_s": 1.0,
    "drying_lowest_pressure_kpa": 1.0,
    "drying_pull_down_s": 10.0,
    "plateau_temperature_c": 0.3,
}


@dataclass(frozen=True, slots=True)
class Point:
    """One run's value: when by the office's clock, how much in the unit shown, its verdict."""

    moment: datetime
    value: float
    verdict: Verdict


@dataclass(frozen=True, slots=True, eq=False)
class NamedTrend:
    """A reading over the records, in words.

    Parameters
    ----------
    name : str
    says : tuple of str
        Every change, in order of time; or that none is shown.
    trend : Trend
    points : tuple of Point
        In order of time.
    limit : Limit or None
        What the newest value was held against, in the unit shown.
    """

    name: str
    says: tuple[str, ...]
    trend: Trend
    points: tuple[Point, ...]
    limit: Limit | None

    @property
    def is_worth_saying(self) -> bool:
        """True where the last change is one that somebody would act on."""
        if not self.trend.changes:
            return False
        return abs(self.trend.changes[-1].shift.value) >= WORTH_SAYING[self.trend.key]


@dataclass(frozen=True, slots=True, eq=False)
class History:
    """What the records of a sterilizer say together.

    Parameters
    ----------
    habits : Habits
        Share of runs with drying cut short, and when in the week.
    turn : Turn or None
        The share before and after the last training; None where there was none.
    trends : tuple of NamedTrend
        One a reading, in the order of `TREND_KEYS`.
    count : int
        Records whose moment is known.
    """

    habits: Habits
    turn: Turn | None
    trends: tuple[NamedTrend, ...]
    count: int

    @property
    def says(self) -> tuple[str, ...]:
        """Plain sentences, the one to act on first."""
        if not self.count:
            return ()
        said = [self._share, *(text_of(one) for one in self.habits.sentences if _tells(one))]
        if self.turn is not None and self.turn.difference.value is not None:
            said.append(text_of(self.turn.sentence))
        said += [named.says[-1] for named in self.trends if named.is_worth_saying]
        return tuple(said)

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The share of runs, and how it changed with the training."""
        share = self.habits.share
        return (share,) if self.turn is None else (share, self.turn.difference)

    @property
    def _share(self) -> str:
        every = self.habits.every
        if not every.runs:
            return text_of(Message("sterilizers.history.none_told", {"count": self.count}))
        key = "share" if every.short else "share_none"
        params = {
            "short": every.short,
            "told": every.runs,
            "percent": 100.0 * every.value,
            "low": 100.0 * every.low,
            "high": 100.0 * every.high,
        }
        return text_of(Message(f"sterilizers.history.{key}", params))


def _tells(habit: Message) -> bool:
    """Tell whether a sentence on a part of the week rests on enough runs to be said first."""
    runs = habit.params.get("runs", 0)
    return "day" in habit.params and isinstance(runs, int | float) and runs >= FEWEST_RUNS


def history_of(sterilizer: Sterilizer, *, trained_on: date | None) -> History:
    """Give what the records of a sterilizer say together; four queries.

    Parameters
    ----------
    sterilizer : Sterilizer
        With its office.
    trained_on : date or None
        Day of the office's last training.
    """
    zone = zone_of(sterilizer.office.time_zone)
    rows = sterilizer.records.standing().in_time()
    moments = rows.values_list("started_at", "is_drying_short")
    told = [(moment.astimezone(zone), short) for moment, short in moments if moment]
    runs = [DryingRun(moment, short) for moment, short in told if short is not None]
    return History(
        habits=habits_of(runs),
        turn=None if trained_on is None or not runs else turn_at(runs, trained_on),
        trends=tuple(_trends(rows, zone)),
        count=len(told),
    )


def _trends(rows: CycleRecordQuerySet, zone: ZoneInfo) -> Iterator[NamedTrend]:
    """Look for changes, with one false alarm in twenty such pages rather than in each reading."""
    found: dict[str, list[Point]] = {key: [] for key in TREND_KEYS}
    newest: dict[str, int] = {}
    readings = CycleReading.objects.filter(
        record__in=rows.order_by(), key__in=TREND_KEYS, value__isnull=False
    ).order_by("record__started_at", "pk")
    for pk, key, moment, value, verdict in readings.values_list(
        "pk", "key", "record__started_at", "value", "verdict"
    ):
        if moment is not None and value is not None:
            point = Point(moment.astimezone(zone), _shown(key, value), Verdict(verdict))
            found[key].append(point)
            newest[key] = pk
    limits = {row.key: row.reading.limit for row in readings.filter(pk__in=newest.values())}
    for key, points in found.items():
        if points:
            yield _named(key, points, limits[key])


def _named(key: str, points: Sequence[Point], limit: Limit | None) -> NamedTrend:
    trend = trend_of(
        key,
        TREND_KEYS[key],
        [point.moment for point in points],
        [point.value for point in points],
        false_alarm=FALSE_ALARM / len(TREND_KEYS),
    )
    if limit is not None and key in IN_MINUTES:
        limit = limit_in_minutes(limit)
    says = tuple(map(text_of, trend.sentences))
    return NamedTrend(reading_name(key), says, trend, tuple(points), limit)


def _shown(key: str, value: float) -> float:
    """Give a value in the unit that is shown."""
    return s_to_min(value) if key in IN_MINUTES else value
