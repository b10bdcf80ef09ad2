"""The round: which offices to call on first, and what the next quarter asks of the shop."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from turnwell.web.handpieces.names import class_name
from turnwell.web.jobs.models import OptionKind
from turnwell.web.lives.analysis.review import PERIODS
from turnwell.web.lives.behind import lives_behind, warranties_behind
from turnwell.web.lives.records import shop_records
from turnwell.web.lives.round_page import round_page_of
from turnwell.web.lives.views.period import years_asked
from turnwell.web.shared.access import shop_only
from turnwell.web.shop.queries import the_shop

__all__ = ["behind", "the_round", "under_warranty"]


@shop_only
@require_safe
def the_round(request: HttpRequest) -> HttpResponse:
    """Show the round."""
    years = years_asked(request)
    page = round_page_of(years=years, zone=the_shop().time_zone, now=timezone.now())
    context = {"page": page, "years": years, "periods": PERIODS}
    return render(request, "lives/round.html", context)


@shop_only
@require_safe
def behind(request: HttpRequest, class_key: str, kind: str) -> HttpResponse:
    """List the lives behind a row of the repairs that last or do not."""
    records = shop_records(timezone.now())
    if kind not in OptionKind.values or class_key not in records.class_keys:
        raise Http404("There is no such repair.")
    context = {
        "place": "offices",
        "back": reverse("round"),
        "back_says": "The round",
        "title": f"{OptionKind(kind).label}: the lives behind it",
        "note": class_name(class_key),
        **lives_behind(
            records.repair_lives(kind=kind, class_key=class_key), request.GET.get("page")
        ),
    }
    return render(request, "lives/behind.html", context)


@shop_only
@require_safe
def under_warranty(request: HttpRequest) -> HttpResponse:
    """List the handpieces under warranty."""
    records = shop_records(timezone.now())
    context = {
        "place": "offices",
        "back": reverse("round"),
        "back_says": "The round",
        "title": "The handpieces under warranty",
        **warranties_behind(records.under_warranty(), request.GET.get("page")),
    }
    return render(request, "lives/behind.html", context)
