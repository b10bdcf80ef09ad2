"""The page of one form about a job: shown, refused with what was typed, or done and back.

Every form has an address of its own and works without scripts. When the job was changed in another
tab or by another person meanwhile, nothing is written: the page says who changed what and when,
keeps what was typed, and a second saving is meant as it stands.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from turnwell.errors import ChangedMeanwhileError, TurnwellError
from turnwell.web.jobs.forms.base import JobForm
from turnwell.web.jobs.models import Job
from turnwell.web.jobs.records import JobRecords
from turnwell.web.shared.access import person, visible_or_404
from turnwell.web.shared.codes import read_code
from turnwell.web.shared.forms import sentence

__all__ = ["CAUTIONS", "FormPage", "answer_form", "job_or_404"]

CAUTIONS = {
    "pressure": "Set the drive pressure to the label, measured with a gauge at the handpiece.",
    "eyes": "Wear eye protection. Bur or blank fully seated; never run a push-button chuck empty;"
    " never press the cap while it runs. Stop if it gets warm.",
    "noise": "Keep the head away from the ears; wear hearing protection on long runs.",
    "gloves": "Contaminated until sterilized: leave it in its pouch until it has been. Gloves and"
    " eye protection.",
    "again": "A repaired handpiece is sterilized again before it goes to a patient. A pass at the"
    " bench is not a clearance: the maker’s instructions and local rules decide.",
    "unsafe": "It gets hot, slips its bur or sheds its cap: out of use now, whatever is found.",
    "patient": "No patient data in any text.",
}


@dataclass(frozen=True, slots=True)
class FormPage:
    """What a form's page says.

    Parameters
    ----------
    title, button : str
        Heading, and the one button.
    anchor : str
        The passage of the job's page to go back to.
    done : str
        What is said once it is saved.
    cautions : tuple of str
        Keys of `CAUTIONS`, shown above the form.
    template : str
        Where the form is drawn.
    more : mapping
        Further values for the template.
    warns : callable or None
        Gives what is to be said beside `done` of what the action made; empty for nothing.
    """

    title: str
    button: str
    anchor: str
    done: str = "Saved."
    cautions: tuple[str, ...] = ()
    template: str = "jobs/form.html"
    more: Mapping[str, Any] = field(default_factory=dict)
    warns: Callable[[object], str] | None = None


def job_or_404(request: HttpRequest, code: str) -> Job:
    """Give the job of an address, if this person may see it."""
    read = read_code(code)
    if read is None:
        raise Http404("There is no job with that code.")
    return visible_or_404(Job.objects.with_handpiece(), person(request), code=read)


def answer_form(
    request: HttpRequest,
    job: Job,
    page: FormPage,
    make: Callable[..., JobForm],
    act: Callable[..., object],
    /,
    **given: Any,
) -> HttpResponse:
    """Show a form, or hand what was typed to its action.

    Parameters
    ----------
    make : callable
        Makes the form from the request's data and the job.
    act : callable
        The action; takes by, version and what the form's `arguments` give.
    given
        Further arguments of the action, the job among them where it takes one.
    """
    if request.method != "POST":
        return _shown(request, job, page, make(job=job))
    form = make(request.POST, request.FILES, job=job)
    if not form.is_valid():
        return _shown(request, job, page, form, status=400)
    try:
        made = act(
            by=person(request),
            version=form.cleaned_data["version"],
            **given,
            **form.arguments(),
        )
    except ChangedMeanwhileError:
        job.refresh_from_db(fields=["version", "stage"])
        form.look_again()
        return _shown(request, job, page, form, status=409, changed=JobRecords(job).history[:3])
    except TurnwellError as error:
        form.add_error(None, sentence(error))
        return _shown(request, job, page, form, status=400)
    messages.success(request, page.done)
    if page.warns is not None and (warning := page.warns(made)):
        messages.warning(request, warning)
        # The top of the page, where messages stand: the passage would scroll them out of sight.
        return HttpResponseRedirect(job.get_absolute_url())
    return HttpResponseRedirect(f"{job.get_absolute_url()}#{page.anchor}")


def _shown(
    request: HttpRequest,
    job: Job,
    page: FormPage,
    form: JobForm,
    *,
    status: int = 200,
    **more: Any,
) -> HttpResponse:
    context = {
        "job": job,
        "page": page,
        "form": form,
        "cautions": [CAUTIONS[key] for key in page.cautions],
        "is_multipart": form.is_multipart(),
        **page.more,
        **more,
    }
    return render(request, page.template, context, status=status)
