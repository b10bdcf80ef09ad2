"""Hands stored files out, and erases them."""

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_http_methods, require_safe

from turnwell.errors import TurnwellError
from turnwell.web.evidence import actions, storage
from turnwell.web.evidence.copies import HandedOut, handed_out
from turnwell.web.evidence.forms import EraseForm
from turnwell.web.evidence.models import StoredFile
from turnwell.web.evidence.queries import open_file
from turnwell.web.shared.access import person, shop_only, visible_or_404
from turnwell.web.shared.forms import carry_out
from turnwell.web.shared.labels import pdf_response

__all__ = [
    "erase",
    "file",
    "file_as_received",
    "file_response",
    "paper_response",
    "small_file",
]


@require_safe
def file(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Hand a file out, without what it says of place and time."""
    return _answer(request, pk)


@require_safe
def small_file(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Hand a photo out small, for a list; any other file as it goes out."""
    return _answer(request, pk, is_small=True)


@require_safe
@shop_only
def file_as_received(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Hand a file out byte for byte, with all a phone wrote into it; for the shop itself."""
    stored = visible_or_404(StoredFile.objects.all(), person(request), pk=pk)
    if stored.is_erased:
        return _gone(request, stored)
    try:
        open_file(stored).close()
    except TurnwellError as error:
        return _cannot(request, stored, error)
    name = stored.original_name or f"{stored.kind} {stored.pk}"
    path = storage.path_of(stored.sha256)
    return file_response(HandedOut(path, stored.media_type, name))


@require_http_methods(["GET", "HEAD", "POST"])
@shop_only
def erase(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask why a file is to be erased, and erase it."""
    stored = visible_or_404(
        StoredFile.objects.select_related("received_by", "erased_by"), person(request), pk=pk
    )
    form = EraseForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        by = person(request)
        why = form.cleaned_data["why"]
        if carry_out(form, actions.erase_file, by=by, file=stored, why=why) is not None:
            messages.success(request, f"{stored} is erased.")
            return redirect("file-erase", pk=pk)
    return render(
        request,
        "evidence/erase.html",
        {
            "file": stored,
            "form": form,
            "may_erase": actions.may_erase(person(request), stored),
        },
        status=422 if form.errors else 200,
    )


def file_response(out: HandedOut) -> FileResponse:
    """Give a response that a browser saves or shows, and never runs or keeps."""
    response = FileResponse(out.path.open("rb"), content_type=out.media_type)
    disposition = content_disposition_header(as_attachment=True, filename=out.name)
    response["Content-Disposition"] = disposition or "attachment"
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, no-store"
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response


def paper_response(request: HttpRequest, stored: StoredFile) -> HttpResponse:
    """Hand an issued paper out byte for byte, for the browser to show.

    Whether the person may see it is asked before, by what the paper was issued for.
    """
    if stored.is_erased:
        return _gone(request, stored)
    try:
        with open_file(stored) as opened:
            return pdf_response(opened.read(), stored.original_name)
    except TurnwellError as error:
        return _cannot(request, stored, error)


def _answer(request: HttpRequest, pk: int, *, is_small: bool = False) -> HttpResponseBase:
    stored = visible_or_404(StoredFile.objects.select_related("erased_by"), person(request), pk=pk)
    if stored.is_erased:
        return _gone(request, stored)
    try:
        return file_response(handed_out(stored, is_small=is_small))
    except TurnwellError as error:
        return _cannot(request, stored, error)


def _gone(request: HttpRequest, stored: StoredFile) -> HttpResponse:
    return render(request, "evidence/erased.html", {"file": stored}, status=410)


def _cannot(request: HttpRequest, stored: StoredFile, error: TurnwellError) -> HttpResponse:
    return render(
        request, "evidence/cannot.html", {"file": stored, "because": str(error)}, status=503
    )
