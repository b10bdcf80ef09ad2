"""Tags of lives and returns: ``{% load lives %}``."""

from collections.abc import Sequence
from typing import Any

from django import template
from django.utils import timezone

from turnwell.web.accounts.models import User
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import EstimateOption, Job
from turnwell.web.lives.analysis.worth import Priced, worth_of_job
from turnwell.web.lives.chances import in_percent
from turnwell.web.lives.records import shop_records

__all__ = ["register"]

register = template.Library()


@register.inclusion_tag("lives/worth.html")
def worth(job: Job, options: Sequence[EstimateOption]) -> dict[str, Any]:
    """``{% worth job records.options %}``: what each option is expected to bring; none, nothing."""
    if not options:
        return {}
    priced = [Priced.of(option) for option in options]
    return {"job": job, "found": worth_of_job(shop_records(timezone.now()), job, priced)}


register.filter("in_percent", in_percent)


@register.filter
def is_open_to(row: Handpiece | Job, user: User) -> bool:
    """Tell whether a person may open a handpiece or job that a list of their office names.

    A handpiece that changed offices has stays in both.
    """
    return user.is_shop or row.office_id == user.office_id
