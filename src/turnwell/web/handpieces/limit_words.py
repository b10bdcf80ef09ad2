"""Limits and plain quantities as people read them, in the units of the shop."""

from turnwell.web.handpieces.limits import OF_LABEL
from turnwell.web.shared.quantities import (
    LengthField,
    PressureField,
    QuantityField,
    TemperatureField,
    Unit,
)
from turnwell.web.shop.models import Shop

__all__ = ["field_for", "limit_in_words", "quantity_in_words"]

# Unit that is kept to the field whose units a person may choose among.
FIELDS: dict[str, type[QuantityField]] = {
    "kPa": PressureField,
    "mm": LengthField,
    "°C": TemperatureField,
}


def field_for(unit: str) -> type[QuantityField] | None:
    """Give the kind of field for a kept unit; None where it is typed as it is kept."""
    return FIELDS.get(unit)


def quantity_in_words(value: float, unit: str, shop: Shop | None) -> str:
    """Give a value with its unit, in the unit that the shop uses.

    >>> quantity_in_words(400000, "rpm", None), quantity_in_words(0.03, "mm", None)
    ('400,000 rpm', '0.03 mm')
    """
    chosen = _unit(unit, shop)
    if chosen is not None and chosen.name != unit:
        # Three figures: what was typed in the other unit comes back as it was typed.
        return f"{chosen.from_kept(value):.3g} {chosen.name}"
    return f"{_figures(value)} {unit}"


def limit_in_words(low: float | None, high: float | None, unit: str, shop: Shop | None) -> str:
    """Give a limit in words.

    >>> limit_in_words(None, 0.03, "mm", None), limit_in_words(22, None, "N", None)
    ('at most 0.03 mm', 'at least 22 N')
    >>> limit_in_words(-10, 10, "% of label", None)
    'from 10 % below to 10 % above the label speed'
    """
    if unit == OF_LABEL:
        return _off_label(low, high)
    if low is None:
        return f"at most {quantity_in_words(high, unit, shop)}" if high is not None else "none"
    if high is None:
        return f"at least {quantity_in_words(low, unit, shop)}"
    return f"from {quantity_in_words(low, unit, shop)} to {quantity_in_words(high, unit, shop)}"


def _off_label(low: float | None, high: float | None) -> str:
    sides = [
        f"{abs(side):g} % {'below' if side < 0 else 'above'}"
        for side in (low, high)
        if side is not None
    ]
    if len(sides) == 2:
        return f"from {sides[0]} to {sides[1]} the label speed"
    return (
        f"at {'least' if high is None else 'most'} {sides[0]} the label speed" if sides else "none"
    )


def _unit(unit: str, shop: Shop | None) -> Unit | None:
    field = FIELDS.get(unit)
    if field is None or not shop:
        return None
    wanted = getattr(shop, field.shop_setting)
    return next(choice for choice in field.units if choice.key == wanted)


def _figures(number: float) -> str:
    return f"{number:,.0f}" if abs(number) >= 1000 else f"{number:.4g}"
