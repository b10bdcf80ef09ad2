"""Pages of feed water: values typed in and what they are held against."""

from collections.abc import Mapping

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from turnwell.web.shared.access import person, shop_only
from turnwell.web.shared.forms import carry_out
from turnwell.web.shared.times import today_in_zone
from turnwell.web.sterilizers.actions import add_feed_water, take_back_feed_water
from turnwell.web.sterilizers.analysis.feed_water import water_readings
from turnwell.web.sterilizers.forms.feed_water import FeedWaterForm
from turnwell.web.sterilizers.forms.records import TakeBackForm
from turnwell.web.sterilizers.models import FeedWater, Sterilizer

__all__ = ["feed_water", "feed_water_take_back"]

SHOWN = 12


@shop_only
@require_http_methods(["GET", "POST"])
def feed_water(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down values of the feed water."""
    row = get_object_or_404(Sterilizer.objects.select_related("office"), pk=pk)
    form = FeedWaterForm(
        request.POST or None, initial={"sampled_on": today_in_zone(row.office.time_zone)}
    )
    if request.method == "POST" and form.is_valid():
        written = carry_out(
            form,
            add_feed_water,
            by=person(request),
            sterilizer=row,
            sampled_on=form.cleaned_data["sampled_on"],
            values=form.values(),
            how=form.cleaned_data["how"],
            bound_percent=form.cleaned_data["bound_percent"],
        )
        if written is not None:
            messages.success(request, "The values are written down.")
            return redirect("feed-water", pk)
    return _shown(request, row, form)


@shop_only
@require_POST
def feed_water_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back values that were wrong."""
    entry = get_object_or_404(FeedWater.objects.select_related("sterilizer__office"), pk=pk)
    form = TakeBackForm(request.POST, prefix=_prefix(entry))
    if form.is_valid():
        gone = carry_out(
            form,
            take_back_feed_water,
            by=person(request),
            entry=entry,
            reason=form.cleaned_data["reason"],
        )
        if gone is not None:
            messages.success(request, "The values are taken back; they stay on record.")
            return redirect("feed-water", entry.sterilizer_id)
    backs = {entry.pk: form}
    return _shown(request, entry.sterilizer, FeedWaterForm(), backs=backs, status=400)


def _shown(
    request: HttpRequest,
    row: Sterilizer,
    form: FeedWaterForm,
    *,
    backs: Mapping[int, TakeBackForm] | None = None,
    status: int = 200,
) -> HttpResponse:
    entries = list(row.feed_water.standing().select_related("entered_by")[:SHOWN])
    context = {
        "sterilizer": row,
        "form": form,
        "entries": [
            (
                entry,
                water_readings(entry),
                (backs or {}).get(entry.pk) or TakeBackForm(prefix=_prefix(entry)),
            )
            for entry in entries
        ],
    }
    return render(request, "sterilizers/feed_water.html", context, status=status)


def _prefix(entry: FeedWater) -> str:
    """Tell the forms of one page apart."""
    return f"back-{entry.pk}"
