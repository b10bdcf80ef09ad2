"""Pages of visits: write one down, correct it, take it back."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from turnwell.web.offices.models import Office
from turnwell.web.shared.access import person, shop_only
from turnwell.web.shared.forms import carry_out
from turnwell.web.shared.times import today_in_zone
from turnwell.web.visits.actions import add_visit, correct_visit, take_back_visit
from turnwell.web.visits.forms import CorrectVisitForm, TakeBackForm, VisitForm
from turnwell.web.visits.models import Visit

__all__ = ["visit", "visit_new", "visit_take_back"]


@shop_only
@require_http_methods(["GET", "POST"])
def visit_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down a visit at an office."""
    office = get_object_or_404(Office, pk=pk)
    form = VisitForm(request.POST or None, initial={"visited_on": today_in_zone(office.time_zone)})
    if request.method == "POST" and form.is_valid():
        added = carry_out(
            form, add_visit, by=person(request), office=office, details=form.details()
        )
        if added is not None:
            messages.success(request, f"The visit of {added.visited_on:%d %B %Y} is written down.")
            return redirect("office", pk)
    return render(request, "visits/visit_new.html", {"office": office, "form": form})


@shop_only
@require_http_methods(["GET", "POST"])
def visit(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a visit and correct it."""
    entry = get_object_or_404(Visit.objects.select_related("office", "entered_by"), pk=pk)
    form = CorrectVisitForm(request.POST or None, initial=CorrectVisitForm.initial_of(entry))
    if request.method == "POST" and form.is_valid():
        corrected = carry_out(
            form,
            correct_visit,
            by=person(request),
            visit=entry,
            details=form.details(),
            reason=form.cleaned_data["reason"],
        )
        if corrected is not None:
            messages.success(request, "The visit is corrected; the old entry stays on record.")
            return redirect("office", entry.office_id)
    return _visit_page(request, entry, form, TakeBackForm(prefix="back"))


@shop_only
@require_POST
def visit_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back a visit that did not happen."""
    entry = get_object_or_404(Visit.objects.select_related("office", "entered_by"), pk=pk)
    form = TakeBackForm(request.POST, prefix="back")
    if form.is_valid():
        taken_back = carry_out(
            form,
            take_back_visit,
            by=person(request),
            visit=entry,
            reason=form.cleaned_data["reason"],
        )
        if taken_back is not None:
            messages.success(request, "The visit is taken back; it stays on record, crossed out.")
            return redirect("office", entry.office_id)
    return _visit_page(
        request, entry, CorrectVisitForm(initial=CorrectVisitForm.initial_of(entry)), form
    )


def _visit_page(
    request: HttpRequest, entry: Visit, form: CorrectVisitForm, back: TakeBackForm
) -> HttpResponse:
    later = Visit.objects.filter(corrects=entry).select_related("entered_by").first()
    earlier = []
    before = entry.corrects
    while before is not None:
        earlier.append(before)
        before = before.corrects
    context = {"visit": entry, "form": form, "back": back, "later": later, "earlier": earlier}
    return render(request, "visits/visit.html", context)
