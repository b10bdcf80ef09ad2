"""The page of the shop itself."""

from django.contrib import messages
from django.forms.models import model_to_dict
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from turnwell.web.shared.access import owner_only, person, shop_only
from turnwell.web.shared.context import page_reach
from turnwell.web.shared.forms import carry_out
from turnwell.web.shared.rows import snapshot_of
from turnwell.web.shared.times import today_in_zone
from turnwell.web.shop.actions import SHOP_FIELDS, save_shop
from turnwell.web.shop.forms import ShopForm
from turnwell.web.shop.queries import instrument_lines, the_shop

__all__ = ["shop_edit", "shop_page"]


@require_http_methods(["GET", "HEAD"])
@shop_only
def shop_page(request: HttpRequest) -> HttpResponse:
    """Show the settings, and lead to instruments and people."""
    shop = the_shop()
    lines = instrument_lines(today_in_zone(shop.time_zone))
    context = {
        "is_saved": not shop._state.adding,
        "instruments": sum(not line.instrument.is_retired for line in lines),
        "overdue": sum(line.is_overdue for line in lines),
        "reach": page_reach(request),
    }
    return render(request, "shop/shop.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@owner_only
def shop_edit(request: HttpRequest) -> HttpResponse:
    """Change the settings."""
    shop = the_shop()
    form = ShopForm(request.POST or None, initial=model_to_dict(shop, SHOP_FIELDS), shop=shop)
    if request.method == "POST" and form.is_valid():
        saved = carry_out(
            form,
            save_shop,
            by=person(request),
            details=form.details(),
            seen=request.POST.get("seen"),
        )
        if saved is not None:
            messages.success(request, "The shop's settings are saved.")
            return redirect("shop")
    context = {"form": form, "seen": snapshot_of(shop, SHOP_FIELDS)}
    return render(request, "shop/shop_edit.html", context)
