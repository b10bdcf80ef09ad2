"""Forms of the shop's settings and instruments."""

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.validators import RegexValidator

from turnwell.web.shared.forms import HouseForm, PastDateField
from turnwell.web.shared.quantities import NumberField
from turnwell.web.shared.selects import LongSelect
from turnwell.web.shared.times import zone_choices
from turnwell.web.shop.actions import InstrumentDetails, ShopDetails
from turnwell.web.shop.models import (
    Instrument,
    LengthUnit,
    PaperSize,
    PressureUnit,
    TaxRounding,
    TemperatureUnit,
)

__all__ = ["CheckForm", "InstrumentForm", "ShopForm", "TakeBackForm"]

LATEST_DUE = date(2100, 1, 1)


class ShopForm(HouseForm):
    """Who the shop is, how it measures, and what it charges in."""

    name = forms.CharField(label="Name of the shop", max_length=120, help_text="Heads every paper.")
    address = forms.CharField(
        label="Address", max_length=1000, required=False, widget=forms.Textarea({"rows": 3})
    )
    phone = forms.CharField(
        label="Telephone", max_length=40, required=False, widget=forms.TextInput({"type": "tel"})
    )
    email = forms.EmailField(label="E-mail", max_length=254, required=False)
    time_zone = forms.ChoiceField(
        label="Time zone",
        choices=zone_choices,
        widget=LongSelect,
        help_text="Of the bench; each office has its own.",
    )
    pressure_unit = forms.ChoiceField(label="Pressure in", choices=PressureUnit.choices)
    temperature_unit = forms.ChoiceField(label="Temperature in", choices=TemperatureUnit.choices)
    length_unit = forms.ChoiceField(label="Length in", choices=LengthUnit.choices)
    paper_size = forms.ChoiceField(label="Paper", choices=PaperSize.choices)
    currency = forms.CharField(
        label="Currency",
        max_length=3,
        validators=[RegexValidator(r"^[A-Z]{3}$", "Write the three letters, such as USD or EUR.")],
        help_text="Its three letters, such as USD or EUR.",
    )
    tax_name = forms.CharField(
        label="Name of the tax", max_length=40, help_text="As estimates call it."
    )
    tax_percent = NumberField(
        label="Tax in per cent", low=0, high=100, unit="%", help_text="0 where none is charged."
    )
    tax_rounding = forms.ChoiceField(label="Tax is rounded", choices=TaxRounding.choices)

    def details(self) -> ShopDetails:
        """Give what was typed."""
        typed = dict(self.cleaned_data)
        typed["tax_percent"] = Decimal(str(typed["tax_percent"])).quantize(Decimal("0.001"))
        return ShopDetails(**typed)


class InstrumentForm(HouseForm):
    """An instrument: what it is, and how finely and how rightly it reads."""

    name = forms.CharField(label="Name", max_length=80, help_text="As the bench calls it.")
    kind = forms.ChoiceField(label="Kind", choices=Instrument.Kind.choices)
    serial = forms.CharField(label="Serial number", max_length=60, required=False)
    unit = forms.CharField(
        label="Unit it reads in", max_length=12, required=False, help_text="Such as kPa, rpm or mm."
    )
    resolution = NumberField(
        label="Smallest step it shows", low=0, high=1_000_000, required=False, is_grouped=True
    )
    stated_error = NumberField(
        label="Largest error its maker states, plus or minus",
        low=0,
        high=1_000_000,
        required=False,
        is_grouped=True,
        help_text="In the same unit; from its papers or its last check.",
    )
    is_retired = forms.BooleanField(label="No longer in use", required=False)

    def clean(self) -> dict[str, Any]:
        """Ask for the unit where a number needs one."""
        typed: dict[str, Any] = super().clean() or {}
        has_number = typed.get("resolution") is not None or typed.get("stated_error") is not None
        if has_number and not typed.get("unit"):
            self.add_error("unit", "Give the unit that step and error are in.")
        return typed

    def details(self) -> InstrumentDetails:
        """Give what was typed."""
        return InstrumentDetails(**self.cleaned_data)


class CheckForm(HouseForm):
    """One check of an instrument against something better."""

    checked_on = PastDateField(label="Checked on")
    due_on = forms.DateField(
        label="Next due",
        required=False,
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={"invalid": "This is not a date; write it as 2026-05-31."},
    )
    note = forms.CharField(
        label="Against what, and how it came out", max_length=300, required=False
    )

    def clean_due_on(self) -> date | None:
        """Refuse a year typed with a slip."""
        due: date | None = self.cleaned_data["due_on"]
        if due is not None and due > LATEST_DUE:
            raise forms.ValidationError(f"{due.isoformat()} is far away; check the year.")
        return due


class TakeBackForm(HouseForm):
    """Why a check is taken back."""

    reason = forms.CharField(label="Why it is taken back", max_length=300)
