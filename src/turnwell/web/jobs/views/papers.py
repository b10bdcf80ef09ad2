"""Papers of a job: issue one, hand an issued one out, print the job's label."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.views.decorators.http import require_POST, require_safe

from turnwell.errors import TurnwellError
from turnwell.web.evidence.views import paper_response
from turnwell.web.handpieces.names import class_name
from turnwell.web.jobs.actions.papers import issue_paper
from turnwell.web.jobs.models import IssuedPaper, Job
from turnwell.web.jobs.views.entry import job_or_404
from turnwell.web.shared.access import person, shop_only
from turnwell.web.shared.forms import sentence
from turnwell.web.shared.labels import label_response

__all__ = ["issue", "job_label", "paper"]


@require_POST
@shop_only
def issue(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    """Issue a paper and go back to the job's papers."""
    job = job_or_404(request, code)
    if kind not in IssuedPaper.Kind.values:
        raise Http404("There is no such paper.")
    try:
        issued = issue_paper(by=person(request), job=job, kind=IssuedPaper.Kind(kind))
    except TurnwellError as error:
        messages.error(request, sentence(error))
    else:
        messages.success(request, f"{issued.get_kind_display()} issued; it is kept as it is.")
    return HttpResponseRedirect(f"{job.get_absolute_url()}#papers")


@require_safe
def paper(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand an issued paper out byte for byte, to whoever may see its job."""
    jobs = Job.objects.visible_to(person(request))
    issued = (
        IssuedPaper.objects.filter(pk=pk, job__in=jobs)
        .select_related("file__erased_by", "job")
        .first()
    )
    if issued is None:
        raise Http404("There is nothing at this address for you.")
    return paper_response(request, issued.file)


@require_safe
@shop_only
def job_label(request: HttpRequest, code: str) -> HttpResponse:
    """Print the label of a job."""
    job = job_or_404(request, code)
    handpiece = job.handpiece
    return label_response(
        code=job.code,
        handpiece=str(handpiece.model or class_name(handpiece.class_key)),
        serial=handpiece.serial,
        office=job.office.name,
    )
