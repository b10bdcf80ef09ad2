"""Forms of a sterilizer, of a cycle it is set to, and of its clock."""

from typing import Any

from django import forms

from turnwell.catalogue import load
from turnwell.units import min_to_s, s_to_min
from turnwell.web.shared.forms import HouseForm, PastDateField
from turnwell.web.shared.quantities import NumberField, TemperatureField
from turnwell.web.sterilizers.actions import PlanDetails, SterilizerDetails
from turnwell.web.sterilizers.models import Plan, Sterilizer

__all__ = ["ClockForm", "PlanForm", "SterilizerForm"]

AHEAD, BEHIND = "ahead", "behind"
OF_THE_CATALOGUE = ("set_c", "band_k", "hold_s", "dry_s", "drying_pressure_kpa")


class SterilizerForm(HouseForm):
    """A sterilizer: what it is called, what it is, how far its sensors are believed."""

    name = forms.CharField(
        label="Name",
        max_length=60,
        help_text="As the office calls it, such as 1 or Left. Once an office.",
    )
    model_typed = forms.CharField(
        label="Model", max_length=120, required=False, help_text="As it stands on the plate."
    )
    capacity_l = NumberField(
        label="Chamber, in litres", low=0.1, high=2000.0, unit="litres", required=False
    )
    air_removal = forms.ChoiceField(
        label="How it takes the air out",
        choices=[("", "Not known"), *Sterilizer.AirRemoval.choices],
        required=False,
    )
    temperature_bound_k = NumberField(
        label="Temperature sensor, believed to within ± K",
        low=0.01,
        high=20.0,
        unit="K",
        initial=0.5,
        help_text="From the last calibration. ± 0.5 K is common practice for a sensor in service.",
    )
    pressure_bound_kpa = NumberField(
        label="Pressure sensor, believed to within ± kPa",
        low=0.01,
        high=20.0,
        unit="kPa",
        initial=2.0,
        help_text="From the last calibration. ± 2 kPa is common practice for a sensor in service.",
    )
    note = forms.CharField(
        label="Note",
        max_length=5000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Seen by the shop only. No patient data.",
    )
    is_active = forms.BooleanField(label="In use", required=False, initial=True)

    def details(self) -> SterilizerDetails:
        """Give what was typed."""
        return SterilizerDetails(**self.cleaned_data)

    @staticmethod
    def initial_of(sterilizer: Sterilizer) -> dict[str, object]:
        """Give the sterilizer's values as the form's first ones."""
        return {name: getattr(sterilizer, name) for name in SterilizerDetails.__dataclass_fields__}


class PlanForm(HouseForm):
    """A cycle: taken from the catalogue, or own values, or both."""

    name = forms.CharField(label="Name", max_length=80, help_text="As the sterilizer calls it.")
    catalogue_key = forms.ChoiceField(
        label="From the catalogue",
        required=False,
        help_text="Fills what is left empty below. Own values go before it.",
    )
    set_c = TemperatureField(
        label="Sterilization temperature", low=100.0, high=140.0, required=False
    )
    band_k = NumberField(label="Band above it, in K", low=0.1, high=20.0, unit="K", required=False)
    hold_min = NumberField(
        label="Holding time, in minutes", low=0.02, high=120.0, unit="min", required=False
    )
    dry_min = NumberField(
        label="Drying time, in minutes",
        low=0.02,
        high=240.0,
        unit="min",
        required=False,
        help_text="As set on the sterilizer. Without it nobody can tell whether drying was cut "
        "short.",
    )
    drying_pressure_kpa = NumberField(
        label="Drying vacuum, at most, in kPa absolute",
        low=0.1,
        high=110.0,
        unit="kPa",
        required=False,
        help_text="Only where the maker or the shop says one.",
    )
    pulses = NumberField(label="Air-removal pulses", low=0, high=20, is_whole=True, required=False)
    is_usual = forms.BooleanField(
        label="The usual one: records are held against it unless said otherwise", required=False
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        chosen = self.fields["catalogue_key"]
        assert isinstance(chosen, forms.ChoiceField)  # noqa: S101  (declared so above)
        chosen.choices = [
            ("", "None, own values only"),
            *((key, row.name) for key, row in load().cycles.items()),
        ]

    def details(self) -> PlanDetails:
        """Give what was typed, filled up from the catalogue."""
        typed = dict(self.cleaned_data)
        for name in ("hold", "dry"):
            minutes = typed.pop(f"{name}_min")
            typed[f"{name}_s"] = None if minutes is None else min_to_s(minutes)
        book = load()
        row = book.cycles.get(typed["catalogue_key"])
        if row is None:
            return PlanDetails(**typed)
        own = [name for name in OF_THE_CATALOGUE if typed[name] is not None]
        typed |= {name: getattr(row, name) for name in OF_THE_CATALOGUE if name not in own}
        # One source speaks for the whole cycle; once a person has changed it, that is theirs too.
        source = book.source_text(row.source) + ("; some values as set" if own else "")
        return PlanDetails(**typed, source=source[:200], basis=row.basis)

    @staticmethod
    def initial_of(plan: Plan) -> dict[str, object]:
        """Give the cycle's values as the form's first ones."""
        return {
            "name": plan.name,
            "catalogue_key": plan.catalogue_key,
            "set_c": plan.set_c,
            "band_k": plan.band_k,
            "hold_min": None if plan.hold_s is None else s_to_min(plan.hold_s),
            "dry_min": None if plan.dry_s is None else s_to_min(plan.dry_s),
            "drying_pressure_kpa": plan.drying_pressure_kpa,
            "pulses": plan.pulses,
            "is_usual": plan.is_usual,
        }


class ClockForm(HouseForm):
    """How far the sterilizer's clock is off."""

    minutes = NumberField(
        label="Off by, in minutes",
        low=0.0,
        high=1_000_000.0,
        unit="min",
        help_text="Compare it with the office's clock. An hour is 60, a day 1440.",
    )
    which = forms.ChoiceField(
        label="It is",
        choices=[(AHEAD, "ahead: it shows a later time"), (BEHIND, "behind: an earlier time")],
        widget=forms.RadioSelect,
        initial=AHEAD,
    )
    from_day = PastDateField(
        label="From this day on, by the sterilizer's clock",
        help_text="The day it was set, or that of the first record. Earlier records stay.",
    )

    @property
    def minutes_ahead(self) -> float:
        """Minutes it is ahead; negative where it is behind."""
        minutes = float(self.cleaned_data["minutes"])
        return minutes if self.cleaned_data["which"] == AHEAD else -minutes
