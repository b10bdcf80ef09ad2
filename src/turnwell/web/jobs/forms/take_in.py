"""The form that takes a handpiece in."""

from typing import Any

from django import forms

from turnwell.catalogue import load
from turnwell.web.jobs.actions.take_in import MOST_CYCLES
from turnwell.web.jobs.forms.base import PATIENT_NOTE
from turnwell.web.jobs.models import Job
from turnwell.web.shared.forms import HouseForm
from turnwell.web.shared.quantities import NumberField

__all__ = ["FindHandpieceForm", "TakeInForm"]

NOT_YET = "not_yet"


class FindHandpieceForm(HouseForm):
    """Asks for the code on the label or the serial number."""

    q = forms.CharField(label="Scan the label, or type code or serial", max_length=80)


class TakeInForm(HouseForm):
    """What the office says, and who sterilized the handpiece before anybody touched it."""

    sterilized_by = forms.ChoiceField(
        label="Sterilized before it was touched?",
        choices=[
            (Job.SterilizedBy.OFFICE, "Yes, by the office"),
            (Job.SterilizedBy.HERE, "Yes, here; the load is written below"),
            (NOT_YET, "No, or not known"),
        ],
        widget=forms.RadioSelect,
    )
    sterilizer_load = forms.CharField(
        label="Sterilizer load", max_length=60, required=False, help_text="When sterilized here."
    )
    reason = forms.ChoiceField(
        label="Why it came", choices=Job.Reason, initial=Job.Reason.FAULT, widget=forms.RadioSelect
    )
    complaints = forms.MultipleChoiceField(
        label="What the office says", required=False, widget=forms.CheckboxSelectMultiple
    )
    complaint_words = forms.CharField(
        label="In the office’s words",
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=PATIENT_NOTE,
    )
    known_cycles = NumberField(
        label="Care cycles so far, if somebody counted",
        low=0,
        high=MOST_CYCLES,
        is_whole=True,
        is_grouped=True,
        required=False,
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["complaints"].choices = [  # type: ignore[attr-defined]  # of MultipleChoiceField
            (row.key, row.said + (" (out of use now)" if row.out_of_use else ""))
            for row in load().complaints.values()
        ]

    def clean(self) -> dict[str, Any]:
        """Turn "not yet" into the refusal of the gate."""
        cleaned = super().clean() or self.cleaned_data
        said = cleaned.get("sterilized_by")
        if said == NOT_YET:
            self.add_error(
                "sterilized_by",
                "It is contaminated until sterilized: leave it in its pouch, sterilize it, then"
                " take it in. What you typed is still here.",
            )
        elif said == Job.SterilizedBy.HERE and not cleaned.get("sterilizer_load"):
            self.add_error("sterilizer_load", "Write the number of the load it was in.")
        return cleaned
