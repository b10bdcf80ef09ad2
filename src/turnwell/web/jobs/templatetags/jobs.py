"""Tags of the job page: ``{% load jobs %}``."""

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from turnwell.pictures.figures import decimals_for, written
from turnwell.web.jobs.analysis.compare import Pair
from turnwell.words import text_of

__all__ = ["register"]

register = template.Library()


@register.simple_tag
def change(pair: Pair) -> SafeString:
    """``{% change pair %}``: by how much a reading changed, with its interval, or why not told."""
    told = pair.change
    name = text_of(told.name)
    if told.value is None or told.low is None or told.high is None:
        return format_html("<b>{}</b>: {}. {}", name, told.verdict.value, text_of(told.why))
    decimals = decimals_for((told.high - told.low) / 2.0)
    sign = "+" if told.value > 0 else ""
    return format_html(
        '<b>{}</b>: <span class="nobreak">{}{} {}</span> ({} to {}). {}',
        name,
        sign,
        written(told.value, decimals),
        told.unit,
        written(told.low, decimals),
        written(told.high, decimals),
        text_of(told.why),
    )
