"""The office review: its page, the returns behind it, and the paper for a visit."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from turnwell.errors import TurnwellError
from turnwell.web.evidence.views import paper_response
from turnwell.web.lives.actions import issue_office_review
from turnwell.web.lives.analysis.handpieces import returns_between
from turnwell.web.lives.analysis.review import PERIODS
from turnwell.web.lives.analysis.windows import moment_of
from turnwell.web.lives.behind import lives_behind, returns_behind, watched_behind
from turnwell.web.lives.models import IssuedOfficeReview
from turnwell.web.lives.page import page_of, review_now
from turnwell.web.lives.views.period import years_asked
from turnwell.web.offices.models import Office
from turnwell.web.shared.access import person, shop_only, visible_or_404
from turnwell.web.shared.forms import sentence
from turnwell.web.shared.times import day_shown

__all__ = ["behind", "issue", "paper", "review", "visit_behind"]

FIGURES = {
    "returns": "The returns behind the review",
    "watched": "The handpieces under observation",
    "causes": "The lives behind the causes",
}


@require_safe
def review(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the review of an office."""
    user = person(request)
    office = visible_or_404(Office.objects.all(), user, pk=pk)
    years = years_asked(request)
    context = {"page": page_of(office, years=years, now=timezone.now()), "office": office}
    context |= {"years": years, "periods": PERIODS}
    context["papers"] = office.reviews.select_related("file", "issued_by")[:6]
    return render(request, "lives/review.html", context)


@require_safe
def behind(request: HttpRequest, pk: int, figure: str) -> HttpResponse:
    """List what stands behind a figure of the review."""
    office = visible_or_404(Office.objects.all(), person(request), pk=pk)
    years = years_asked(request)
    records, found = review_now(office, years=years, now=timezone.now())
    page = request.GET.get("page")
    if figure == "returns":
        lines = returns_behind(records, found.returns, page)
    elif figure == "watched":
        lines = watched_behind(found.watched, page)
    elif figure == "causes" and found.causes is not None:
        lines = lives_behind(found.causes.behind, page)
    else:
        raise Http404("There is no such figure.")
    return _behind(request, office, years, FIGURES[figure], lines)


@require_safe
def visit_behind(request: HttpRequest, pk: int, visit: int) -> HttpResponse:
    """List the returns before and after a visit."""
    office = visible_or_404(Office.objects.all(), person(request), pk=pk)
    years = years_asked(request)
    records, found = review_now(office, years=years, now=timezone.now())
    checked = next((one for one in found.visits if one.visit.pk == visit), None)
    if checked is None:
        raise Http404("The review does not look into that visit.")
    from_s, to_s = (moment_of(day, office) for day in (checked.span.start, checked.span.stop))
    returns = returns_between(records, office.pk, from_s, to_s)
    lines = returns_behind(records, returns, request.GET.get("page"))
    title = f"Before and after {day_shown(checked.span.day)}"
    return _behind(request, office, years, title, lines)


def _behind(
    request: HttpRequest, office: Office, years: int, title: str, lines: dict[str, Any]
) -> HttpResponse:
    context = {
        "place": "offices",
        "back": f"{_address(office)}?years={years}",
        "back_says": str(office),
        "title": title,
        "keep": f"years={years}",
        **lines,
    }
    return render(request, "lives/behind.html", context)


@shop_only
@require_POST
def issue(request: HttpRequest, pk: int) -> HttpResponse:
    """Issue the office review and go back to its papers."""
    office = get_object_or_404(Office, pk=pk)
    try:
        issue_office_review(by=person(request), office=office, years=years_asked(request))
    except TurnwellError as error:
        messages.error(request, sentence(error))
    else:
        messages.success(request, "The office review is issued; it is kept as it is.")
    return redirect(f"{_address(office)}#papers")


@require_safe
def paper(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand an issued review out byte for byte, to whoever may see its office."""
    seen = Office.objects.visible_to(person(request))
    issued = (
        IssuedOfficeReview.objects.filter(pk=pk, office__in=seen)
        .select_related("file__erased_by")
        .first()
    )
    if issued is None:
        raise Http404("There is nothing at this address for you.")
    return paper_response(request, issued.file)


def _address(office: Office) -> str:
    return reverse("office-review", args=[office.pk])
