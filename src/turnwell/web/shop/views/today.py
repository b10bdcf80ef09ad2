"""The first page: what waits today."""

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from turnwell.web.accounts.models import User
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.handpieces.states import with_states
from turnwell.web.jobs.models import IssuedPaper
from turnwell.web.shared.access import person
from turnwell.web.shared.times import today_in_zone
from turnwell.web.shop.bench import (
    bench_groups,
    bench_lines,
    group_head,
    group_jobs,
    group_keys,
    overdue_instruments,
)
from turnwell.web.shop.queries import the_shop

__all__ = ["today"]

GROUP_PAGE = 50
PAPERS_SHOWN = 10
HANDPIECES_SHOWN = 50


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    """Show what waits; ``?group=`` shows one group whole."""
    user = person(request)
    key = request.GET.get("group")
    if key:
        return _one_group(request, user, key)
    if not user.is_shop:
        return _for_office(request, user)
    now = timezone.now()
    here = today_in_zone(the_shop().time_zone, now)
    groups = bench_groups(user, now)
    context = {
        "groups": groups,
        "count": sum(group.count for group in groups),
        "for_shop": sum(group.count for group in groups if group.note == "waits for you"),
        "today": here,
        "overdue": overdue_instruments(here),
        "is_new": not groups and not Handpiece.objects.exists(),
    }
    return render(request, "shop/today.html", context)


def _one_group(request: HttpRequest, user: User, key: str) -> HttpResponse:
    if key not in group_keys():
        raise Http404("There is no such group of jobs.")
    page = Paginator(group_jobs(user, key), GROUP_PAGE).get_page(request.GET.get("page"))
    context = {
        "key": key,
        "head": group_head(user, key),
        "lines": bench_lines(page.object_list, timezone.now()),
        "page": page,
    }
    return render(request, "shop/today_group.html", context)


def _for_office(request: HttpRequest, user: User) -> HttpResponse:
    papers = IssuedPaper.objects.filter(job__office=user.office_id)
    handpieces = Handpiece.objects.visible_to(user).filter(retired_on__isnull=True)
    context = {
        "office": user.office,
        "groups": bench_groups(user, timezone.now()),
        "papers": papers.select_related("job__handpiece", "file")[:PAPERS_SHOWN],
        "handpieces": with_states(handpieces.with_place()[:HANDPIECES_SHOWN]),
        "handpiece_count": handpieces.count(),
    }
    return render(request, "shop/today_office.html", context)
