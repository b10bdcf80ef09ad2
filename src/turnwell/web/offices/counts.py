"""What the list of offices says beside each name, in one query a column."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Max

from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import Job
from turnwell.web.offices.models import Office
from turnwell.web.visits.models import Visit

__all__ = ["OfficeLine", "office_lines"]


@dataclass(frozen=True, slots=True)
class OfficeLine:
    """An office with how many handpieces it uses, how many are at the bench, its last visit."""

    office: Office
    in_use: int
    at_bench: int
    last_visit: date | None


def office_lines(offices: Sequence[Office]) -> list[OfficeLine]:
    """Give a line for each office."""
    keys = [office.pk for office in offices]
    in_use = Handpiece.objects.filter(office__in=keys, retired_on__isnull=True).order_by()
    used = dict(in_use.values_list("office").annotate(Count("pk")))
    # All open jobs in the order of their own small index, so that no other job is read.
    here = Counter(
        Job.objects.open().order_by("-stage_since", "-pk").values_list("office", flat=True)
    )
    visits = Visit.objects.standing().filter(office__in=keys).order_by()
    last = dict(visits.values_list("office").annotate(Max("visited_on")))
    return [
        OfficeLine(office, used.get(office.pk, 0), here[office.pk], last.get(office.pk))
        for office in offices
    ]
