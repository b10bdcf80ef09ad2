"""The instruments on the bench, and their checks."""

from django.contrib import messages
from django.forms.models import model_to_dict
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from turnwell.web.jobs.analysis.own_check import own_checks
from turnwell.web.shared.access import person, shop_only
from turnwell.web.shared.forms import carry_out
from turnwell.web.shared.rows import snapshot_of
from turnwell.web.shared.times import today_in_zone
from turnwell.web.shop import actions
from turnwell.web.shop.forms import CheckForm, InstrumentForm, TakeBackForm
from turnwell.web.shop.models import Instrument, InstrumentCheck
from turnwell.web.shop.queries import instrument_lines, the_shop

__all__ = ["check_new", "check_take_back", "instrument", "instrument_new", "instruments"]


@require_safe
@shop_only
def instruments(request: HttpRequest) -> HttpResponse:
    """List the instruments, those in use first."""
    lines = instrument_lines(today_in_zone(the_shop().time_zone))
    overdue = sum(line.is_overdue for line in lines)
    return render(request, "shop/instruments.html", {"lines": lines, "overdue": overdue})


@require_http_methods(["GET", "HEAD", "POST"])
@shop_only
def instrument_new(request: HttpRequest) -> HttpResponse:
    """Put an instrument on the bench."""
    form = InstrumentForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        added = carry_out(form, actions.add_instrument, by=person(request), details=form.details())
        if added is not None:
            messages.success(request, f"{added} is on the bench; write down its last check.")
            return redirect("instrument", pk=added.pk)
    return render(request, "shop/instrument_new.html", {"form": form})


@require_http_methods(["GET", "HEAD", "POST"])
@shop_only
def instrument(request: HttpRequest, pk: int) -> HttpResponse:
    """Show an instrument and its checks; change it."""
    row = get_object_or_404(Instrument, pk=pk)
    form = InstrumentForm(
        request.POST or None, initial=model_to_dict(row, actions.INSTRUMENT_FIELDS)
    )
    if request.method == "POST" and form.is_valid():
        saved = carry_out(
            form,
            actions.change_instrument,
            by=person(request),
            instrument=row,
            details=form.details(),
            seen=request.POST.get("seen"),
        )
        if saved is not None:
            messages.success(request, f"{saved} is saved.")
            return redirect("instrument", pk=pk)
    return _shown(request, row, form=form)


@require_POST
@shop_only
def check_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down a check."""
    row = get_object_or_404(Instrument, pk=pk)
    form = CheckForm(request.POST)
    if form.is_valid():
        written = carry_out(
            form,
            actions.check_instrument,
            by=person(request),
            instrument=row,
            **form.cleaned_data,
        )
        if written is not None:
            messages.success(request, f"The check of {row} is on file.")
            return redirect("instrument", pk=pk)
    return _shown(request, row, check_form=form)


@require_http_methods(["GET", "HEAD", "POST"])
@shop_only
def check_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a wrong check back, with the reason."""
    check = get_object_or_404(InstrumentCheck.objects.standing(), pk=pk)
    form = TakeBackForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        entry = carry_out(
            form,
            actions.take_back_check,
            by=person(request),
            check=check,
            reason=form.cleaned_data["reason"],
        )
        if entry is not None:
            messages.success(request, "The check is taken back; it stays on file, struck out.")
            return redirect("instrument", pk=check.instrument_id)
    return render(request, "shop/check_take_back.html", {"check": check, "form": form})


def _shown(
    request: HttpRequest,
    row: Instrument,
    *,
    form: InstrumentForm | None = None,
    check_form: CheckForm | None = None,
) -> HttpResponse:
    fields = actions.INSTRUMENT_FIELDS
    row = get_object_or_404(Instrument, pk=row.pk)
    today = today_in_zone(the_shop().time_zone)
    line = next(line for line in instrument_lines(today) if line.instrument.pk == row.pk)
    checks = row.checks.filter(is_taken_back=False).order_by("-checked_on", "-pk")
    context = {
        "line": line,
        "instrument": row,
        "checks": checks.select_related("entered_by", "corrected_by__entered_by"),
        "form": form or InstrumentForm(initial=model_to_dict(row, fields)),
        "check_form": check_form or CheckForm(),
        "seen": snapshot_of(row, fields),
        "own_checks": own_checks(row) if row.kind == Instrument.Kind.MICROPHONE else None,
    }
    return render(request, "shop/instrument.html", context)
