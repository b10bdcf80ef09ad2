"""The shop's own confirmed causes, counted for the ranking.

Only closed jobs that came for a fault count. What was settled before the ladder was seen, or
against it, counts as a whole case; agreement after seeing it as half of one. The last 2,000 of a
group of classes are read: enough to outweigh the trade's experience many times over, few enough to
be quick.
"""

from collections import defaultdict
from datetime import timedelta

from django.db.models import QuerySet

from turnwell.catalogue import load
from turnwell.cause import ConfirmedCase, ShopCounts, weight_of_case
from turnwell.web.jobs.models import ConfirmedCause, Finding, Job, ShownLadder

__all__ = ["office_counts", "shop_counts"]

MOST_CASES = 2000
OFFICE_MEMORY = timedelta(days=730)


def shop_counts(job: Job) -> ShopCounts:
    """Count the cases of the job's group of classes, this job left out."""
    return ShopCounts.from_cases(_cases(_closed(job)))


def office_counts(job: Job) -> ShopCounts:
    """Count the cases of the job's group in its own office, over the 24 months before it."""
    since = job.taken_in_at - OFFICE_MEMORY
    return ShopCounts.from_cases(
        _cases(_closed(job).filter(office_id=job.office_id, taken_in_at__gte=since))
    )


def _closed(job: Job) -> QuerySet[Job]:
    facts = load()
    group = facts.handpiece_class(job.handpiece.class_key).group
    classes = [key for key, kind in facts.classes.items() if kind.group == group]
    return Job.objects.filter(
        ended_at__isnull=False,
        reason=Job.Reason.FAULT,
        handpiece__class_key__in=classes,
        taken_in_at__lt=job.taken_in_at,
    ).exclude(pk=job.pk)


def _cases(jobs: QuerySet[Job]) -> list[ConfirmedCase]:
    """Give the confirmed cases of some jobs, the latest ones first, up to the bound."""
    chosen = list(jobs.order_by("-taken_in_at", "-pk").values_list("pk", flat=True)[:MOST_CASES])
    if not chosen:
        return []
    firsts = _first_on_ladder(chosen)
    seen, not_seen = _findings(chosen)
    return [
        ConfirmedCase(
            cause=cause.cause_key,
            seen=tuple(seen[cause.job_id]),
            not_seen=tuple(not_seen[cause.job_id]),
            weight=weight_of_case(
                is_own_view=cause.is_own_view
                or cause.cause_key != firsts.get(cause.job_id, cause.cause_key),
                is_after_ladder=cause.is_after_ladder,
            ),
        )
        for cause in ConfirmedCause.objects.standing().filter(job_id__in=chosen)
    ]


def _first_on_ladder(jobs: list[int]) -> dict[int, str]:
    """Give the first cause of the ladder last shown for each job."""
    rows = ShownLadder.objects.filter(job_id__in=jobs).order_by("at", "pk")
    return dict(rows.values_list("job_id", "record__causes__0__key"))


def _findings(
    jobs: list[int],
) -> tuple[defaultdict[int, list[str]], defaultdict[int, list[str]]]:
    seen: defaultdict[int, list[str]] = defaultdict(list)
    not_seen: defaultdict[int, list[str]] = defaultdict(list)
    rows = Finding.objects.standing().filter(job_id__in=jobs)
    for job_id, key, answer in rows.values_list("job_id", "key", "answer"):
        (seen if answer == Finding.Answer.SEEN else not_seen)[job_id].append(key)
    return seen, not_seen
