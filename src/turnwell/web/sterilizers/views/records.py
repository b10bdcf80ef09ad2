"""Pages of cycle records: the list, one of them, its cycle, its load."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from turnwell.errors import TurnwellError
from turnwell.web.shared.access import person, shop_only, visible_or_404
from turnwell.web.shared.forms import carry_out, sentence
from turnwell.web.shared.times import shown_in_zone
from turnwell.web.sterilizers.actions import (
    choose_plan,
    review_again,
    take_back_record,
    write_load,
    write_start,
)
from turnwell.web.sterilizers.forms.records import LoadForm, RecordPlanForm, StartForm, TakeBackForm
from turnwell.web.sterilizers.listing import WHICH, listed, record_lines
from turnwell.web.sterilizers.models import CycleRecord, Sterilizer
from turnwell.web.sterilizers.record_page import record_page_of

__all__ = [
    "record",
    "record_again",
    "record_load",
    "record_plan",
    "record_start",
    "record_take_back",
    "records",
]

RECORDS_A_PAGE = 50


@require_safe
def records(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a sterilizer's records, all of them or those that need attention."""
    row = visible_or_404(Sterilizer.objects.select_related("office"), person(request), pk=pk)
    which = request.GET.get("which", "")
    which = which if which in WHICH else ""
    page = Paginator(listed(row, which), RECORDS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "sterilizer": row,
        "page": page,
        "lines": record_lines(page.object_list),
        "which": which,
        "choices": WHICH.items(),
    }
    return render(request, "sterilizers/records.html", context)


@require_safe
def record(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a record: what it says, what to ask, the water of its load."""
    return _shown(request, _record(request, pk))


@shop_only
@require_POST
def record_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """Say which cycle a run was."""
    row = _record(request, pk)
    form = RecordPlanForm(request.POST, sterilizer=row.sterilizer)
    if form.is_valid():
        plan = form.cleaned_data["plan"]
        held = carry_out(form, choose_plan, by=person(request), record=row, plan=plan)
        if held is not None:
            messages.success(request, "Held against that cycle.")
            return redirect(row)
    return _shown(request, row, plan_form=form, status=400)


@shop_only
@require_http_methods(["GET", "POST"])
def record_load(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down what the load was."""
    row = _record(request, pk)
    standing = row.loads.standing().first()
    form = LoadForm(request.POST or None, initial=LoadForm.initial_of(standing))
    if request.method == "POST" and form.is_valid():
        written = carry_out(
            form, write_load, by=person(request), record=row, details=form.details()
        )
        if written is not None:
            messages.success(request, "The load is written down; its water is worked out.")
            return redirect(f"{row.get_absolute_url()}#water")
    context = {"record": row, "sterilizer": row.sterilizer, "form": form}
    return render(request, "sterilizers/load.html", context)


@shop_only
@require_POST
def record_start(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down when a run began that shows no day."""
    row = _record(request, pk)
    form = StartForm(request.POST, prefix="start")
    if form.is_valid():
        written = carry_out(form, write_start, by=person(request), record=row, wall=form.wall())
        if written is not None:
            messages.success(request, "The run stands on the time line now.")
            return redirect(row)
    return _shown(request, row, start=form, status=400)


@shop_only
@require_POST
def record_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Review a record again."""
    row = _record(request, pk)
    try:
        review_again(by=person(request), record=row)
    except TurnwellError as error:
        messages.error(request, sentence(error))
    else:
        messages.success(request, "Reviewed again, with what is known by now.")
    return redirect(row)


@shop_only
@require_POST
def record_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back a record that is not this sterilizer's."""
    row = _record(request, pk)
    form = TakeBackForm(request.POST, prefix="back")
    if form.is_valid():
        gone = carry_out(
            form,
            take_back_record,
            by=person(request),
            record=row,
            reason=form.cleaned_data["reason"],
        )
        if gone is not None:
            messages.success(
                request, "The record is taken back; it stays on file, and counts no more."
            )
            return redirect("sterilizer", row.sterilizer_id)
    return _shown(request, row, back=form, status=400)


def _record(request: HttpRequest, pk: int) -> CycleRecord:
    rows = CycleRecord.objects.select_related("sterilizer__office", "file", "plan", "entered_by")
    return visible_or_404(rows, person(request), pk=pk)


def _begun(row: CycleRecord) -> dict[str, object]:
    if row.started_at is None:
        return {}
    wall = shown_in_zone(row.started_at, row.sterilizer.office.time_zone)
    return {"day": wall.date(), "time": wall.time()}


def _shown(
    request: HttpRequest,
    row: CycleRecord,
    *,
    plan_form: RecordPlanForm | None = None,
    back: TakeBackForm | None = None,
    start: StartForm | None = None,
    status: int = 200,
) -> HttpResponse:
    sterilizer = row.sterilizer
    context: dict[str, Any] = {
        "record": row,
        "sterilizer": sterilizer,
        "page": record_page_of(row),
    }
    if person(request).is_shop:
        first = {"plan": row.plan_id}
        context["plan_form"] = plan_form or RecordPlanForm(initial=first, sterilizer=sterilizer)
        context["back"] = back or TakeBackForm(prefix="back")
        if not row.clock_shown:
            context["start"] = start or StartForm(prefix="start", initial=_begun(row))
    return render(request, "sterilizers/record.html", context, status=status)
