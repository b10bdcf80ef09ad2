"""The page that confirms what the columns of a sterilizer's records are."""

from collections.abc import Mapping
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
from turnwell.web.sterilizers.actions import confirm_layout, forget_layout, review_again
from turnwell.web.sterilizers.actions.layouts import Freed
from turnwell.web.sterilizers.analysis.reading import proposal_of
from turnwell.web.sterilizers.background import go_on
from turnwell.web.sterilizers.forms.layouts import LayoutForm
from turnwell.web.sterilizers.models import CycleRecord, Intake, IntakeFile, Sterilizer

__all__ = ["layout", "layout_forget"]

ROWS_SHOWN = 6


@dataclass(frozen=True, slots=True)
class Shown:
    """The file that is looked at, what its columns seem to be, and the page it was opened from."""

    file: StoredFile
    proposal: dict[str, Any]
    origin: CycleRecord | Intake


@shop_only
@require_http_methods(["GET", "POST"])
def layout(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the first rows of a file with what each column seems to be; keep what is confirmed."""
    row = get_object_or_404(Sterilizer.objects.select_related("office"), pk=pk)
    try:
        shown = _shown(row, request.GET)
    except TurnwellError as error:
        messages.error(request, sentence(error))
        return redirect(row)
    if shown is None:
        confirmed = {"sterilizer": row, "confirmed": row.layouts.select_related("confirmed_by")}
        return render(request, "sterilizers/layout.html", confirmed)
    form = LayoutForm(request.POST or None, proposal=shown.proposal)
    if request.method == "POST" and form.is_valid():
        freed = carry_out(
            form,
            lambda: confirm_layout(
                by=person(request), sterilizer=row, layout=form.record(), tried_on=shown.file
            ),
        )
        if freed is not None:
            return _confirmed(request, shown.origin, freed)
    context: dict[str, Any] = {
        "sterilizer": row,
        "form": form,
        "file": shown.file,
        "confirmed": row.layouts.select_related("confirmed_by"),
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


def _shown(row: Sterilizer, asked: Mapping[str, str]) -> Shown | None:
    """Give the file of the record or of the intake that is asked for, or the next that asks.

    Raises
    ------
    InputError
        If the file of the record was erased or is missing.
    """
    record, wanted = asked.get("record", ""), asked.get("file", "")
    if record.isdecimal():
        kept = row.records.filter(pk=int(record)).select_related("file", "plan").first()
        if kept is not None:
            return Shown(kept.file, proposal_of(kept.file, row), kept)
    asking = IntakeFile.objects.filter(
        intake__sterilizer=row, state=IntakeFile.State.ASKS, proposal__isnull=False
    ).select_related("file", "intake")
    if wanted.isdecimal():
        asking = asking.filter(pk=int(wanted))
    found = asking.first()
    if found is None or found.file is None:
        return None
    return Shown(found.file, dict(found.proposal or {}), found.intake)


def _confirmed(request: HttpRequest, origin: CycleRecord | Intake, freed: Freed) -> HttpResponse:
    """Say what became of the files, and lead back to where the columns were asked for."""
    go_on()
    messages.success(request, f"The columns are remembered. {_files(freed)}")
    if isinstance(origin, CycleRecord):
        try:
            review_again(by=person(request), record=origin)
        except TurnwellError as error:
            messages.error(request, sentence(error))
    return redirect(origin)


def _files(freed: Freed) -> str:
    """Say what is read now and what still asks.

    >>> _files(Freed(read=1, asking=1))
    '1 file that asked is being read; 1 file of another shape still asks.'
    """
    if not freed.read and not freed.asking:
        return "Later files of this shape are read by them."
    said = []
    if freed.read:
        said.append(f"{_counted(freed.read)} that asked {_is(freed.read)} being read")
    if freed.asking:
        asks = "asks" if freed.asking == 1 else "ask"
        said.append(f"{_counted(freed.asking)} of another shape still {asks}")
    return "; ".join(said) + "."


def _counted(count: int) -> str:
    return f"{count} file{'' if count == 1 else 's'}"


def _is(count: int) -> str:
    return "is" if count == 1 else "are"
