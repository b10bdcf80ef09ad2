"""Filters that turn what the book stores into what people read: ``{% load book %}``."""

from django import template
from django.template.context import Context
from django.utils.html import format_html
from django.utils.safestring import SafeString

from turnwell.catalogue import Bearing, CareStep, Cause, load
from turnwell.measure import Basis, Reading
from turnwell.pictures import figures_of, in_units
from turnwell.web.handpieces import names
from turnwell.web.handpieces.limit_words import limit_in_words, quantity_in_words
from turnwell.web.handpieces.ratios import ratio_shown

__all__ = ["register"]

register = template.Library()
register.filter("class_name", names.class_name)
register.filter("cause_name", names.cause_name)
register.filter("reading_name", names.reading_name)
register.filter("ratio", ratio_shown)

NOT_VERIFIED = "not verified: check your copy of the standard or the maker's sheet"
HOW_KNOWN = {
    Basis.READ: "read in its source",
    Basis.SECONDARY: f"from a summary of the source, {NOT_VERIFIED}",
    Basis.MEMORY: f"from memory, {NOT_VERIFIED}",
    Basis.COMMON_PRACTICE: f"common practice, {NOT_VERIFIED}",
    Basis.OWN: "the shop's own",
}


@register.filter
def plain(number: float) -> str:
    """Give a number without trailing zeros."""
    return f"{number:g}"


@register.filter
def how_known(basis: Basis | str) -> str:
    """Say how a limit is known, and what to do where it is not verified."""
    return HOW_KNOWN[Basis(basis)]


@register.filter
def fact_known(basis: Basis | str) -> str:
    """Say in one or two words how a fact that is no limit is known."""
    return {
        Basis.READ: "read",
        Basis.SECONDARY: "read in a summary",
        Basis.MEMORY: "from memory",
    }.get(Basis(basis), Basis(basis).value)


@register.filter
def believed_effect(cause: Cause) -> str:
    """Say which share of a cause's returns the office's action is believed to prevent."""
    row = load().effects.get(cause.key)
    return f"{row.mean:.0%}".replace("%", "\u00a0%") if row else ""


@register.filter
def said_where(row: CareStep | Bearing) -> str:
    """Say where a fact is written down and how it is known."""
    if row.basis is Basis.COMMON_PRACTICE:
        return "Common practice"
    where = load().sources[row.source].where
    return f"{where[:1].upper()}{where[1:]}: {fact_known(row.basis)}"


@register.simple_tag(takes_context=True)
def figures(context: Context, reading: Reading) -> SafeString:
    """``{% figures reading %}``: value, unit and interval in the shop's units; empty for none."""
    shop = context.get("shop")
    shown = figures_of(in_units(reading, shop.units if shop else {}))
    if shown.value is None:
        return SafeString("")
    return format_html(
        '<span class="nobreak">{} {}</span> <span class="note nobreak">{} to {}</span>',
        shown.value,
        shown.unit,
        shown.low,
        shown.high,
    )


@register.simple_tag(takes_context=True)
def limit_words(context: Context, low: float | None, high: float | None, unit: str) -> str:
    """``{% limit_words low high unit %}``: a limit in the shop's units."""
    return limit_in_words(low, high, unit, context.get("shop"))


@register.simple_tag(takes_context=True)
def quantity(context: Context, value: float | None, unit: str) -> str:
    """``{% quantity 220 "kPa" %}``: a value in the shop's units, empty for None."""
    return "" if value is None else quantity_in_words(value, unit, context.get("shop"))


@register.simple_tag(takes_context=True)
def rounded(context: Context, value: float, unit: str) -> str:
    """``{% rounded 2.8744 "s" %}``: a mean, to three figures, four for thousands."""
    digits = 4 if abs(value) >= 1000 else 3
    return quantity_in_words(float(f"{value:.{digits}g}"), unit, context.get("shop"))
