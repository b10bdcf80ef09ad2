"""The life of a handpiece as the life strip draws it: stays with their causes, visits, counts."""

from datetime import datetime

from turnwell.pictures import CycleCount, Life, LifeEvent, LifeKind
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.handpieces.names import cause_name, complaints_said
from turnwell.web.jobs.models import ConfirmedCause, Job, PartUsed, Stage
from turnwell.web.jobs.queries import JobQuerySet
from turnwell.web.lives.queries import return_keys
from turnwell.web.shared.times import shown_in_zone, today_in_zone
from turnwell.web.visits.models import Visit

__all__ = ["life_of"]

STAYS_SHOWN = 60
PARTS_NAMED = 3


def life_of(handpiece: Handpiece, jobs: JobQuerySet, now: datetime) -> Life:
    """Give the life of a handpiece; six queries.

    Which stays are returns is told by the one rule of `lives`.

    Parameters
    ----------
    handpiece : Handpiece
        With office and model fetched.
    jobs : QuerySet of Job
        Its jobs that the reader may see.
    now : datetime
        Where the line ends, unless it was retired before.
    """
    zone = handpiece.office.time_zone
    counts: tuple[CycleCount, ...] = ()
    if handpiece.known_cycles is not None and handpiece.known_cycles_on is not None:
        counts = (CycleCount(handpiece.known_cycles_on, handpiece.known_cycles),)
    return Life(
        name=handpiece.serial or handpiece.code,
        since=handpiece.in_service_since,
        today=handpiece.retired_on or today_in_zone(zone, now),
        events=(*_stays(handpiece, jobs, now), *_visits(handpiece)),
        counts=counts,
        is_retired=handpiece.retired_on is not None,
    )


def _stays(handpiece: Handpiece, all_jobs: JobQuerySet, now: datetime) -> list[LifeEvent]:
    zone = handpiece.office.time_zone
    jobs = list(all_jobs.order_by("-taken_in_at", "-pk")[:STAYS_SHOWN])[::-1]
    causes = {
        row.job_id: cause_name(row.cause_key)
        for row in ConfirmedCause.objects.standing().filter(job__in=jobs).order_by("entered_at")
    }
    parts: dict[int, list[str]] = {}
    for row in PartUsed.objects.standing().filter(job__in=jobs):
        parts.setdefault(row.job_id, []).append(row.name)
    returns = return_keys([handpiece.pk], now)
    events = []
    for job in jobs:
        cause = causes.get(job.pk, "")
        events.append(
            LifeEvent(
                on=shown_in_zone(job.taken_in_at, zone).date(),
                kind=LifeKind.RETURN if job.pk in returns else LifeKind.STAY,
                words=_in_words(job, cause, parts.get(job.pk, [])),
                short=_in_short(job, cause),
                until=shown_in_zone(job.ended_at, zone).date() if job.ended_at else None,
                address=job.get_absolute_url(),
            )
        )
    return events


def _in_short(job: Job, cause: str) -> str:
    if cause or job.reason != Job.Reason.FAULT:
        return (cause or job.get_reason_display()).lower()
    return "" if job.ended_at is None else "not settled"


def _in_words(job: Job, cause: str, parts: list[str]) -> str:
    said = complaints_said(job.complaints, job.complaint_words)
    sentences = [f"{job.get_reason_display()}: {said}" if said else job.get_reason_display()]
    if cause:
        sentences.append(f"Cause: {cause[:1].lower()}{cause[1:]}")
    elif job.reason == Job.Reason.FAULT and job.ended_at is not None:
        sentences.append("No cause settled")
    if parts:
        further = f" and {len(parts) - PARTS_NAMED} more" if len(parts) > PARTS_NAMED else ""
        sentences.append(f"Used: {', '.join(parts[:PARTS_NAMED])}{further}")
    sentences.append(_end(job))
    return ". ".join(sentences) + "."


def _end(job: Job) -> str:
    if job.ended_at is None:
        return f"At the bench now, {job.get_stage_display().lower()}"
    days = (job.ended_at - job.taken_in_at).days
    how = "Handed back unrepaired" if job.stage == Stage.HANDED_BACK_UNREPAIRED else "Handed back"
    return f"{how} after {days} day{'' if days == 1 else 's'}" if days else f"{how} the same day"


def _visits(handpiece: Handpiece) -> list[LifeEvent]:
    visits = Visit.objects.standing().filter(office=handpiece.office_id)
    if handpiece.in_service_since is not None:
        visits = visits.filter(visited_on__gte=handpiece.in_service_since)
    if handpiece.retired_on is not None:
        visits = visits.filter(visited_on__lte=handpiece.retired_on)
    return [
        LifeEvent(
            on=visit.visited_on,
            kind=LifeKind.VISIT,
            words=f"Visit: {visit.why}{'; its people were trained' if visit.was_training else ''}.",
            short="training" if visit.was_training else "",
        )
        for visit in visits
    ]
