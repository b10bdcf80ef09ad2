"""The handpieces behind a figure, a page at a time."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from django.core.paginator import Paginator

from turnwell.web.handpieces.models import Handpiece
from turnwell.web.handpieces.names import cause_name
from turnwell.web.jobs.models import ConfirmedCause, Job
from turnwell.web.lives.analysis.review import Watched
from turnwell.web.lives.records import YEAR_DAYS, Returns, ShopLives, ShopRecords, Warranties
from turnwell.words import Message, text_of

__all__ = [
    "BehindLine",
    "lives_behind",
    "returns_behind",
    "warranties_behind",
    "watched_behind",
]

LINES_A_PAGE = 50


@dataclass(frozen=True, slots=True)
class BehindLine:
    """One life or return.

    Parameters
    ----------
    handpiece : Handpiece
    began, ended : Job or None
        The hand-back it began with, the return it ended with.
    since : str
        What stands where it began with no job.
    says : str
        The settled cause, or how it goes on.
    lasted : str
        With its clock.
    """

    handpiece: Handpiece
    began: Job | None
    ended: Job | None
    since: str
    says: str
    lasted: str


def lives_behind(behind: ShopLives, page: str | None) -> dict[str, Any]:
    """Give what the page of the lives behind a figure shows, the newest first."""
    lives = behind.lives
    order = np.lexsort((behind.job, behind.end_job))[::-1]
    found = Paginator(order.tolist(), LINES_A_PAGE).get_page(page)
    rows = np.array(list(found.object_list), dtype=np.intp)
    jobs = Job.objects.in_bulk({*behind.job[rows].tolist(), *behind.end_job[rows].tolist()} - {-1})
    handpieces = _handpieces(behind.handpiece[rows].tolist())
    causes = _causes(behind.end_job[rows].tolist())
    failed = lives.is_failed if lives is not None else np.zeros(0, dtype=np.bool_)
    lasted = lives.exit if lives is not None else np.zeros(0)
    found.object_list = [
        BehindLine(
            handpiece=handpieces[int(behind.handpiece[row])],
            began=jobs.get(int(behind.job[row])),
            ended=jobs.get(int(behind.end_job[row])),
            since=text_of("lives.behind.from_new"),
            says=_ending(bool(failed[row]), int(behind.end_job[row]), causes),
            lasted=f"{lasted[row]:,.0f}",
        )
        for row in rows.tolist()
        if int(behind.handpiece[row]) in handpieces
    ]
    clock = behind.clock.value
    return {
        "page": found,
        "from_says": text_of("lives.behind.since"),
        "lasted_says": text_of(Message("lives.behind.lasted", {"clock": clock})),
        "left_out": _left_out(behind),
    }


def returns_behind(records: ShopRecords, returns: Returns, page: str | None) -> dict[str, Any]:
    """Give what the page of the returns behind a figure shows, the newest first."""
    order = np.argsort(returns.moment_s, kind="stable")[::-1]
    found = Paginator(order.tolist(), LINES_A_PAGE).get_page(page)
    rows = np.array(list(found.object_list), dtype=np.intp)
    whose = records.handpieces.pk[returns.handpiece[rows]]
    handpieces = _handpieces(whose.tolist())
    before = returns.previous_job[rows]
    jobs = Job.objects.in_bulk({*returns.job[rows].tolist(), *before.tolist()} - {-1})
    causes = _causes(returns.job[rows].tolist())
    lines = []
    for row, key, earlier in zip(rows.tolist(), whose.tolist(), before.tolist(), strict=True):
        job, began = jobs.get(int(returns.job[row])), jobs.get(earlier)
        if job is None or key not in handpieces:
            continue
        days = _days(began.ended_at, job.taken_in_at) if began and began.ended_at else None
        lines.append(
            BehindLine(
                handpiece=handpieces[key],
                began=began,
                ended=job,
                since=text_of("lives.behind.from_count"),
                says=_ending(True, job.pk, causes),
                lasted="" if days is None else f"{days:,}",
            )
        )
    found.object_list = lines
    return {
        "page": found,
        "from_says": text_of("lives.behind.since"),
        "lasted_says": text_of(Message("lives.behind.lasted", {"clock": "days"})),
        "left_out": (),
    }


def watched_behind(watched: Watched, page: str | None) -> dict[str, Any]:
    """Give what the page of the handpieces under observation shows, those most often back first."""
    order = np.lexsort((-watched.years, -watched.returns))
    found = Paginator(order.tolist(), LINES_A_PAGE).get_page(page)
    rows = list(found.object_list)
    handpieces = _handpieces(watched.handpiece[rows].tolist())
    found.object_list = [
        BehindLine(
            handpiece=handpieces[key],
            began=None,
            ended=None,
            since=text_of("lives.behind.in_the_period"),
            says=text_of(
                Message(
                    "lives.behind.times_back" if returns != 1 else "lives.behind.once_back",
                    {"count": returns},
                )
            ),
            lasted=f"{years * YEAR_DAYS:,.0f}",
        )
        for key, returns, years in zip(
            watched.handpiece[rows].tolist(),
            watched.returns[rows].tolist(),
            watched.years[rows].tolist(),
            strict=True,
        )
        if key in handpieces
    ]
    return {
        "page": found,
        "from_says": text_of("lives.behind.watched"),
        "lasted_says": text_of("lives.behind.at_risk"),
        "order": text_of("lives.behind.most_first"),
        "left_out": (),
    }


def warranties_behind(covered: Warranties, page: str | None) -> dict[str, Any]:
    """Give what the page of the handpieces under warranty shows, those that run longest first."""
    order = np.argsort(-covered.left_days, kind="stable")
    found = Paginator(order.tolist(), LINES_A_PAGE).get_page(page)
    rows = list(found.object_list)
    handpieces = _handpieces(covered.handpiece[rows].tolist())
    jobs = Job.objects.in_bulk(set(covered.job[rows].tolist()))
    found.object_list = [
        BehindLine(
            handpiece=handpieces[key],
            began=jobs.get(job),
            ended=None,
            since="",
            says=text_of(Message("lives.behind.left", {"days": left})),
            lasted=f"{age:,.0f}",
        )
        for key, job, left, age in zip(
            covered.handpiece[rows].tolist(),
            covered.job[rows].tolist(),
            covered.left_days[rows].tolist(),
            covered.age_days[rows].tolist(),
            strict=True,
        )
        if key in handpieces
    ]
    return {
        "page": found,
        "from_says": text_of("lives.behind.since"),
        "order": text_of("lives.behind.longest_first"),
        "lasted_says": text_of(Message("lives.behind.lasted", {"clock": "days"})),
        "left_out": (),
    }


def _days(start: datetime, stop: datetime) -> int:
    """Give the days from one moment to another, to the nearest as everywhere in these lists."""
    return round((stop - start) / timedelta(days=1))


def _handpieces(keys: Iterable[int]) -> Mapping[int, Handpiece]:
    return Handpiece.objects.with_place().in_bulk(set(keys))


def _causes(jobs: Iterable[int]) -> dict[int, str]:
    rows = ConfirmedCause.objects.standing().filter(job_id__in=set(jobs)).order_by("entered_at")
    return {row.job_id: cause_name(row.cause_key) for row in rows}


def _ending(is_return: bool, job: int, causes: Mapping[int, str]) -> str:
    if is_return:
        return causes.get(job) or text_of("lives.behind.not_settled")
    return text_of("lives.behind.other_stay" if job >= 0 else "lives.behind.running")


def _left_out(behind: ShopLives) -> tuple[str, ...]:
    """Say how many handpieces had to be left out, and why."""
    counts = {
        "uncounted": behind.uncounted.size,
        "unknown_age": behind.of_unknown_age.size,
        "too_late": behind.seen_too_late.size,
    }
    return tuple(
        text_of(Message(f"lives.left_out.{key}", {"count": count}))
        for key, count in counts.items()
        if count
    )
