"""What all forms share: the shop's units, plain sentences of refusal, and how they are drawn."""

from collections.abc import Callable
from datetime import date
from typing import Any, TypeVar

from django import forms
from django.core.validators import ProhibitNullCharactersValidator
from django.forms.renderers import TemplatesSetting

from turnwell.errors import TurnwellError
from turnwell.web.shared.quantities import QuantityField
from turnwell.web.shared.times import today_in_zone
from turnwell.web.shop.models import Shop
from turnwell.web.shop.queries import the_shop

__all__ = [
    "EARLIEST",
    "HouseForm",
    "HouseRenderer",
    "PastDateField",
    "carry_out",
    "sentence",
]

T = TypeVar("T")

# Before this no handpiece of today was made: a year typed with a slip.
EARLIEST = date(1950, 1, 1)
NUL_REFUSED = ProhibitNullCharactersValidator(
    message="This holds a character that cannot be stored (NUL); type it again by hand."
)


class HouseRenderer(TemplatesSetting):
    """Draws every form and field with the house's own templates."""

    form_template_name = "shared/form.html"
    field_template_name = "shared/field.html"


class PastDateField(forms.DateField):
    """A date that cannot lie in the future of the shop's wall clock."""

    widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})

    def __init__(self, **options: Any) -> None:
        self.zone = "UTC"
        super().__init__(**options)
        self.error_messages["invalid"] = "This is not a date; write it as 2026-05-31."

    def clean(self, value: Any) -> date | None:
        """Give the date, or None when empty."""
        day: date | None = super().clean(value)
        if day is None:
            return None
        if day > today_in_zone(self.zone):
            raise forms.ValidationError(f"{day:%d %B %Y} is in the future; give the day it was.")
        if day < EARLIEST:
            raise forms.ValidationError(f"{day.isoformat()} is too long ago; check the year.")
        return day


class HouseForm(forms.Form):
    """A form of the house: gives fields the shop's units and zone, and plain sentences."""

    def __init__(self, *args: Any, shop: Shop | None = None, **options: Any) -> None:
        super().__init__(*args, **options)
        self.suit(shop)

    def suit(self, shop: Shop | None) -> None:
        """Suit the fields to the shop; it is read only when a field needs it."""
        for field in self.fields.values():
            if isinstance(field, QuantityField):
                shop = shop or the_shop()
                field.use_unit(getattr(shop, field.shop_setting))
            elif isinstance(field, PastDateField):
                shop = shop or the_shop()
                field.zone = shop.time_zone
            if isinstance(field, forms.CharField):
                field.validators = [
                    NUL_REFUSED if isinstance(check, ProhibitNullCharactersValidator) else check
                    for check in field.validators
                ]
            field.error_messages["required"] = "Fill this in; it is needed."


def carry_out(form: forms.BaseForm, action: Callable[..., T], **arguments: Any) -> T | None:
    """Call an action; put what it refuses into the form as one sentence and give None.

    What was typed stays in the form, so the page can be shown again as it was.
    """
    try:
        return action(**arguments)
    except TurnwellError as error:
        form.add_error(None, sentence(error))
        return None


def sentence(error: TurnwellError) -> str:
    """Give what an action refuses as a sentence of its own.

    >>> sentence(TurnwellError("an office needs a name"))
    'An office needs a name.'
    """
    text = str(error)
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")
