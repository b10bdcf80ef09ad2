"""Whether a reading of a sterilizer changes over its records: when, by how much, at once or slowly.

A level is held to have changed where chance alone would make the records look so with a stated
probability at most (`level_shift`). What comes before and after a change is searched again. A
change is called a step or a drift where one of two constant levels and a line fits clearly better;
else it is said that this cannot be told.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError
from turnwell.measure import Reading, cannot_tell, reading
from turnwell.steam.months.confidence import FALSE_ALARM
from turnwell.steam.months.drift import ChangeKind, drift_of, kind_of, slope_of
from turnwell.steam.months.level_shift import (
    FEWEST_VALUES,
    Level,
    Shift,
    critical_value,
    level_of,
    memory_of,
    shift_in,
    shift_size,
    spread_of,
)
from turnwell.words import Message, text_of

__all__ = ["Change", "Trend", "trend_of"]

Floats = NDArray[np.float64]

_DAY_S = 86_400.0
_POWER_80 = 0.8416212335729143  # normal quantile
_RANK_EFFICIENCY = 0.9772050238058398  # sqrt(3 / pi): of ranks where values are normal


@dataclass(frozen=True, slots=True)
class Change:
    """One lasting change of a reading.

    Parameters
    ----------
    kind : ChangeKind
    earliest, likeliest, latest : datetime
        Of a step: the 95 % range of its date, as the times of the records around it, and the
        record that is the first after it. Of a drift: where it is seen from and to.
    before, after : Level
        Medians. Of a drift: at its ends, by the line.
    shift : Level
        By how much it changed.
    slope : Level
        Units a month of a line through the stretch, with its interval.
    chance : float
        Of such a change where nothing changes.
    sentence : Message
    """

    kind: ChangeKind
    earliest: datetime
    likeliest: datetime
    latest: datetime
    before: Level
    after: Level
    shift: Level
    slope: Level
    chance: float
    sentence: Message

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the change as JSON values."""
        return {
            "kind": self.kind.value,
            "earliest": self.earliest.isoformat(),
            "likeliest": self.likeliest.isoformat(),
            "latest": self.latest.isoformat(),
            "before": self.before.as_dict(),
            "after": self.after.as_dict(),
            "shift": self.shift.as_dict(),
            "slope_per_month": self.slope.as_dict(),
            "chance": self.chance,
            "sentence": text_of(self.sentence, language),
        }


@dataclass(frozen=True, slots=True)
class Trend:
    """A reading over the records of one sterilizer.

    Parameters
    ----------
    key, unit : str
        Of the reading.
    count : int
        Records with a value.
    changes : tuple of Change
        In order of time; empty where none is shown.
    level : Reading
        What it stands at after the last change, "cannot tell" where records are too few.
    shift : Reading or None
        By how much it changed last; None where no change is shown.
    sentences : tuple of Message
        What a person reads, the last change last.
    seen_from : float or None
        Size of a lasting change in the middle that would be seen four times in five, where none is
        shown.
    missing : int
        Records that are needed before anything can be told; 0 where there are enough.
    false_alarm : float
        Chance of a change being shown at a look where there is none.
    """

    key: str
    unit: str
    count: int
    changes: tuple[Change, ...]
    level: Reading
    shift: Reading | None
    sentences: tuple[Message, ...]
    seen_from: float | None
    missing: int
    false_alarm: float

    @property
    def readings(self) -> tuple[Reading, ...]:
        """Level, and the last change where there is one."""
        return (self.level,) if self.shift is None else (self.level, self.shift)

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the trend as JSON values."""
        return {
            "key": self.key,
            "unit": self.unit,
            "count": self.count,
            "changes": [change.as_dict(language) for change in self.changes],
            "readings": [each.as_dict(language) for each in self.readings],
            "sentences": [text_of(sentence, language) for sentence in self.sentences],
            "seen_from": self.seen_from,
            "missing": self.missing,
            "false_alarm": self.false_alarm,
        }


@dataclass(frozen=True, slots=True, eq=False)
class _Series:
    """A stretch of the records, in order of time."""

    key: str
    unit: str
    moments: tuple[datetime, ...]
    days: Floats
    values: Floats

    @property
    def name(self) -> Message:
        return Message(f"reading.{self.key}")

    def part(self, start: int, stop: int) -> "_Series":
        return _Series(
            self.key,
            self.unit,
            self.moments[start:stop],
            self.days[start:stop],
            self.values[start:stop],
        )


def trend_of(
    key: str,
    unit: str,
    moments: Sequence[datetime],
    values: ArrayLike,
    *,
    false_alarm: float = FALSE_ALARM,
) -> Trend:
    """Tell whether a reading changes over the records.

    Parameters
    ----------
    key, unit : str
        Of the reading; its name is the message ``reading.<key>``.
    moments : sequence of datetime
        When each record began; all with a zone or all without, in any order.
    values : array, shape (n,)
        NaN where a record has none; these are left out.
    false_alarm : float
        Chance, above 0 and below 0.5, of showing a change at this look where there is none.

    Raises
    ------
    InputError
        If lengths differ, a value is infinite or the chance is out of its range.

    Examples
    --------
    >>> from datetime import timedelta
    >>> start = datetime(2026, 1, 5)
    >>> moments = [start + timedelta(days=day) for day in range(40)]
    >>> values = [5.0 + 0.1 * (day % 3) + (3.0 if day >= 25 else 0.0) for day in range(40)]
    >>> trend = trend_of("drying_lowest_pressure_kpa", "kPa", moments, values)
    >>> trend.changes[0].kind.value, trend.changes[0].likeliest.date().isoformat()
    ('step', '2026-01-30')
    """
    series = _series(key, unit, moments, values)
    if not 0.0 < false_alarm < 0.5:
        raise InputError(f"false_alarm is {false_alarm:g}, must lie between 0 and 0.5")
    count = series.values.size
    if count < FEWEST_VALUES:
        return _too_few(series, false_alarm)
    changes = tuple(_changes(series, false_alarm))
    memory = memory_of(series.values - np.median(series.values))
    now = changes[-1].after if changes else level_of(series.values, memory=memory)
    sentences = tuple(change.sentence for change in changes)
    seen_from = None if changes else _seen_from(series.values, memory, false_alarm)
    if seen_from is not None:
        sentences = (_steady(series, seen_from),)
    return Trend(
        key=key,
        unit=unit,
        count=count,
        changes=changes,
        level=reading(
            key, now.value, now.low, now.high, unit, name=_named("level", series), why=sentences[-1]
        ),
        shift=_last_shift(series, changes),
        sentences=sentences,
        seen_from=seen_from,
        missing=0,
        false_alarm=false_alarm,
    )


def _series(key: str, unit: str, moments: Sequence[datetime], values: ArrayLike) -> _Series:
    """Check and sort the records, and leave out those without a value."""
    numbers = np.asarray(values, dtype=np.float64)
    if numbers.shape != (len(moments),):
        raise InputError(f"{len(moments)} times go with {numbers.size} values; give one for each")
    if np.any(np.isinf(numbers)):
        raise InputError(f"a value of {key} is infinite; leave it out")
    kept = [at for at in range(len(moments)) if not np.isnan(numbers[at])]
    try:
        kept.sort(key=lambda at: moments[at])
    except TypeError as error:
        raise InputError("times with and without a zone cannot be put in order") from error
    ordered = tuple(moments[at] for at in kept)
    days = [(moment - ordered[0]).total_seconds() / _DAY_S for moment in ordered]
    return _Series(key, unit, ordered, np.array(days), numbers[kept])


def _too_few(series: _Series, false_alarm: float) -> Trend:
    missing = FEWEST_VALUES - series.values.size
    why = Message("steam_trend.too_few", {"name": series.name, "missing": missing})
    return Trend(
        key=series.key,
        unit=series.unit,
        count=series.values.size,
        changes=(),
        level=cannot_tell(series.key, series.unit, why, name=_named("level", series)),
        shift=None,
        sentences=(why,),
        seen_from=None,
        missing=missing,
        false_alarm=false_alarm,
    )


def _changes(series: _Series, false_alarm: float) -> Iterator[Change]:
    """Give the changes of a stretch; each side of a step is searched in its turn."""
    count = series.values.size
    shift = shift_in(series.values) if count >= FEWEST_VALUES else None
    if shift is None or shift.chance > false_alarm:
        return
    change = _change(series, shift, false_alarm)
    if change.kind is not ChangeKind.STEP:
        yield change
        return
    yield from _changes(series.part(0, shift.index), false_alarm)
    yield change
    yield from _changes(series.part(shift.index, count), false_alarm)


def _change(series: _Series, shift: Shift, false_alarm: float) -> Change:
    """Describe the change that was found in a stretch."""
    kind = kind_of(series.days, series.values, false_alarm=false_alarm)
    slope = slope_of(series.days, series.values)
    parts = series.values[: shift.index], series.values[shift.index :]
    if kind is ChangeKind.DRIFT:
        line = drift_of(series.days, series.values, slope)
        before, after, moved = line.before, line.after, line.moved
        places = (0, series.values.size - 1, series.values.size - 1)
    else:
        before, after = (level_of(part, memory=shift.memory) for part in parts)
        moved = shift_size(*parts, memory=shift.memory)
        # The change lies after the last record before its range, and before the first after it.
        places = (shift.earliest - 1, shift.index, shift.latest)
    earliest, likeliest, latest = (series.moments[place] for place in places)
    word = {ChangeKind.STEP: "step", ChangeKind.DRIFT: "drift", ChangeKind.UNDECIDED: "undecided"}
    way = "rose" if moved.value > 0.0 else "fell"
    sentence = Message(
        f"steam_trend.{word[kind]}.{way}",
        {
            "name": series.name,
            "unit": series.unit,
            "before": before.value,
            "after": after.value,
            "moved": abs(moved.value),
            "low": min(abs(moved.low), abs(moved.high)),
            "high": max(abs(moved.low), abs(moved.high)),
            "slope": abs(slope.value),
            "earliest": _day(earliest),
            "latest": _day(latest),
        },
    )
    return Change(
        kind, earliest, likeliest, latest, before, after, moved, slope, shift.chance, sentence
    )


def _seen_from(values: Floats, memory: float, false_alarm: float) -> float:
    """Give the change in the middle of these records that is seen four times in five."""
    needed = critical_value(false_alarm, values.size) + _POWER_80
    spread = spread_of(values - np.median(values))
    return 2.0 * needed * spread * sqrt(memory / values.size) / _RANK_EFFICIENCY


def _steady(series: _Series, seen_from: float) -> Message:
    return Message(
        "steam_trend.steady",
        {
            "name": series.name,
            "unit": series.unit,
            "count": series.values.size,
            "since": _day(series.moments[0]),
            # Among values that all but repeat, less than a hundredth is said to no one's use.
            "seen_from": max(seen_from, 0.01 * abs(float(np.median(series.values)))),
        },
    )


def _day(moment: datetime) -> str:
    """Write a day as pages do."""
    return f"{moment.day} {moment:%b %Y}"


def _last_shift(series: _Series, changes: Sequence[Change]) -> Reading | None:
    if not changes:
        return None
    last = changes[-1]
    moved = last.shift
    return reading(
        f"{series.key}_change",
        moved.value,
        moved.low,
        moved.high,
        series.unit,
        name=_named("change", series),
        why=last.sentence,
    )


def _named(what: str, series: _Series) -> Message:
    return Message(f"steam_trend.name.{what}", {"name": series.name})
