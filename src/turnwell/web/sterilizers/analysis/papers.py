"""Gathers from the records of a sterilizer what goes onto a cycle review."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any

from django.conf import settings

from turnwell import papers, pictures
from turnwell.measure import Reading
from turnwell.pictures import written
from turnwell.web.accounts.models import User
from turnwell.web.shared.times import day_shown, shown_in_zone
from turnwell.web.shared.weeks import week_parts
from turnwell.web.shop.models import Shop
from turnwell.web.sterilizers.analysis.advice import advice_of
from turnwell.web.sterilizers.analysis.history import History, history_of
from turnwell.web.sterilizers.history_picture import picture_of
from turnwell.web.sterilizers.models import CycleRecord, Sterilizer
from turnwell.web.sterilizers.record_page import record_page_of
from turnwell.web.sterilizers.timeline import Event, EventKind, events_of, trained_on
from turnwell.words import Message, Param, text_of

__all__ = ["months_values", "run_values"]


def months_values(
    sterilizer: Sterilizer, *, shop: Shop, by: User, at: datetime
) -> papers.CycleReview:
    """Give what goes onto the review of a sterilizer's months."""
    history = history_of(sterilizer, trained_on=trained_on(sterilizer.office))
    events = events_of(sterilizer.office, by)
    picture = picture_of(history, events)
    advice = advice_of(sterilizer, history)
    turned = _turned(history)
    said = {*turned, *(saw for one in advice for saw in one.saw)}
    undated = sterilizer.records.standing().filter(started_at__isnull=True).count()
    months = papers.Months(
        says=(*(one for one in history.says if one not in said), *_undated(undated)),
        advice=advice,
        changed=_changed(events, turned),
        history=None
        if picture is None
        else papers.Picture(
            picture,
            pictures.run_history_in_words(picture),
            text_of("pictures.runhistory.caption_one"),
        ),
        week=week_parts(history.habits.half_days),
    )
    return _review(sterilizer, shop, by, at, months=months)


def run_values(record: CycleRecord, *, shop: Shop, by: User, at: datetime) -> papers.CycleReview:
    """Give what goes onto the review of one run."""
    page = record_page_of(record)
    review: Mapping[str, Any] = record.review or {}
    zone = record.sterilizer.office.time_zone
    run = papers.ReviewedRun(
        began=record.started_at and shown_in_zone(record.started_at, zone),
        held_against=str(review.get("cycle", {}).get("name", "")),
        says=(page.says, page.also),
        readings=tuple(_in_shop_units(shop, (r for group in page.groups for r in group.readings))),
        trace=pictures.cycle_trace(review),
        faults=tuple(
            papers.FaultFound(fault["key"], fault["name"], fault["evidence"], fault["sure"])
            for fault in review.get("faults", [])
        ),
        questions=tuple(question["text"] for question in review.get("questions", [])),
        levers=page.levers,
        file_name=str(record.file),
        sha256=record.sha256,
    )
    return _review(record.sterilizer, shop, by, at, run=run, path=record.get_absolute_url())


def _review(
    sterilizer: Sterilizer,
    shop: Shop,
    by: User,
    at: datetime,
    *,
    run: papers.ReviewedRun | None = None,
    months: papers.Months | None = None,
    path: str = "",
) -> papers.CycleReview:
    size = "" if sterilizer.capacity_l is None else f"{sterilizer.capacity_l:g} litres"
    return papers.CycleReview(
        shop=papers.ShopHead(shop.name, shop.address, shop.phone, shop.email),
        office=sterilizer.office.name,
        sterilizer=sterilizer.name,
        kind=", ".join(part for part in (sterilizer.model_typed, size) if part),
        link=f"{settings.ENVIRONMENT.address}{path or sterilizer.get_absolute_url()}",
        issued_at=shown_in_zone(at, sterilizer.office.time_zone),
        issued_by=str(by),
        run=run,
        months=months,
    )


def _undated(count: int) -> tuple[str, ...]:
    """Name the records that no share counts."""
    params: dict[str, Param] = {"count": count}
    return (text_of(Message("papers.cycle_saw.undated", params)),) if count else ()


def _turned(history: History) -> tuple[str, ...]:
    """Say how the share changed with the training, and by how much where that can be told."""
    if history.turn is None:
        return ()
    sentence, moved = text_of(history.turn.sentence), history.turn.difference
    if moved.value is None or moved.low is None or moved.high is None:
        return (sentence,)
    numbers = {"value": moved.value, "low": moved.low, "high": moved.high}
    params: dict[str, Param] = {name: written(number, 0) for name, number in numbers.items()}
    return sentence, text_of(Message("papers.cycle_changed.difference", params))


def _changed(events: Iterable[Event], turned: tuple[str, ...]) -> tuple[str, ...]:
    """Say what the last training was and what came of it; or that none is written down."""
    trainings = [event for event in events if event.kind is EventKind.TRAINING]
    if not trainings:
        return (text_of("papers.cycle_changed.not_yet"),)
    last = trainings[-1]
    params: dict[str, Param] = {"day": day_shown(last.on), "words": last.words}
    trained = text_of(Message("papers.cycle_changed.trained", params)).rstrip(".")
    return (f"{trained}.", *turned)


def _in_shop_units(shop: Shop, readings: Iterable[Reading]) -> Iterator[Reading]:
    return (pictures.in_units(reading, shop.units) for reading in readings)
