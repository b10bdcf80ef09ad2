"""Pages of the findings, the technician's own view, the ladder, and the cause confirmed."""

from functools import partial

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.views.decorators.http import require_http_methods, require_POST

from turnwell.errors import TurnwellError
from turnwell.web.jobs import actions
from turnwell.web.jobs.forms.base import JobForm
from turnwell.web.jobs.forms.explaining import CauseForm, OwnViewForm
from turnwell.web.jobs.forms.findings import BEFORE_OPENING, FindingsForm
from turnwell.web.jobs.models import Job
from turnwell.web.jobs.records import JobRecords
from turnwell.web.jobs.views.entry import FormPage, answer_form, job_or_404
from turnwell.web.shared.access import person, shop_only
from turnwell.web.shared.forms import sentence

__all__ = ["cause", "findings", "ladder", "own_view"]

OWN_VIEW = FormPage(
    "Your own view",
    "Keep my view, show the ladder",
    "causes",
    "Your view is kept. Here is the ladder.",
    template="jobs/own_view.html",
)


@require_http_methods(["GET", "POST"])
@shop_only
def findings(request: HttpRequest, code: str) -> HttpResponse:
    """Answer the findings: seen, looked and not seen, or not looked."""
    job = job_or_404(request, code)
    page = FormPage(
        "Findings",
        "Save the findings",
        "findings",
        "Findings saved.",
        cautions=("gloves",) if job.stage in BEFORE_OPENING else (),
        template="jobs/findings_form.html",
        more={"is_closed": job.stage in BEFORE_OPENING},
    )
    return answer_form(request, job, page, FindingsForm, actions.write_findings, job=job)


@require_http_methods(["GET", "POST"])
@shop_only
def own_view(request: HttpRequest, code: str) -> HttpResponse:
    """Ask for the technician's own view; then show the ladder."""
    job = job_or_404(request, code)
    answer = answer_form(request, job, OWN_VIEW, OwnViewForm, actions.write_own_view, job=job)
    if request.method == "POST" and isinstance(answer, HttpResponseRedirect):
        _rank(request, job, version=None)
    return answer


@require_POST
@shop_only
def ladder(request: HttpRequest, code: str) -> HttpResponse:
    """Rank the causes again by the evidence so far."""
    job = job_or_404(request, code)
    form = JobForm(request.POST, job=job)
    _rank(request, job, version=form.cleaned_data["version"] if form.is_valid() else None)
    return HttpResponseRedirect(f"{job.get_absolute_url()}#causes")


def _rank(request: HttpRequest, job: Job, *, version: int | None) -> None:
    try:
        actions.show_ladder(by=person(request), job=job, version=version)
    except TurnwellError as error:
        messages.error(request, sentence(error))


@require_http_methods(["GET", "POST"])
@shop_only
def cause(request: HttpRequest, code: str) -> HttpResponse:
    """Name the main cause and what contributed."""
    job = job_or_404(request, code)
    records = JobRecords(job)
    page = FormPage(
        "The main cause",
        "Confirm the cause",
        "causes",
        "Cause confirmed.",
        template="jobs/cause_form.html",
        more={"own_view": records.own_view, "has_ladder": records.ladder is not None},
    )
    make = partial(CauseForm, ranked=records.ranked, old=records.cause)
    return answer_form(request, job, page, make, actions.confirm_cause, job=job)
