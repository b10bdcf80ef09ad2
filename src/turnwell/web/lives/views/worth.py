"""What an option is worth: reckoned anew while its price is typed, and the lives behind it."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from turnwell.web.handpieces.names import class_name
from turnwell.web.jobs.forms.estimating import OptionForm
from turnwell.web.jobs.models import Job, OptionKind
from turnwell.web.jobs.money import smallest_coin, tax_on
from turnwell.web.jobs.views.entry import job_or_404
from turnwell.web.lives.analysis.pools import pool_of
from turnwell.web.lives.analysis.worth import Priced, worth_of_job
from turnwell.web.lives.behind import lives_behind
from turnwell.web.lives.records import shop_records
from turnwell.web.shared.access import shop_only
from turnwell.web.shared.codes import code_shown
from turnwell.web.shop.queries import the_shop

__all__ = ["behind", "worth"]


@shop_only
@require_POST
def worth(request: HttpRequest, code: str) -> HttpResponse:
    """Reckon what the option that is being typed is worth; nothing is saved.

    A script asks for the part of the page alone; without one the whole page comes.
    """
    job = job_or_404(request, code)
    typed = OptionForm(request.POST, job=job)
    typed.is_valid()
    priced = _priced(typed)
    found = None
    if priced is not None:
        found = worth_of_job(shop_records(timezone.now()), job, [priced])
    is_part = request.headers.get("X-Part") == "worth"
    template = "lives/worth_part.html" if is_part else "lives/worth_page.html"
    return render(request, template, {"job": job, "found": found, "form": typed})


@shop_only
@require_safe
def behind(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    """List the handpieces that an option is judged by."""
    if kind not in OptionKind.values:
        raise Http404("There is no such kind of repair.")
    job: Job = job_or_404(request, code)
    records = shop_records(timezone.now())
    pool = pool_of(records, job.handpiece.class_key, OptionKind(kind))
    context = {
        "place": "jobs",
        "back": job.get_absolute_url() + "#estimate",
        "back_says": f"Job {code_shown(job.code)}",
        "title": f"{OptionKind(kind).label}: the lives behind it",
        "note": class_name(job.handpiece.class_key),
        **lives_behind(pool.behind, request.GET.get("page")),
    }
    return render(request, "lives/behind.html", context)


def _priced(typed: OptionForm) -> Priced | None:
    """Give the option as far as it is typed; None where its kind or a price is missing."""
    clean = typed.cleaned_data
    if not any(typed.data.get(name, "").strip() for name in ("parts_price", "labour_price")):
        return None
    if not {"kind", "parts_price", "labour_price", "warranty_months"} <= clean.keys():
        return None
    shop = the_shop()
    coin = smallest_coin(shop.currency)
    prices = [clean[part].quantize(coin) for part in ("parts_price", "labour_price")]
    return Priced(
        kind=OptionKind(clean["kind"]),
        total=sum(prices) + tax_on(prices, shop),
        currency=shop.currency,
        warranty_months=clean["warranty_months"] or 0,
    )
