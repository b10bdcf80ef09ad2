"""Pages of the shop's own models: the list, one, new, edit."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from turnwell.catalogue import load
from turnwell.errors import TurnwellError
from turnwell.web.evidence.actions import store_file
from turnwell.web.evidence.models import StoredFile
from turnwell.web.handpieces.actions import MODEL_FIELDS, add_model, edit_model
from turnwell.web.handpieces.forms import ModelForm
from turnwell.web.handpieces.limit_rows import limit_rows
from turnwell.web.handpieces.models import HandpieceModel
from turnwell.web.handpieces.states import with_states
from turnwell.web.shared.access import person, shop_only
from turnwell.web.shared.forms import sentence
from turnwell.web.shared.rows import snapshot_of

__all__ = ["model", "model_edit", "model_new", "models"]

MODELS_A_PAGE = 50
HANDPIECES_SHOWN = 20


@shop_only
@require_safe
def models(request: HttpRequest) -> HttpResponse:
    """Show the shop's own models."""
    rows = HandpieceModel.objects.annotate(count=Count("handpieces")).order_by("is_retired", "name")
    page = Paginator(rows, MODELS_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "handpieces/models.html", {"page": page})


@shop_only
@require_safe
def model(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a model: its label, its care, what its readings are held against, its handpieces."""
    row = get_object_or_404(HandpieceModel.objects.select_related("instructions_file"), pk=pk)
    handpieces = row.handpieces.filter(retired_on__isnull=True)
    context = {
        "model": row,
        "care": load().care_steps_for(row.class_key, row.lubricated),
        "limits": limit_rows(row.class_key, row),
        "handpieces": with_states(handpieces.with_place().order_by("pk")[:HANDPIECES_SHOWN]),
        "handpiece_count": handpieces.count(),
    }
    return render(request, "handpieces/model.html", context)


@shop_only
@require_http_methods(["GET", "POST"])
def model_new(request: HttpRequest) -> HttpResponse:
    """Put a model in the shop's own list."""
    asked = {"class_key": request.GET["class"]} if "class" in request.GET else {}
    form = ModelForm(request.POST or None, request.FILES or None, initial=asked)
    if request.method == "POST" and form.is_valid():
        added = _save(request, form, None)
        if added is not None:
            messages.success(request, f"{added} is in the list.")
            return redirect("model", added.pk)
    return render(request, "handpieces/model_edit.html", {"form": form, "model": None})


@shop_only
@require_http_methods(["GET", "POST"])
def model_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what the shop knows of a model."""
    row = get_object_or_404(HandpieceModel, pk=pk)
    form = ModelForm(request.POST or None, request.FILES or None, initial=ModelForm.initial_of(row))
    if request.method == "POST" and form.is_valid():
        edited = _save(request, form, row)
        if edited is not None:
            messages.success(request, f"{edited} is saved.")
            return redirect("model", pk)
        row.refresh_from_db()
    context = {"form": form, "model": row, "seen": snapshot_of(row, MODEL_FIELDS)}
    return render(request, "handpieces/model_edit.html", context)


def _save(
    request: HttpRequest, form: ModelForm, row: HandpieceModel | None
) -> HandpieceModel | None:
    """Keep the instructions and the model together: a refused model leaves no file behind."""
    by = person(request)
    try:
        with transaction.atomic():
            details = form.details(_instructions(form, row, by))
            if row is None:
                return add_model(by=by, details=details)
            seen = request.POST.get("seen", "")
            return edit_model(by=by, model=row, details=details, seen=seen)
    except TurnwellError as error:
        form.add_error(None, sentence(error))
        return None


def _instructions(form: ModelForm, row: HandpieceModel | None, by: Any) -> StoredFile | None:
    upload = form.cleaned_data["instructions_upload"]
    if not upload:
        return row.instructions_file if row else None
    return store_file(
        by=by,
        kind=StoredFile.Kind.INSTRUCTIONS,
        content=upload,
        original_name=upload.name,
        media_type=upload.content_type or "",
    )
