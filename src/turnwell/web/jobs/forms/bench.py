"""Small forms of the bench: notes, parts, running in, waiting, and the step itself."""

from decimal import Decimal
from typing import Any

from django import forms

from turnwell.web.jobs.forms.base import PATIENT_NOTE, JobForm
from turnwell.web.jobs.measurands import LARGEST_DRIVE_PRESSURE_KPA
from turnwell.web.jobs.models import Job, JobNote, PartUsed, RunIn, Waiting
from turnwell.web.shared.quantities import NumberField, PressureField

__all__ = ["MoveForm", "NoteForm", "PartForm", "RunInForm", "WaitingForm"]


class NoteForm(JobForm):
    """A note on the job."""

    text = forms.CharField(
        label="Note",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text=PATIENT_NOTE,
    )

    def __init__(self, *args: Any, job: Job, old: JobNote | None = None, **options: Any) -> None:
        if old is not None:
            options["initial"] = {"text": old.text} | (options.get("initial") or {})
        super().__init__(*args, job=job, **options)


class PartForm(JobForm):
    """A part that went in."""

    name = forms.CharField(label="Part", max_length=120)
    quantity = NumberField(label="How many", low=0.01, high=1000, initial="1")
    note = forms.CharField(
        label="Note", max_length=300, required=False, help_text="Such as: lot, supplier"
    )

    def __init__(self, *args: Any, job: Job, old: PartUsed | None = None, **options: Any) -> None:
        if old is not None:
            options["initial"] = {
                "name": old.name,
                "quantity": float(old.quantity),
                "note": old.note,
            } | (options.get("initial") or {})
        super().__init__(*args, job=job, **options)

    def arguments(self) -> dict[str, Any]:
        """Give the quantity to the hundredth."""
        typed = super().arguments()
        return typed | {"quantity": Decimal(repr(typed["quantity"])).quantize(Decimal("0.01"))}


class RunInForm(JobForm):
    """Minutes of running in."""

    minutes = NumberField(label="Minutes", low=0.1, high=1440, unit="min")
    drive_pressure_kpa = PressureField(
        label="Drive pressure", high=LARGEST_DRIVE_PRESSURE_KPA, required=False
    )
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, *args: Any, job: Job, old: RunIn | None = None, **options: Any) -> None:
        if old is not None:
            options["initial"] = {
                "minutes": old.minutes,
                "drive_pressure_kpa": old.drive_pressure_kpa,
                "note": old.note,
            } | (options.get("initial") or {})
        super().__init__(*args, job=job, **options)


class WaitingForm(JobForm):
    """What the job waits for, and who owes it."""

    what = forms.ChoiceField(
        label="Waits for",
        choices=[choice for choice in Waiting.choices if choice[0]],
        widget=forms.RadioSelect,
    )
    owner = forms.CharField(
        label="Who owes it", max_length=80, help_text="Such as: the office, a supplier, a shop"
    )


class MoveForm(JobForm):
    """The words beside a step."""

    reason = forms.CharField(
        label="Why",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Kept with the step.",
    )

    def __init__(self, *args: Any, job: Job, needs_reason: bool = False, **options: Any) -> None:
        super().__init__(*args, job=job, **options)
        self.fields["reason"].required = needs_reason
