"""Tags of lives and returns: ``{% load lives %}``."""

from collections.abc import Sequence
from typing import Any

from django import template
from django.utils import timezone

from turnwell.web.jobs.models import EstimateOption, Job
from turnwell.web.lives.analysis.worth import Priced, worth_of_job
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


@register.filter
def in_percent(chance: float) -> str:
    """Write a chance in whole per cent; never as certain.

    >>> in_percent(0.314), in_percent(0.9999), in_percent(0.0001)
    ('31 %', 'over 99 %', 'under 1 %')
    """
    if chance > 0.99:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{100.0 * chance:.0f} %"
