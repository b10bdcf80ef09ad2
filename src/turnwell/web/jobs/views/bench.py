"""Pages of notes, parts, running in, waiting, and of the step a job takes."""

from functools import partial

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.views.decorators.http import require_http_methods, require_POST

from turnwell.errors import TurnwellError
from turnwell.web.jobs import actions
from turnwell.web.jobs.forms.base import JobForm
from turnwell.web.jobs.forms.bench import MoveForm, NoteForm, PartForm, RunInForm, WaitingForm
from turnwell.web.jobs.models import Stage
from turnwell.web.jobs.steps import missing_for, step_between
from turnwell.web.jobs.views.entry import FormPage, answer_form, job_or_404
from turnwell.web.shared.access import person, shop_only
from turnwell.web.shared.forms import sentence

__all__ = ["move", "note_new", "part_new", "run_in_new", "stop_waiting", "waiting"]

NOTE = FormPage("A note", "Save the note", "notes", "Note saved.")
PART = FormPage("A part used", "Save the part", "rebuild", "Part saved.")
RUN_IN = FormPage(
    "Running in",
    "Save the minutes",
    "rebuild",
    "Running in saved.",
    cautions=("pressure", "eyes", "noise"),
)
WAITING = FormPage("What it waits for", "Save", "trip", "Saved; the stage stays as it is.")


@require_http_methods(["GET", "POST"])
@shop_only
def note_new(request: HttpRequest, code: str) -> HttpResponse:
    """Write a note."""
    job = job_or_404(request, code)
    return answer_form(request, job, NOTE, NoteForm, actions.write_note, job=job)


@require_http_methods(["GET", "POST"])
@shop_only
def part_new(request: HttpRequest, code: str) -> HttpResponse:
    """Write down a part used."""
    job = job_or_404(request, code)
    return answer_form(request, job, PART, PartForm, actions.use_part, job=job)


@require_http_methods(["GET", "POST"])
@shop_only
def run_in_new(request: HttpRequest, code: str) -> HttpResponse:
    """Write down minutes of running in."""
    job = job_or_404(request, code)
    return answer_form(request, job, RUN_IN, RunInForm, actions.write_run_in, job=job)


@require_http_methods(["GET", "POST"])
@shop_only
def waiting(request: HttpRequest, code: str) -> HttpResponse:
    """Say what the job waits for."""
    job = job_or_404(request, code)
    start = {"what": job.waiting_for, "owner": job.waiting_owner or job.office.name}
    make = partial(WaitingForm, initial=start)
    return answer_form(request, job, WAITING, make, actions.wait_for, job=job)


@require_POST
@shop_only
def stop_waiting(request: HttpRequest, code: str) -> HttpResponse:
    """Say that what it waited for has come."""
    job = job_or_404(request, code)
    form = JobForm(request.POST, job=job)
    version = form.cleaned_data["version"] if form.is_valid() else None
    try:
        actions.stop_waiting(by=person(request), job=job, version=version)
        messages.success(request, "It waits no longer.")
    except TurnwellError as error:
        messages.error(request, sentence(error))
    return HttpResponseRedirect(job.get_absolute_url())


@require_http_methods(["GET", "POST"])
@shop_only
def move(request: HttpRequest, code: str, to: str) -> HttpResponse:
    """Take the job a step on, with words where the step needs them."""
    job = job_or_404(request, code)
    if to not in Stage.values:
        raise Http404("There is no such stage.")
    stage = Stage(to)
    step = step_between(job, stage)
    # The form asks for the reason itself; what else is missing is said above it.
    missing = missing_for(job, step, "given" if step.needs_reason else "") if step else ""
    page = FormPage(
        stage.label,
        _button(stage),
        "trip",
        f"{stage.label}.",
        cautions=("again",) if stage.is_end or stage == Stage.PROVED else (),
        template="jobs/move.html",
        more={"missing": missing, "step": step, "is_ready": step is not None},
    )
    make = partial(MoveForm, needs_reason=bool(step and step.needs_reason))
    return answer_form(request, job, page, make, actions.move_on, job=job, to=stage)


def _button(stage: Stage) -> str:
    return {
        Stage.HANDED_BACK: "Hand back",
        Stage.HANDED_BACK_UNREPAIRED: "Hand back unrepaired",
    }.get(stage, stage.label)
