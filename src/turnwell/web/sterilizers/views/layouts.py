"""The page that confirms what the columns of a sterilizer's records are."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from turnwell.errors import TurnwellError
from turnwell.web.evidence.models import StoredFile
from turnwell.web.shared.access import person, shop_only
from turnwell.web.shared.forms import carry_out, sentence
from turnwell.web.sterilizers.actions import confirm_layout, forget_layout
from turnwell.web.sterilizers.analysis.reading import proposal_of
from turnwell.web.sterilizers.background import go_on
from turnwell.web.sterilizers.forms.layouts import LayoutForm
from turnwell.web.sterilizers.models import IntakeFile, Sterilizer

__all__ = ["layout", "layout_forget"]

ROWS_SHOWN = 6


@dataclass(frozen=True, slots=True)
class Shown:
    """The file that is looked at, and what its columns seem to be."""

    file: StoredFile
    proposal: dict[str, Any]


@shop_only
@require_http_methods(["GET", "POST"])
def layout(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the first rows of a file with what each column seems to be; keep what is confirmed."""
    row = get_object_or_404(Sterilizer.objects.select_related("office"), pk=pk)
    try:
        shown = _shown(row, request.GET.get("record", ""))
    except TurnwellError as error:
        messages.error(request, sentence(error))
        return redirect(row)
    if shown is None:
        return render(request, "sterilizers/layout.html", {"sterilizer": row})
    form = LayoutForm(request.POST or None, proposal=shown.proposal)
    if request.method == "POST" and form.is_valid():
        count = carry_out(
            form,
            lambda: confirm_layout(
                by=person(request), sterilizer=row, layout=form.record(), tried_on=shown.file
            ),
        )
        if count is not None:
            go_on()
            messages.success(request, f"The columns are remembered; {_files(count)}.")
            begun = row.intakes.first()
            return redirect(begun if count and begun else row)
    context = {
        "sterilizer": row,
        "form": form,
        "file": shown.file,
        "columns": list(zip(shown.proposal["columns"], form.roles, strict=True)),
        "questions": shown.proposal["questions"],
        "rows": shown.proposal["rows"][:ROWS_SHOWN],
    }
    return render(request, "sterilizers/layout.html", context)


@shop_only
@require_POST
def layout_forget(request: HttpRequest, pk: int) -> HttpResponse:
    """Forget what was confirmed."""
    row = get_object_or_404(Sterilizer, pk=pk)
    forget_layout(by=person(request), sterilizer=row)
    messages.success(request, "Forgotten; the columns of the next file are told anew.")
    return redirect(row)


def _shown(row: Sterilizer, record: str) -> Shown | None:
    """Give the file of a record that is asked for, or the next that asks; None where none does.

    Raises
    ------
    InputError
        If the file of the record was erased or is missing.
    """
    if record.isdecimal():
        kept = row.records.filter(pk=int(record)).select_related("file").first()
        if kept is not None:
            return Shown(kept.file, proposal_of(kept.file, row))
    asking = (
        IntakeFile.objects.filter(
            intake__sterilizer=row, state=IntakeFile.State.ASKS, proposal__isnull=False
        )
        .select_related("file")
        .first()
    )
    if asking is None or asking.file is None:
        return None
    return Shown(asking.file, dict(asking.proposal or {}))


def _files(count: int) -> str:
    if not count:
        return "later files that fit are read by them"
    return f"{count} file{'s' if count > 1 else ''} that asked {'are' if count > 1 else 'is'} read"
