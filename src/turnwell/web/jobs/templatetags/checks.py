"""Marks of the check against a tachometer: ``{% load checks %}``."""

from typing import Any

from django import template
from django.utils.safestring import mark_safe

from turnwell.pictures.agreement_plot import AgreementShown, agreement_plot, signed
from turnwell.words import text_of

__all__ = ["register"]

register = template.Library()

PERCENT_DIGITS = 3


@register.filter
def percent(value: float) -> str:
    """``{{ difference|percent }}``: a difference in per cent with its sign, to 10 ppm."""
    return f"{signed(value, PERCENT_DIGITS)} %"


@register.filter
def ppm_as_percent(ppm: float) -> str:
    """``{{ agreement.limits.bias.value|ppm_as_percent }}``: parts per million, as per cent."""
    return percent(ppm / 1e4)


@register.inclusion_tag("jobs/agreement_plot.html", name="agreement_plot")
def agreement_picture(shown: AgreementShown) -> dict[str, Any]:
    """``{% agreement_plot check.picture %}``: differences over speed, with their limits."""
    return {
        "svg": mark_safe(agreement_plot(shown)),  # noqa: S308  # own SVG, text escaped
        "caption": text_of("pictures.agreement.caption"),
    }
