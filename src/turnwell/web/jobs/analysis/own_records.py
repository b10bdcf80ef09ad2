"""Findings that the book itself answers: repaired lately, many cycles, drying cut short, and so on.

They cost nobody a look, so they are always filled in where the records can tell, and left open
where they cannot. The thresholds are common practice and stand in the catalogue's words.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from turnwell.catalogue import load
from turnwell.web.jobs.models import Finding, Job, Stage
from turnwell.web.sterilizers.analysis.facts import is_drying_cut_short, was_too_hot

__all__ = ["RecordAnswers", "answers_from_records"]

LATELY = timedelta(days=60)
LATELY_CYCLES = 100
LONG = timedelta(days=365)
MANY_CYCLES = 500
TOGETHER = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class RecordAnswers:
    """Keys of findings that the records show, and of those they show not to be so."""

    seen: tuple[str, ...]
    not_seen: tuple[str, ...]


def answers_from_records(job: Job, seen_here: frozenset[str]) -> RecordAnswers:
    """Answer what the book can answer about a job.

    Parameters
    ----------
    job : Job
        With its handpiece.
    seen_here : frozenset of str
        Findings seen in this job, on bench and at tear-down.
    """
    rebuilt = _last_rebuild(job)
    told = {
        "repaired_lately": _repaired_lately(job, rebuilt),
        "many_cycles": _many_cycles(job, rebuilt),
        "several_fail_together": _several_fail_together(job, seen_here),
        "drying_cut_short": is_drying_cut_short(job.office_id, job.taken_in_at),
        "sterilizer_too_hot": was_too_hot(job.office_id, job.taken_in_at),
    }
    return RecordAnswers(
        seen=tuple(key for key, answer in told.items() if answer is True),
        not_seen=tuple(key for key, answer in told.items() if answer is False),
    )


def _last_rebuild(job: Job) -> Job | None:
    """Give the last job before this one in which the handpiece was rebuilt and went home."""
    return (
        Job.objects.filter(
            handpiece_id=job.handpiece_id,
            stage=Stage.HANDED_BACK,
            taken_in_at__lt=job.taken_in_at,
            stage_changes__to_stage=Stage.REBUILT,
        )
        .order_by("-taken_in_at", "-pk")
        .first()
    )


def _cycles_since(job: Job, rebuilt: Job | None) -> int | None:
    """Give the cycles since the last rebuild, or since new where there was none."""
    if job.known_cycles is None:
        return None
    if rebuilt is None:
        return job.known_cycles
    if rebuilt.known_cycles is None or rebuilt.known_cycles > job.known_cycles:
        return None
    return job.known_cycles - rebuilt.known_cycles


def _repaired_lately(job: Job, rebuilt: Job | None) -> bool | None:
    if rebuilt is None or rebuilt.ended_at is None:
        # Nobody knows whether another shop had it.
        return None
    cycles = _cycles_since(job, rebuilt)
    if job.taken_in_at - rebuilt.ended_at < LATELY:
        return True
    return cycles is not None and cycles < LATELY_CYCLES


def _many_cycles(job: Job, rebuilt: Job | None) -> bool | None:
    cycles = _cycles_since(job, rebuilt)
    if cycles is not None and cycles > MANY_CYCLES:
        return True
    since = rebuilt.ended_at if rebuilt else _midnight(job.handpiece.in_service_since)
    if since is None:
        return None
    return job.taken_in_at - since > LONG


def _several_fail_together(job: Job, seen_here: frozenset[str]) -> bool | None:
    facts = load().findings
    asked = [key for key in seen_here if key in facts and facts[key].stage != "office"]
    if not asked:
        return None
    return (
        Finding.objects.standing()
        .filter(
            job__office_id=job.office_id,
            job__taken_in_at__range=(job.taken_in_at - TOGETHER, job.taken_in_at + TOGETHER),
            answer=Finding.Answer.SEEN,
            key__in=asked,
        )
        .exclude(job__handpiece_id=job.handpiece_id)
        .exists()
    )


def _midnight(day: date | None) -> datetime | None:
    return None if day is None else datetime.combine(day, time(), tzinfo=UTC)
