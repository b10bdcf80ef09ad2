"""Pages of handpieces: the list, one with its life, new, edit, retire, label."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from turnwell.errors import TurnwellError
from turnwell.web.handpieces.actions import (
    HANDPIECE_FIELDS,
    SerialTakenError,
    add_handpiece,
    edit_handpiece,
    put_back_in_use,
    retire_handpiece,
)
from turnwell.web.handpieces.coasting import coast_downs
from turnwell.web.handpieces.forms import HandpieceForm, RetireForm
from turnwell.web.handpieces.history import baselines, latest_stand, over_time, tests_of_jobs
from turnwell.web.handpieces.life import life_of
from turnwell.web.handpieces.listing import ListForm, listed
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.handpieces.names import class_name
from turnwell.web.handpieces.states import HandpieceLine, with_states
from turnwell.web.jobs.models import IssuedPaper, Job
from turnwell.web.shared.access import person, shop_only, visible_or_404
from turnwell.web.shared.codes import code_shown
from turnwell.web.shared.forms import carry_out, sentence
from turnwell.web.shared.labels import label_response
from turnwell.web.shared.rows import snapshot_of
from turnwell.web.shared.times import today_in_zone

__all__ = [
    "handpiece",
    "handpiece_back_in_use",
    "handpiece_edit",
    "handpiece_label",
    "handpiece_new",
    "handpiece_retire",
    "handpieces",
]

HANDPIECES_A_PAGE = 50
TESTS_SHOWN = 8
PAPERS_SHOWN = 10


@require_safe
def handpieces(request: HttpRequest) -> HttpResponse:
    """Show the handpieces of the book, narrowed by office, class and state."""
    user = person(request)
    form = ListForm(request.GET, user=user)
    rows = listed(Handpiece.objects.visible_to(user), form.chosen())
    page = Paginator(rows, HANDPIECES_A_PAGE).get_page(request.GET.get("page"))
    kept = {name: str(value) for name, value in request.GET.items() if name != "page" and value}
    context = {
        "form": form,
        "page": page,
        "handpieces": with_states(page.object_list),
        "keep": urlencode(kept),
    }
    return render(request, "handpieces/handpieces.html", context)


@require_safe
def handpiece(request: HttpRequest, code: str) -> HttpResponse:
    """Show a handpiece: its life, what was measured over its jobs, its papers."""
    user = person(request)
    row = visible_or_404(Handpiece.objects.with_place(), user, code=code)
    jobs = Job.objects.visible_to(user).filter(handpiece=row)
    tests = tests_of_jobs(jobs)
    papers = IssuedPaper.objects.filter(job__in=jobs)
    context = {
        "handpiece": row,
        "line": HandpieceLine(row, jobs.open().first()),
        "life": life_of(row, jobs, timezone.now()),
        "latest": latest_stand(tests),
        "over_time": over_time(tests[-TESTS_SHOWN:]),
        "baselines": baselines(tests),
        "coasting": coast_downs(tests),
        "papers": papers.select_related("job")[:PAPERS_SHOWN],
    }
    return render(request, "handpieces/handpiece.html", context)


@shop_only
@require_http_methods(["GET", "POST"])
def handpiece_new(request: HttpRequest) -> HttpResponse:
    """Put a handpiece in the book."""
    asked = {
        name: request.GET[name] for name in ("office", "model", "serial") if name in request.GET
    }
    form = HandpieceForm(request.POST or None, initial=asked)
    taken = None
    if request.method == "POST" and form.is_valid():
        added, taken = _save(form, add_handpiece, by=person(request), details=form.details())
        if added is not None:
            messages.success(request, f"{added} is in the book, code {code_shown(added.code)}.")
            if request.POST.get("then") == "job":
                return redirect(f"{reverse('take-in')}?{urlencode({'handpiece': added.code})}")
            return redirect(added)
    context = {"form": form, "handpiece": None, "taken": taken, "then": request.GET.get("then", "")}
    return render(request, "handpieces/handpiece_edit.html", context)


@shop_only
@require_http_methods(["GET", "POST"])
def handpiece_edit(request: HttpRequest, code: str) -> HttpResponse:
    """Change what is kept of a handpiece."""
    row = visible_or_404(Handpiece.objects.with_place(), person(request), code=code)
    form = HandpieceForm(request.POST or None, initial=HandpieceForm.initial_of(row), handpiece=row)
    taken = None
    if request.method == "POST" and form.is_valid():
        edited, taken = _save(
            form,
            edit_handpiece,
            by=person(request),
            handpiece=row,
            details=form.details(),
            seen=request.POST.get("seen", ""),
        )
        if edited is not None:
            messages.success(request, f"{edited} is saved.")
            return redirect(edited)
        row.refresh_from_db()
    context = {
        "form": form,
        "handpiece": row,
        "taken": taken,
        "seen": snapshot_of(row, HANDPIECE_FIELDS),
    }
    return render(request, "handpieces/handpiece_edit.html", context)


@shop_only
@require_http_methods(["GET", "POST"])
def handpiece_retire(request: HttpRequest, code: str) -> HttpResponse:
    """Take a handpiece out of use for good."""
    row = visible_or_404(Handpiece.objects.with_place(), person(request), code=code)
    form = RetireForm(request.POST or None, initial={"on": today_in_zone(row.office.time_zone)})
    if request.method == "POST" and form.is_valid():
        retired = carry_out(
            form, retire_handpiece, by=person(request), handpiece=row, on=form.cleaned_data["on"]
        )
        if retired is not None:
            messages.success(request, f"{row} is retired; its history stays.")
            return redirect(row)
    return render(request, "handpieces/handpiece_retire.html", {"handpiece": row, "form": form})


@shop_only
@require_POST
def handpiece_back_in_use(request: HttpRequest, code: str) -> HttpResponse:
    """Put a retired handpiece back in use."""
    row = visible_or_404(Handpiece.objects.all(), person(request), code=code)
    put_back_in_use(by=person(request), handpiece=row)
    messages.success(request, f"{row} is in use again.")
    return redirect(row)


@shop_only
@require_safe
def handpiece_label(request: HttpRequest, code: str) -> HttpResponse:
    """Print the label of a handpiece."""
    row = visible_or_404(Handpiece.objects.with_place(), person(request), code=code)
    return label_response(
        code=row.code,
        handpiece=str(row.model or class_name(row.class_key)),
        serial=row.serial,
        office=row.office.name,
    )


def _save(
    form: HandpieceForm, action: Callable[..., Handpiece], **arguments: Any
) -> tuple[Handpiece | None, Handpiece | None]:
    """Call an action; give what it saved, or the handpiece that has the serial already."""
    try:
        return action(**arguments), None
    except SerialTakenError as taken:
        form.add_error("serial", sentence(taken))
        return None, taken.existing
    except TurnwellError as error:
        form.add_error(None, sentence(error))
        return None, None
