"""The page that takes a handpiece in: find it, then say what the office says."""

from datetime import timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from turnwell.errors import TurnwellError
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.actions import OpenJobError, take_in
from turnwell.web.jobs.forms.take_in import FindHandpieceForm, TakeInForm
from turnwell.web.jobs.models import Job
from turnwell.web.jobs.views.entry import CAUTIONS
from turnwell.web.shared.access import person, shop_only
from turnwell.web.shared.codes import read_code
from turnwell.web.shared.forms import sentence
from turnwell.web.shared.times import today_in_zone

__all__ = ["take_in_page"]

MOST_FOUND = 20


@require_http_methods(["GET", "POST"])
@shop_only
def take_in_page(request: HttpRequest) -> HttpResponse:
    """Find the handpiece by code or serial; then take it in."""
    named = request.GET.get("handpiece", "")
    handpiece = _handpiece(named)
    if handpiece is None:
        return _find(request, named)
    already = Job.objects.open().filter(handpiece=handpiece).first()
    if already is not None:
        return _shown(request, handpiece, None, already)
    return _ask(request, handpiece)


def _ask(request: HttpRequest, handpiece: Handpiece) -> HttpResponse:
    """Ask what the office says, and take the handpiece in."""
    if request.method != "POST":
        return _shown(request, handpiece, TakeInForm(initial=_counted(handpiece)))
    form = TakeInForm(request.POST)
    if not form.is_valid():
        return _shown(request, handpiece, form, status=400)
    try:
        job = take_in(by=person(request), handpiece=handpiece, **form.cleaned_data)
    except OpenJobError as error:
        return _shown(request, handpiece, None, error.job, status=409)
    except TurnwellError as error:
        form.add_error(None, sentence(error))
        return _shown(request, handpiece, form, status=400)
    messages.success(request, "Taken in. Print its label, then test it as received.")
    return HttpResponseRedirect(job.get_absolute_url())


def _counted(handpiece: Handpiece) -> dict[str, int]:
    """Give the count of a handpiece just put in the book; an older count is not one of today."""
    counted_on = handpiece.known_cycles_on
    if handpiece.known_cycles is None or counted_on is None:
        return {}
    # One day either way: the shop and the office may lie in different time zones.
    if abs(today_in_zone(handpiece.office.time_zone) - counted_on) > timedelta(days=1):
        return {}
    return {"known_cycles": handpiece.known_cycles}


def _handpiece(named: str) -> Handpiece | None:
    """Give the handpiece of a code as typed or scanned."""
    code = read_code(named)
    if code is None:
        return None
    rows = Handpiece.objects.select_related("office", "model")
    if code.startswith("J"):
        return rows.filter(jobs__code=code).first()
    return rows.filter(code=code).first()


def _find(request: HttpRequest, named: str) -> HttpResponse:
    """Ask for a handpiece, and list those whose serial was typed."""
    asked = request.GET.get("q", "") or named
    form = FindHandpieceForm({"q": asked}) if asked else FindHandpieceForm()
    found: list[Handpiece] = []
    if asked and form.is_valid():
        typed = form.cleaned_data["q"]
        if (one := _handpiece(typed)) is not None:
            return HttpResponseRedirect(f"{request.path}?handpiece={one.code}")
        found = _with_serial(typed)
        if len(found) == 1:
            return HttpResponseRedirect(f"{request.path}?handpiece={found[0].code}")
    context = {
        "form": form,
        "found": found,
        "asked": asked,
        "serial": "" if form.errors or read_code(asked) else asked,
        "nothing": bool(asked) and not found and not form.errors,
        "caution": CAUTIONS["gloves"],
    }
    return render(request, "jobs/take_in_find.html", context, status=400 if form.errors else 200)


def _with_serial(typed: str) -> list[Handpiece]:
    """Give the handpieces whose serial is, or begins with, what was typed."""
    folded = Handpiece.folded(typed)
    if not folded:
        return []
    rows = Handpiece.objects.select_related("office", "model").filter(retired_on__isnull=True)
    exact = list(rows.filter(serial_folded=folded)[:MOST_FOUND])
    return exact or list(rows.filter(serial_folded__startswith=folded)[:MOST_FOUND])


def _shown(
    request: HttpRequest,
    handpiece: Handpiece,
    form: TakeInForm | None,
    already: Job | None = None,
    status: int = 200,
) -> HttpResponse:
    context = {
        "handpiece": handpiece,
        "form": form,
        "already": already,
        "caution": CAUTIONS["gloves"],
    }
    return render(request, "jobs/take_in.html", context, status=status)
