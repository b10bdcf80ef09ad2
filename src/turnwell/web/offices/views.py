"""Pages of offices: the round, one office, its details and chairs."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from turnwell.web.handpieces.models import Handpiece
from turnwell.web.handpieces.states import with_states
from turnwell.web.jobs.models import Job
from turnwell.web.offices.actions import (
    OFFICE_FIELDS,
    add_chair,
    add_office,
    edit_office,
    remove_chair,
    rename_chair,
)
from turnwell.web.offices.counts import office_lines
from turnwell.web.offices.forms import ChairForm, OfficeForm
from turnwell.web.offices.models import Chair, Office
from turnwell.web.shared.access import person, shop_only, visible_or_404
from turnwell.web.shared.forms import carry_out
from turnwell.web.shared.rows import snapshot_of
from turnwell.web.shop.bench import bench_lines
from turnwell.web.shop.queries import the_shop
from turnwell.web.visits.models import Visit

__all__ = [
    "chair",
    "chair_add",
    "chair_remove",
    "office",
    "office_edit",
    "office_new",
    "offices",
]

OFFICES_A_PAGE = 50
HANDPIECES_SHOWN = 30
OPEN_SHOWN = 20
JOBS_SHOWN = 10
VISITS_SHOWN = 10


@require_safe
def offices(request: HttpRequest) -> HttpResponse:
    """Show the offices of the round; people of an office go to their own."""
    user = person(request)
    if user.office_id is not None:
        return redirect("office", user.office_id)
    rows = Office.objects.visible_to(user).order_by("-is_active", "name")
    page = Paginator(rows, OFFICES_A_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "lines": office_lines(list(page.object_list))}
    return render(request, "offices/offices.html", context)


@require_safe
def office(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one office: what is at the bench, its handpieces, jobs, sterilizers, visits, chairs."""
    user = person(request)
    row = visible_or_404(Office.objects.all(), user, pk=pk)
    in_use = Handpiece.objects.filter(office=row, retired_on__isnull=True)
    jobs = Job.objects.filter(office=row)
    here = jobs.open().with_handpiece().order_by("-stage_since", "-pk")
    ended = jobs.filter(ended_at__isnull=False).with_handpiece().order_by("-taken_in_at", "-pk")
    context = {
        "office": row,
        "open_lines": bench_lines(here[:OPEN_SHOWN], timezone.now()),
        "open_count": here.count(),
        "handpieces": with_states(
            in_use.with_place().order_by("class_key", "serial_folded", "pk")[:HANDPIECES_SHOWN]
        ),
        "handpiece_count": in_use.count(),
        "sterilizers": row.sterilizers.with_counts().order_by("-is_active", "name"),
        "jobs": ended[:JOBS_SHOWN],
    }
    if user.is_shop:
        visits = Visit.objects.standing().filter(office=row)
        context |= {
            "visits": visits[:VISITS_SHOWN],
            "chairs": row.chairs.all(),
            "form": ChairForm(),
        }
    return render(request, "offices/office.html", context)


@shop_only
@require_http_methods(["GET", "POST"])
def office_new(request: HttpRequest) -> HttpResponse:
    """Put an office on the round."""
    form = OfficeForm(request.POST or None, initial={"time_zone": the_shop().time_zone})
    if request.method == "POST" and form.is_valid():
        added = carry_out(form, add_office, by=person(request), details=form.details())
        if added is not None:
            messages.success(request, f"{added} is on the round. Put in its handpieces next.")
            return redirect("office", added.pk)
    return render(request, "offices/office_edit.html", {"form": form, "office": None})


@shop_only
@require_http_methods(["GET", "POST"])
def office_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what is kept of an office."""
    row = get_object_or_404(Office, pk=pk)
    form = OfficeForm(request.POST or None, initial=OfficeForm.initial_of(row))
    if request.method == "POST" and form.is_valid():
        edited = carry_out(
            form,
            edit_office,
            by=person(request),
            office=row,
            details=form.details(),
            seen=request.POST.get("seen", ""),
        )
        if edited is not None:
            messages.success(request, f"{edited} is saved.")
            return redirect("office", pk)
        row.refresh_from_db()
    context = {"form": form, "office": row, "seen": snapshot_of(row, OFFICE_FIELDS)}
    return render(request, "offices/office_edit.html", context)


@shop_only
@require_POST
def chair_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a chair to an office."""
    row = get_object_or_404(Office, pk=pk)
    form = ChairForm(request.POST)
    if form.is_valid():
        added = carry_out(
            form, add_chair, by=person(request), office=row, name=form.cleaned_data["name"]
        )
        if added is not None:
            messages.success(request, f"Chair {added} is added.")
            return redirect("office", pk)
    return render(request, "offices/chair.html", {"office": row, "form": form, "chair": None})


@shop_only
@require_http_methods(["GET", "POST"])
def chair(request: HttpRequest, pk: int) -> HttpResponse:
    """Rename a chair."""
    row = get_object_or_404(Chair.objects.select_related("office"), pk=pk)
    form = ChairForm(request.POST or None, initial={"name": row.name})
    if request.method == "POST" and form.is_valid():
        named = carry_out(
            form, rename_chair, by=person(request), chair=row, name=form.cleaned_data["name"]
        )
        if named is not None:
            messages.success(request, f"The chair is called {named} now.")
            return redirect("office", row.office_id)
    context = {
        "office": row.office,
        "form": form,
        "chair": row,
        "handpiece_count": row.handpieces.count(),
    }
    return render(request, "offices/chair.html", context)


@shop_only
@require_POST
def chair_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Remove a chair; its handpieces stay with the office."""
    row = get_object_or_404(Chair, pk=pk)
    remove_chair(by=person(request), chair=row)
    messages.success(request, f"Chair {row} is removed; its handpieces stay with the office.")
    return redirect("office", row.office_id)
