"""The page of a job: its whole trip."""

from dataclasses import replace
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from turnwell.catalogue import load
from turnwell.pictures import LadderShown
from turnwell.web.jobs.actions.estimating import ESTIMATING
from turnwell.web.jobs.analysis.compare import comparison
from turnwell.web.jobs.history import cause_name
from turnwell.web.jobs.models import Job, ShownLadder, Stage, Test
from turnwell.web.jobs.next_action import NextAction, next_action
from turnwell.web.jobs.records import JobRecords
from turnwell.web.jobs.steps import NOTHING_REPLACED, missing_for, next_steps
from turnwell.web.jobs.tests_on_file import TestOnFile
from turnwell.web.jobs.views.entry import CAUTIONS, job_or_404
from turnwell.web.shared.access import person
from turnwell.web.shared.ladders import shown_ladder
from turnwell.web.sterilizers.analysis.facts import drying_shares

__all__ = ["job_page"]

CAN_TEST = {
    Test.When.AS_RECEIVED: (Stage.TAKEN_IN, Stage.TESTED_AS_RECEIVED),
    Test.When.FINAL: (Stage.REBUILT, Stage.PROVED),
}


@require_GET
def job_page(request: HttpRequest, code: str) -> HttpResponse:
    """Show a job: the trip, the passages, and the one thing to do next."""
    job = job_or_404(request, code)
    if code != job.code:
        return HttpResponseRedirect(job.get_absolute_url())
    is_shop = person(request).is_shop
    records = JobRecords(job)
    action = next_action(records) if is_shop else None
    context = {
        "job": job,
        "records": records,
        "kind": load().classes.get(job.handpiece.class_key),
        "received": records.tests_of(Test.When.AS_RECEIVED),
        "finals": records.tests_of(Test.When.FINAL),
        **_compared(records),
        "seen": [finding for finding in records.findings if finding.is_seen],
        "not_seen": [finding for finding in records.findings if not finding.is_seen],
        "action": action,
        "other_steps": _other_steps(job, action) if is_shop else [],
        "cautions": CAUTIONS,
        **_explained(records),
        **_allowed(job, is_shop=is_shop),
    }
    return render(request, "jobs/job.html", context)


def _explained(records: JobRecords) -> dict[str, Any]:
    """Give what the passage on causes shows."""
    cause, view, shown = records.cause, records.own_view, records.ladder
    return {
        "cause_name": cause_name(cause.cause_key) if cause else "",
        "drying": drying_shares(records.job.office_id, records.job.taken_in_at),
        "cause_fact": load().causes.get(cause.cause_key) if cause else None,
        "own_view_name": cause_name(view.cause_key) if view and view.cause_key else "none yet",
        "ladder": _ladder(records.job, shown) if shown else None,
        "ladder_is_old": shown is not None and records.last_evidence_at > shown.at,
    }


def _ladder(job: Job, shown: ShownLadder) -> LadderShown:
    """Give the ranking as it was shown; a job that is over has nothing to look at next."""
    ladder = shown_ladder(shown.record)
    return replace(ladder, look_next=(), at_visit=()) if job.ended_at else ladder


def _allowed(job: Job, *, is_shop: bool) -> dict[str, bool]:
    """Give what this person may do to the job where it stands."""
    is_estimated = job.stage == Stage.ESTIMATED
    return {
        "may_write": is_shop,
        "may_test_received": is_shop and job.stage in CAN_TEST[Test.When.AS_RECEIVED],
        "may_test_final": is_shop and job.stage in CAN_TEST[Test.When.FINAL],
        "may_estimate": is_shop and job.stage in ESTIMATING,
        "may_rebuild": is_shop and _is_rebuilding(job),
        "is_testing": job.stage in {Stage.TAKEN_IN, Stage.REBUILT},
        "is_estimated": is_estimated,
        "may_answer": is_estimated and not is_shop,
    }


def _is_rebuilding(job: Job) -> bool:
    """Tell whether parts go in now: after the agreement, or where none is needed."""
    return job.stage in {Stage.AGREED, Stage.REBUILT} or any(
        step.to == Stage.REBUILT for step in next_steps(job)
    )


def _compared(records: JobRecords) -> dict[str, Any]:
    """Hold the last final test that was made against the last as received, traces too."""
    before = _last_made(records.tests_of(Test.When.AS_RECEIVED))
    after = _last_made(records.tests_of(Test.When.FINAL))
    if before is None or after is None:
        return {"comparison": None}
    heard_before, heard_after = before.heard, after.heard
    return {
        "comparison": comparison(before, after),
        "trace_before": heard_before.listening if heard_before else None,
        "trace_after": heard_after.listening if heard_after else None,
        # Drawn once on the page: under the final test's, not at its own place as well.
        "drawn_below": heard_before.pk if heard_before and heard_after else None,
    }


def _last_made(tests: list[TestOnFile]) -> TestOnFile | None:
    made = [record for record in tests if record.readings]
    return made[-1] if made else None


def _other_steps(job: Job, action: NextAction | None) -> list[Stage]:
    """Give the steps that the main action neither takes nor leads up to."""
    return [
        step.to
        for place, step in enumerate(next_steps(job))
        if not (action and action.address == reverse("job-move", args=[job.code, step.to]))
        # The usual step, which words alone do not open yet: what the main action asks for comes
        # before it.
        and not (place == 0 and missing_for(job, step, NOTHING_REPLACED))
    ]
