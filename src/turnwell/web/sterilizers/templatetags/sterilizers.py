"""Tags of the pages of sterilizers: ``{% load sterilizers %}``."""

from django import template

from turnwell.units import s_to_min
from turnwell.web.handpieces.names import class_name
from turnwell.words import text_of

__all__ = ["register"]

register = template.Library()


@register.inclusion_tag("sterilizers/caution.html")
def releases_no_load() -> dict[str, str]:
    """``{% releases_no_load %}``: the line that every page of this part carries."""
    return {"says": text_of("steam.releases_no_load")}


@register.filter
def into_run(seconds: float | None) -> str:
    """Write a moment of a run as minutes and seconds since its first row.

    >>> into_run(634.0), into_run(None)
    ('10:34', '')
    """
    if seconds is None:
        return ""
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


@register.filter
def as_minutes(seconds: float | None) -> str:
    """Write seconds in minutes, to three figures.

    >>> as_minutes(1200.0), as_minutes(210.0)
    ('20', '3.5')
    """
    return "" if seconds is None else f"{s_to_min(seconds):.3g}"


@register.filter
def clock_face(written: str) -> str:
    """Write what the sterilizer's own clock said as people read it.

    >>> clock_face("2026-05-08T17:12:00")
    '2026-05-08 17:12:00'
    """
    return written.replace("T", " ")


@register.filter
def columns_word(what: str) -> str:
    """Write what a column is as people say it.

    >>> columns_word("second_temperature")
    'second temperature'
    """
    return what.replace("_", " ")


@register.filter
def unit_of(units: dict[str, str] | None, what: str) -> str:
    """Give the unit of a column, and of a pressure where it counts from.

    >>> unit_of({"pressure": "kPa", "pressure_zero": "gauge"}, "pressure")
    'kPa gauge'
    """
    known = units or {}
    unit = known.get(what, "")
    return f"{unit} {known.get('pressure_zero', '')}".strip() if what == "pressure" else unit


@register.filter
def class_named(key: str) -> str:
    """Give the name of a handpiece class."""
    return class_name(key)


@register.filter
def layout_said(layout: dict[str, object]) -> str:
    """Write a confirmed layout as people say it.

    >>> layout_said({"pressure_column": 3, "time_column": 1, "pressure_unit": "bar",
    ...              "pressure_zero": "gauge", "signature": "ab"})
    'Time 1; pressure 3, bar gauge'
    """
    units = {key.removesuffix("_unit"): str(value) for key, value in layout.items() if value}
    said = [
        ", ".join(filter(None, (f"{columns_word(what)} {number}", unit_of(units, what))))
        for what, number in _columns_in(layout)
    ]
    listed = "; ".join(said)
    return listed[:1].upper() + listed[1:]


def _columns_in(layout: dict[str, object]) -> list[tuple[str, int]]:
    """Give what each column is, in their order in the file: a database may keep keys in any."""
    found = [
        (key.removesuffix("_column"), number)
        for key, number in layout.items()
        if key.endswith("_column") and isinstance(number, int)
    ]
    return sorted(found, key=lambda column: column[1])
