"""Forms of offices and chairs."""

from django import forms

from turnwell.web.offices.actions import HIGHEST_M, LOWEST_M, OfficeDetails
from turnwell.web.offices.models import Office
from turnwell.web.shared.forms import HouseForm
from turnwell.web.shared.quantities import NumberField
from turnwell.web.shared.selects import LongSelect
from turnwell.web.shared.times import zone_choices

__all__ = ["ChairForm", "OfficeForm"]


class OfficeForm(HouseForm):
    """An office: who they are, where they are, what the clock says there."""

    name = forms.CharField(label="Name", max_length=120)
    contact = forms.CharField(label="Who to ask for", max_length=120, required=False)
    phone = forms.CharField(
        label="Telephone",
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"type": "tel"}),
    )
    email = forms.EmailField(label="E-mail", required=False)
    address = forms.CharField(
        label="Address", max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    time_zone = forms.ChoiceField(
        label="Time zone",
        choices=zone_choices,
        widget=LongSelect,
        help_text="Times are shown by its clock.",
    )
    altitude_m = NumberField(
        label="Height above sea level, in metres",
        low=LOWEST_M,
        high=HIGHEST_M,
        unit="m",
        required=False,
        help_text="A gauge and a sterilizer read differently high up.",
    )
    note = forms.CharField(
        label="Note",
        max_length=5000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Seen by the shop only. No patient data.",
    )
    is_active = forms.BooleanField(label="On the round", required=False, initial=True)

    def details(self) -> OfficeDetails:
        """Give what was typed."""
        return OfficeDetails(**self.cleaned_data)

    @staticmethod
    def initial_of(office: Office) -> dict[str, object]:
        """Give the office's values as the form's first ones."""
        return {name: getattr(office, name) for name in OfficeDetails.__dataclass_fields__}


class ChairForm(HouseForm):
    """A chair's name."""

    name = forms.CharField(label="Name or number of the chair, such as 3 or Left", max_length=40)
