"""What an office should change, from the records of a sterilizer and its feed water.

First what leaves steam in doubt, then drying, the other faults, what lies outside its limit, and
last what no record shows.
"""

from collections.abc import Container, Iterator
from dataclasses import dataclass
from datetime import date

from turnwell.measure import Limit, Verdict, reading
from turnwell.papers import Advice
from turnwell.steam import FaultKey
from turnwell.web.shared.times import day_shown, shown_in_zone
from turnwell.web.sterilizers.analysis.feed_water import water_readings
from turnwell.web.sterilizers.analysis.history import TREND_KEYS, History
from turnwell.web.sterilizers.models import Sterilizer
from turnwell.words import Message, Param, text_of

__all__ = ["LAST_RECORDS", "advice_of"]

# Older faults say little on what to change now (own choice).
LAST_RECORDS = 60
STERILIZING = (
    FaultKey.AIR_NOT_REMOVED,
    FaultKey.BELOW_BAND,
    FaultKey.HOLD_SHORT,
    FaultKey.POWER_CUT,
)
DRYING = (FaultKey.DRYING_ABORTED, FaultKey.DRYING_SHORTENED)
# The advice for a value outside its limit where a fault has the same cause.
SAME_CAUSE = {
    "drying_lowest_pressure_kpa": FaultKey.VACUUM_NOT_REACHED,
    "drying_pull_down_s": FaultKey.VACUUM_NOT_REACHED,
}
DRYING_TIME = "drying_time_s"


@dataclass(frozen=True, slots=True)
class _Seen:
    """A fault over the last records: the days on which it showed, oldest first, of how many."""

    key: str
    days: tuple[date, ...]
    total: int

    @property
    def advice(self) -> Advice:
        """What to do about it, with its count and days."""
        params: dict[str, Param] = {
            "name": text_of(f"steam_fault.name.{self.key}"),
            "count": len(self.days),
            "total": self.total,
            "first": day_shown(self.days[0]),
            "last": day_shown(self.days[-1]),
        }
        word = "one" if len(self.days) == 1 else "some"
        return Advice(_do(self.key), (text_of(Message(f"papers.cycle_saw.{word}", params)),))


def advice_of(sterilizer: Sterilizer, history: History) -> tuple[Advice, ...]:
    """Give what to change, the most useful first; three queries.

    Parameters
    ----------
    sterilizer : Sterilizer
        With its office.
    history : History
        Of its records.
    """
    faults = _faults(sterilizer)
    others = [key for key in faults if key not in STERILIZING + DRYING]
    others.sort(key=lambda key: -len(faults[key].days))
    return (
        *_plan(history),
        *(faults[key].advice for key in STERILIZING if key in faults),
        *(faults[key].advice for key in DRYING if key in faults),
        *_week(history),
        *(faults[key].advice for key in others),
        *_values(history, faults),
        *_feed_water(sterilizer),
        Advice(_do("dry_before"), (text_of("papers.cycle_saw.dry_before"),)),
    )


def _do(key: str) -> str:
    return text_of(f"papers.cycle_do.{key}")


def _faults(sterilizer: Sterilizer) -> dict[str, _Seen]:
    """Find the days of each fault among the last records whose moment is known."""
    rows = sterilizer.records.standing().in_time().reverse()[:LAST_RECORDS]
    found = list(rows.values_list("started_at", "fault_keys", "is_drying_short"))
    days: dict[str, list[date]] = {}
    for moment, keys, is_short in reversed(found):
        shown = set(keys)
        # Drying outside its limit counts as cut short wherever runs are counted.
        if is_short and shown.isdisjoint(DRYING):
            shown.add(FaultKey.DRYING_SHORTENED.value)
        for key in shown:
            day = shown_in_zone(moment, sterilizer.office.time_zone).date()
            days.setdefault(key, []).append(day)
    return {key: _Seen(key, tuple(on), len(found)) for key, on in days.items()}


def _plan(history: History) -> Iterator[Advice]:
    """Ask for the planned drying time where no run can be held against one."""
    if history.count and not history.habits.every.runs:
        yield Advice(_do("no_plan"))


def _week(history: History) -> Iterator[Advice]:
    """Name the part of the week that is said of these records."""
    said = [
        text
        for sentence in history.habits.sentences
        if "day" in sentence.params and (text := text_of(sentence)) in history.says
    ]
    if said:
        yield Advice(_do("week"), tuple(said))


def _values(history: History, faults: Container[str]) -> Iterator[Advice]:
    """Name what lies beyond its limit in the latest run, where no fault has said it."""
    for named in history.trends:
        key, last = named.trend.key, named.points[-1]
        cause = SAME_CAUSE.get(key)
        if not _is_beyond(last.value, named.limit) or key == DRYING_TIME or cause in faults:
            continue
        value = round(last.value, 1)
        one = reading(key, value, value, value, TREND_KEYS[key], limit=named.limit)
        day: dict[str, Param] = {"day": day_shown(last.moment.date())}
        word = "value" if last.verdict is Verdict.OUTSIDE else "beyond"
        saw = text_of(Message(f"papers.cycle_saw.{word}", day))
        yield Advice(_do(cause or "value"), (saw,), (one,))


def _is_beyond(value: float, limit: Limit | None) -> bool:
    """Tell whether a value is beyond its limit, proven or not.

    >>> from turnwell.measure import Basis
    >>> _is_beyond(10.8, Limit(None, 10.0, "as set", Basis.OWN))
    True
    """
    if limit is None:
        return False
    return (limit.low is not None and value < limit.low) or (
        limit.high is not None and value > limit.high
    )


def _feed_water(sterilizer: Sterilizer) -> Iterator[Advice]:
    """Name the newest values of the feed water that lie outside their limit."""
    newest = sterilizer.feed_water.standing().first()
    if newest is None:
        return
    outside = tuple(row for row in water_readings(newest) if row.verdict is Verdict.OUTSIDE)
    if outside:
        day: dict[str, Param] = {"day": day_shown(newest.sampled_on)}
        yield Advice(
            _do("feed_water"), (text_of(Message("papers.cycle_saw.feed_water", day)),), outside
        )
