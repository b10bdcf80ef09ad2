"""Pages of the catalogue: the facts of the trade, each with its source and how it is known."""

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from turnwell.catalogue import Bearing, Catalogue, load
from turnwell.web.handpieces.limit_rows import limit_rows
from turnwell.web.handpieces.models import HandpieceModel, Lubricated
from turnwell.web.shared.access import person

__all__ = ["TABLES", "catalogue", "catalogue_class", "catalogue_table"]


@dataclass(frozen=True, slots=True)
class Table:
    """One table of the catalogue: its address, its name, what it holds."""

    key: str
    name: str
    holds: str


TABLES = {
    table.key: table
    for table in (
        Table("causes", "Causes", "what brings a handpiece to the bench, and what to do about it"),
        Table("findings", "Findings", "what to look for, how, when, and in how many minutes"),
        Table("complaints", "Complaints", "what an office says when it hands one in"),
        Table("care", "Care", "what the office does between two patients, in order"),
        Table("bearings", "Bearings", "sizes and balls of common ones"),
        Table("sources", "Sources", "where all of it is written down, and whether that was read"),
    )
}


@require_safe
def catalogue(request: HttpRequest) -> HttpResponse:
    """Show what the catalogue holds: the classes and the tables."""
    book = load()
    models = HandpieceModel.objects.filter(is_retired=False).count()
    context = {"classes": book.classes.values(), "tables": TABLES.values(), "models": models}
    return render(request, "handpieces/catalogue.html", context)


@require_safe
def catalogue_class(request: HttpRequest, class_key: str) -> HttpResponse:
    """Show one class: drive and coupling, speeds, limits, bearings, care."""
    book = load()
    kind = book.classes.get(class_key)
    if kind is None:
        raise Http404("There is no such class in the catalogue.")
    is_shop = person(request).is_shop
    rows = limit_rows(class_key)
    models = HandpieceModel.objects.filter(class_key=class_key, is_retired=False)
    context = {
        "kind": kind,
        "limits": [row for row in rows if row.basis is not None],
        "without": [row for row in rows if row.basis is None],
        "notes": {row.reading_key: row.default.note for row in rows if row.default},
        "bearings": _bearings_of(book, kind.group),
        "care": book.care_steps_for(class_key, _usual(kind.lubrication_common)),
        "models": models if is_shop else None,
    }
    return render(request, "handpieces/catalogue_class.html", context)


@require_safe
def catalogue_table(request: HttpRequest, table: str) -> HttpResponse:
    """Show one table of the catalogue."""
    if table not in TABLES:
        raise Http404("There is no such table in the catalogue.")
    context = {"table": TABLES[table], "book": load(), "answers": Lubricated.values}
    return render(request, f"handpieces/catalogue_{table}.html", context)


def _bearings_of(book: Catalogue, group: str) -> list[Bearing]:
    return [row for row in book.bearings.values() if group in row.groups]


def _usual(lubrication_common: str) -> str:
    """Give the answer whose care is shown for a class: what varies counts as not known."""
    return lubrication_common if lubrication_common in Lubricated.values else "not known"
