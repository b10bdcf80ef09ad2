"""Pages of sterilizers: the list by office, one of them, what is kept of it, its cycles, clock."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from turnwell.web.offices.models import Office
from turnwell.web.shared.access import person, shop_only, visible_or_404
from turnwell.web.shared.forms import carry_out
from turnwell.web.shared.rows import snapshot_of
from turnwell.web.shared.times import today_in_zone
from turnwell.web.sterilizers.actions import (
    PLAN_FIELDS,
    STERILIZER_FIELDS,
    add_plan,
    add_sterilizer,
    edit_plan,
    edit_sterilizer,
    remove_plan,
    set_clock,
)
from turnwell.web.sterilizers.background import go_on
from turnwell.web.sterilizers.clock import first_day_shown
from turnwell.web.sterilizers.forms.records import FilesForm
from turnwell.web.sterilizers.forms.sterilizers import ClockForm, PlanForm, SterilizerForm
from turnwell.web.sterilizers.models import Plan, Sterilizer
from turnwell.web.sterilizers.page import page_of

__all__ = [
    "clock",
    "plan",
    "plan_new",
    "plan_remove",
    "sterilizer",
    "sterilizer_edit",
    "sterilizer_new",
    "sterilizers",
]


@require_safe
def sterilizers(request: HttpRequest) -> HttpResponse:
    """Show the sterilizers of the round by office; people of an office see their own."""
    user = person(request)
    go_on()
    rows = Sterilizer.objects.visible_to(user).select_related("office").with_counts()
    without = Office.objects.filter(is_active=True, sterilizers__isnull=True)
    context = {
        "sterilizers": rows.order_by("office__name", "-is_active", "name"),
        "offices": without.order_by("name") if user.is_shop else [],
    }
    return render(request, "sterilizers/sterilizers.html", context)


@require_safe
def sterilizer(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one sterilizer: what its records say, its returns and visits, its water, its records."""
    user = person(request)
    row = visible_or_404(Sterilizer.objects.select_related("office"), user, pk=pk)
    go_on()
    context: dict[str, Any] = {"sterilizer": row, "page": page_of(row, user)}
    if user.is_shop:
        context["form"] = FilesForm()
    return render(request, "sterilizers/sterilizer.html", context)


@shop_only
@require_http_methods(["GET", "POST"])
def sterilizer_new(request: HttpRequest, office: int) -> HttpResponse:
    """Put a sterilizer of an office into the book."""
    row = get_object_or_404(Office, pk=office)
    form = SterilizerForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        added = carry_out(
            form, add_sterilizer, by=person(request), office=row, details=form.details()
        )
        if added is not None:
            messages.success(request, f"Sterilizer {added} is in the book. Say what it is set to.")
            return redirect("plan-new", added.pk)
    context = {"form": form, "office": row, "sterilizer": None}
    return render(request, "sterilizers/sterilizer_edit.html", context)


@shop_only
@require_http_methods(["GET", "POST"])
def sterilizer_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what is kept of a sterilizer."""
    row = _sterilizer(pk)
    form = SterilizerForm(request.POST or None, initial=SterilizerForm.initial_of(row))
    if request.method == "POST" and form.is_valid():
        edited = carry_out(
            form,
            edit_sterilizer,
            by=person(request),
            sterilizer=row,
            details=form.details(),
            seen=request.POST.get("seen", ""),
        )
        if edited is not None:
            messages.success(request, f"Sterilizer {edited} is saved.")
            return redirect("sterilizer", pk)
        row.refresh_from_db()
    context = {
        "form": form,
        "office": row.office,
        "sterilizer": row,
        "seen": snapshot_of(row, STERILIZER_FIELDS),
    }
    return render(request, "sterilizers/sterilizer_edit.html", context)


@shop_only
@require_http_methods(["GET", "POST"])
def plan_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down a cycle that the sterilizer is set to."""
    row = _sterilizer(pk)
    form = PlanForm(request.POST or None, initial={"is_usual": not row.plans.exists()})
    if request.method == "POST" and form.is_valid():
        added = carry_out(
            form, add_plan, by=person(request), sterilizer=row, details=form.details()
        )
        if added is not None:
            messages.success(request, f"The cycle {added} is written down.")
            return redirect("sterilizer", pk)
    context = {"form": form, "sterilizer": row, "plan": None}
    return render(request, "sterilizers/plan.html", context)


@shop_only
@require_http_methods(["GET", "POST"])
def plan(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a cycle."""
    row = get_object_or_404(Plan.objects.select_related("sterilizer__office"), pk=pk)
    form = PlanForm(request.POST or None, initial=PlanForm.initial_of(row))
    if request.method == "POST" and form.is_valid():
        edited = carry_out(
            form,
            edit_plan,
            by=person(request),
            plan=row,
            details=form.details(),
            seen=request.POST.get("seen", ""),
        )
        if edited is not None:
            messages.success(
                request, f"The cycle {edited} is saved. Records read before keep the plan they had."
            )
            return redirect("sterilizer", row.sterilizer_id)
        row.refresh_from_db()
    context = {
        "form": form,
        "sterilizer": row.sterilizer,
        "plan": row,
        "seen": snapshot_of(row, PLAN_FIELDS),
    }
    return render(request, "sterilizers/plan.html", context)


@shop_only
@require_POST
def plan_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Remove a cycle."""
    row = get_object_or_404(Plan, pk=pk)
    remove_plan(by=person(request), plan=row)
    messages.success(request, f"The cycle {row} is removed; what was read stays as it is.")
    return redirect("sterilizer", row.sterilizer_id)


@shop_only
@require_http_methods(["GET", "POST"])
def clock(request: HttpRequest, pk: int) -> HttpResponse:
    """Say how far the sterilizer's clock is off."""
    row = _sterilizer(pk)
    from_day = first_day_shown(row) or today_in_zone(row.office.time_zone)
    form = ClockForm(request.POST or None, initial={"from_day": from_day})
    if request.method == "POST" and form.is_valid():
        written = carry_out(
            form,
            set_clock,
            by=person(request),
            sterilizer=row,
            minutes_ahead=form.minutes_ahead,
            from_day=form.cleaned_data["from_day"],
        )
        if written is not None:
            messages.success(request, f"The clock is set; {_moved(written.moved)}.")
            return redirect("sterilizer", pk)
    context = {
        "form": form,
        "sterilizer": row,
        "settings": row.clocks.standing().select_related("entered_by"),
    }
    return render(request, "sterilizers/clock.html", context)


def _moved(count: int) -> str:
    """Say how many records moved with a clock.

    >>> _moved(0), _moved(1)
    ('no record moved: all are of days before, or stood there already', '1 record moved with it')
    """
    if not count:
        return "no record moved: all are of days before, or stood there already"
    return f"{count} record{'' if count == 1 else 's'} moved with it"


def _sterilizer(pk: int) -> Sterilizer:
    return get_object_or_404(Sterilizer.objects.select_related("office"), pk=pk)
