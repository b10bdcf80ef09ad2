"""What the page of a sterilizer shows: sentences first, then time line, records, water."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Q

from turnwell.measure import Limit, Verdict
from turnwell.pictures import RunHistory
from turnwell.pictures.figures import limit_in_words
from turnwell.web.accounts.models import User
from turnwell.web.shared.times import day_shown, shown_in_zone
from turnwell.web.sterilizers.analysis.feed_water import water_readings
from turnwell.web.sterilizers.analysis.history import TREND_KEYS, History, NamedTrend, history_of
from turnwell.web.sterilizers.history_picture import picture_of
from turnwell.web.sterilizers.listing import RecordLine, listed, record_lines
from turnwell.web.sterilizers.models import (
    FeedWater,
    Intake,
    IntakeFile,
    IssuedReview,
    Plan,
    Sterilizer,
)
from turnwell.web.sterilizers.timeline import Event, events_of, trained_on
from turnwell.words import Message, text_of

__all__ = ["SterilizerPage", "page_of"]

DRYING_TIME = "drying_time_s"
RECORDS_SHOWN = 12
PAPERS_SHOWN = 6


@dataclass(frozen=True, slots=True, eq=False)
class SterilizerPage:
    """What the page of a sterilizer shows beside its fields.

    Parameters
    ----------
    says : tuple of str
        Plain sentences, the one to act on first.
    history : History
        Of its records in time.
    events : list of Event
        Trainings, visits and returns with corrosion of its office.
    picture : RunHistory or None
        Both on one time line.
    lines : list of RecordLine
        The newest records.
    record_count : int
        How many there are.
    plans : list of Plan
    water : FeedWater or None
        The newest values, with the readings they make.
    water_readings : list of Reading
    open_intake : Intake or None
        One that has not come to its end, with its `reading_count` and `asking_count`.
    papers : list of IssuedReview
    layout_count : int
        Shapes of file whose columns were confirmed.
    """

    says: tuple[str, ...]
    history: History
    events: list[Event]
    picture: RunHistory | None
    lines: list[RecordLine]
    record_count: int
    plans: list[Plan]
    water: FeedWater | None
    water_readings: Sequence[object]
    open_intake: Intake | None
    papers: list[IssuedReview]
    layout_count: int


def page_of(sterilizer: Sterilizer, user: User) -> SterilizerPage:
    """Give what the page of a sterilizer shows to a person."""
    rows = listed(sterilizer)
    lines = record_lines(rows[:RECORDS_SHOWN])
    count = rows.count()
    history = history_of(sterilizer, trained_on=trained_on(sterilizer.office))
    events = events_of(sterilizer.office, user)
    water = sterilizer.feed_water.standing().select_related("entered_by").first()
    return SterilizerPage(
        says=(
            *history.says,
            *_outside(history.trends),
            *_undated(sterilizer),
            *_attention(lines, sterilizer.office.time_zone),
        ),
        history=history,
        events=events,
        picture=picture_of(history, events),
        lines=lines,
        record_count=count,
        plans=list(sterilizer.plans.all()),
        water=water,
        water_readings=water_readings(water) if water else [],
        open_intake=_open_intake(sterilizer) if user.is_shop else None,
        papers=list(sterilizer.papers.select_related("file", "issued_by")[:PAPERS_SHOWN]),
        layout_count=sterilizer.layouts.count() if user.is_shop else 0,
    )


def _outside(trends: Sequence[NamedTrend]) -> Iterator[str]:
    """Say which readings the latest record shows outside their limit; drying time has its share."""
    for named in trends:
        last = named.points[-1]
        if named.trend.key == DRYING_TIME or last.verdict is not Verdict.OUTSIDE:
            continue
        unit = TREND_KEYS[named.trend.key]
        yield text_of(
            Message(
                "sterilizers.history.outside",
                {
                    "name": named.name,
                    "value": f"{last.value:.1f} {unit}",
                    "limit": _limit_said(named.limit, unit),
                },
            )
        )


def _limit_said(limit: Limit | None, unit: str) -> str:
    """Write a limit in words.

    >>> from turnwell.measure import Basis
    >>> _limit_said(Limit(None, 10.0, "as set", Basis.OWN), "kPa")
    'at most 10 kPa'
    """
    if limit is None:
        return ""
    low, high = (None if side is None else f"{side:g}" for side in (limit.low, limit.high))
    return f"{limit_in_words(low, high)} {unit}"


def _undated(sterilizer: Sterilizer) -> tuple[str, ...]:
    """Say how many records stand on no time line, which every share here leaves out."""
    count = sterilizer.records.standing().filter(started_at__isnull=True).count()
    if not count:
        return ()
    key = "undated_one" if count == 1 else "undated_more"
    return (text_of(Message(f"sterilizers.history.{key}", {"count": count})),)


def _attention(lines: Sequence[RecordLine], zone: str) -> tuple[str, ...]:
    """Say how many of the newest records show a fault."""
    if not lines:
        return ()
    faulty = [line for line in lines if line.has_fault]
    if not faulty:
        key = "no_attention_one" if len(lines) == 1 else "no_attention"
        message = Message(f"sterilizers.history.{key}", {"total": len(lines)})
        return (text_of(message),)
    newest = faulty[0].record
    day: date = shown_in_zone(newest.started_at or newest.entered_at, zone).date()
    message = Message(
        "sterilizers.history.attention",
        {"count": len(faulty), "total": len(lines), "day": day_shown(day)},
    )
    return (text_of(message),)


def _open_intake(sterilizer: Sterilizer) -> Intake | None:
    """Give the newest intake with a file that waits or asks."""
    state = IntakeFile.State
    unfinished = [state.WAITING, state.READING, state.ASKS]
    reading = Count("files", filter=Q(files__state__in=[state.WAITING, state.READING]))
    asking = Count("files", filter=Q(files__state=state.ASKS))
    found = sterilizer.intakes.filter(files__state__in=unfinished)
    return found.annotate(reading_count=reading, asking_count=asking).first()
