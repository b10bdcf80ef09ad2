"""The cycle review: issue one, hand an issued one out."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from turnwell.errors import TurnwellError
from turnwell.web.evidence.views import paper_response
from turnwell.web.shared.access import person, shop_only
from turnwell.web.shared.forms import sentence
from turnwell.web.sterilizers.actions import issue_review, issue_run_review
from turnwell.web.sterilizers.models import CycleRecord, IssuedReview, Sterilizer

__all__ = ["review_issue", "review_paper", "run_review_issue"]


@shop_only
@require_POST
def review_issue(request: HttpRequest, pk: int) -> HttpResponse:
    """Issue a cycle review and go back to the sterilizer's papers."""
    row = get_object_or_404(Sterilizer.objects.select_related("office"), pk=pk)
    try:
        issue_review(by=person(request), sterilizer=row)
    except TurnwellError as error:
        messages.error(request, sentence(error))
    else:
        messages.success(request, "The cycle review is issued; it is kept as it is.")
    return redirect(f"{row.get_absolute_url()}#papers")


@shop_only
@require_POST
def run_review_issue(request: HttpRequest, pk: int) -> HttpResponse:
    """Issue the review of one run and go back to it."""
    rows = CycleRecord.objects.select_related("sterilizer__office", "file")
    row = get_object_or_404(rows, pk=pk)
    try:
        issue_run_review(by=person(request), record=row)
    except TurnwellError as error:
        messages.error(request, sentence(error))
    else:
        messages.success(request, "The review of this run is issued; it is kept as it is.")
    return redirect(f"{row.get_absolute_url()}#papers")


@require_safe
def review_paper(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand an issued review out byte for byte, to whoever may see its sterilizer."""
    seen = Sterilizer.objects.visible_to(person(request))
    issued = (
        IssuedReview.objects.filter(pk=pk, sterilizer__in=seen)
        .select_related("file__erased_by", "sterilizer")
        .first()
    )
    if issued is None:
        raise Http404("There is nothing at this address for you.")
    return paper_response(request, issued.file)
