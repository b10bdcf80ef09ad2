"""The search page: a scan goes straight to its thing, words give a list."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from turnwell.web.handpieces.models import Handpiece, HandpieceModel
from turnwell.web.handpieces.names import class_name
from turnwell.web.handpieces.states import HandpieceLine
from turnwell.web.jobs.models import Job
from turnwell.web.offices.models import Office
from turnwell.web.shared.access import person
from turnwell.web.shared.codes import code_shown
from turnwell.web.shop.search import Found, FoundHandpiece, Piece, marked, search

__all__ = ["FoundLine", "search_page"]


@dataclass(frozen=True, slots=True)
class FoundLine:
    """One line of the list: what it is, marked; what more there is to it."""

    address: str
    title: list[Piece]
    kind: str
    note: list[Piece]


@require_safe
def search_page(request: HttpRequest) -> HttpResponse:
    """Find what was typed or scanned."""
    found = search(person(request), request.GET.get("q", ""))
    if found.go is not None:
        return redirect(address_of(found.go))
    groups = [
        ("Handpieces", [_handpiece(row, found) for row in found.handpieces]),
        ("Jobs", [_job(row, found) for row in found.jobs]),
        ("Offices", [_office(row, found) for row in found.offices]),
        ("Models", [_model(row, found) for row in found.models]),
    ]
    context = {"found": found, "groups": [group for group in groups if group[1]]}
    return render(request, "shop/search.html", context)


def address_of(thing: Handpiece | Job | Office | HandpieceModel) -> str:
    """Give the page of something that was found."""
    if isinstance(thing, Office):
        return reverse("office", args=[thing.pk])
    if isinstance(thing, HandpieceModel):
        return reverse("model", args=[thing.pk])
    return thing.get_absolute_url()


def _handpiece(row: FoundHandpiece, found: Found) -> FoundLine:
    handpiece = row.handpiece
    kind = class_name(handpiece.class_key).lower()
    title = f"{handpiece.serial or code_shown(handpiece.code)}, {kind}"
    if handpiece.model is not None:
        title += f", {handpiece.model}"
    place = (
        f"{handpiece.office}, chair {handpiece.chair}" if handpiece.chair else str(handpiece.office)
    )
    state = HandpieceLine(handpiece, row.open_job).state
    return FoundLine(
        handpiece.get_absolute_url(),
        marked(title, found.words),
        "1 job" if row.job_count == 1 else f"{row.job_count} jobs",
        marked(f"{place}; {state}; {code_shown(handpiece.code)}", found.words),
    )


def _job(job: Job, found: Found) -> FoundLine:
    handpiece = job.handpiece
    return FoundLine(
        job.get_absolute_url(),
        marked(f"{code_shown(job.code)}, {handpiece.serial or handpiece.code}", found.words),
        f"{job.taken_in_at:%Y-%m-%d}",
        marked(f"{job.office}; {job.get_stage_display().lower()}", found.words),
    )


def _office(office: Office, found: Found) -> FoundLine:
    return FoundLine(address_of(office), marked(office.name, found.words), "Office", [])


def _model(model: HandpieceModel, found: Found) -> FoundLine:
    note = class_name(model.class_key)
    return FoundLine(
        address_of(model), marked(model.name, found.words), "Model", marked(note, found.words)
    )
