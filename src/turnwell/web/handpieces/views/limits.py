"""Pages of the shop's own limits: one reading of a class or of a model."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from turnwell.catalogue import load
from turnwell.web.handpieces.actions import override_limit, take_back_limit
from turnwell.web.handpieces.forms import LimitForm, ReasonForm
from turnwell.web.handpieces.limit_rows import default_limit, history
from turnwell.web.handpieces.limits import units_of_class
from turnwell.web.handpieces.models import HandpieceModel, LimitOverride
from turnwell.web.handpieces.names import class_name, reading_name
from turnwell.web.shared.access import person, shop_only
from turnwell.web.shared.forms import carry_out

__all__ = ["limit_of_class", "limit_of_model", "limit_take_back"]


@dataclass(frozen=True, slots=True)
class _Whose:
    """The class or model that a limit is for."""

    class_key: str
    model: HandpieceModel | None

    @property
    def name(self) -> str:
        return str(self.model) if self.model else class_name(self.class_key)

    @property
    def address(self) -> str:
        if self.model is not None:
            return reverse("model", args=[self.model.pk])
        return reverse("catalogue-class", args=[self.class_key])

    @property
    def own_class_key(self) -> str:
        """As it is stored: empty for a model."""
        return "" if self.model else self.class_key


@shop_only
@require_http_methods(["GET", "POST"])
def limit_of_class(request: HttpRequest, class_key: str, reading_key: str) -> HttpResponse:
    """Set the shop's own limit for a class."""
    if class_key not in load().classes:
        raise Http404("There is no such class in the catalogue.")
    return _limit(request, _Whose(class_key, None), reading_key)


@shop_only
@require_http_methods(["GET", "POST"])
def limit_of_model(request: HttpRequest, pk: int, reading_key: str) -> HttpResponse:
    """Set the shop's own limit for a model."""
    model = get_object_or_404(HandpieceModel, pk=pk)
    return _limit(request, _Whose(model.class_key, model), reading_key)


@shop_only
@require_POST
def limit_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back an own limit; the one behind it holds again."""
    override = get_object_or_404(LimitOverride.objects.select_related("model"), pk=pk)
    model = override.model
    whose = _Whose(model.class_key if model else override.class_key, model)
    form = ReasonForm(request.POST, prefix="back")
    if form.is_valid():
        taken_back = carry_out(
            form,
            take_back_limit,
            by=person(request),
            override=override,
            reason=form.cleaned_data["reason"],
        )
        if taken_back is not None:
            messages.success(request, "The own limit is taken back; it stays on record.")
            return redirect(whose.address)
    unit = units_of_class(whose.class_key).get(override.reading_key, override.unit)
    return _page(request, whose, override.reading_key, LimitForm(unit=unit), form)


def _limit(request: HttpRequest, whose: _Whose, reading_key: str) -> HttpResponse:
    units = units_of_class(whose.class_key)
    if reading_key not in units:
        raise Http404("This class has no such reading.")
    form = LimitForm(request.POST or None, unit=units[reading_key])
    if request.method == "POST" and form.is_valid():
        override = carry_out(
            form,
            override_limit,
            by=person(request),
            reading_key=reading_key,
            low=form.cleaned_data["low"],
            high=form.cleaned_data["high"],
            reason=form.cleaned_data["reason"],
            class_key=whose.own_class_key,
            model=whose.model,
        )
        if override is not None:
            messages.success(request, f"{reading_name(reading_key)}: the own limit holds from now.")
            return redirect(whose.address)
    return _page(request, whose, reading_key, form, ReasonForm(prefix="back"))


def _page(
    request: HttpRequest, whose: _Whose, reading_key: str, form: LimitForm, back: ReasonForm
) -> HttpResponse:
    entries = history(reading_key, class_key=whose.own_class_key, model=whose.model)
    corrected = {row.corrects_id for row in entries}
    standing = next(
        (row for row in entries if row.pk not in corrected and not row.is_taken_back), None
    )
    context = {
        "whose": whose,
        "reading_key": reading_key,
        "unit": units_of_class(whose.class_key).get(reading_key, ""),
        "default": default_limit(whose.class_key, reading_key),
        "standing": standing,
        "history": entries,
        "form": form,
        "back": back,
    }
    return render(request, "handpieces/limit.html", context)
