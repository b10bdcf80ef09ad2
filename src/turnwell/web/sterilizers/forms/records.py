"""Forms of a record: its files, which cycle it was, what the load was, why it is taken back."""

from datetime import datetime
from typing import Any, cast

from django import forms
from django.core.files.uploadedfile import UploadedFile

from turnwell.web.evidence.kinds import KINDS
from turnwell.web.evidence.models import StoredFile
from turnwell.web.handpieces.names import class_choices
from turnwell.web.shared.forms import HouseForm, PastDateField
from turnwell.web.shared.quantities import NumberField
from turnwell.web.sterilizers.actions.loads import LoadDetails
from turnwell.web.sterilizers.models import Load, Plan, Sterilizer

__all__ = ["FilesForm", "LoadForm", "RecordPlanForm", "StartForm", "TakeBackForm"]


class ManyFiles(forms.ClearableFileInput):
    """A file input that takes several."""

    allow_multiple_selected = True


class ManyFilesField(forms.FileField):
    """Several files, one at least."""

    widget = ManyFiles

    def clean(self, data: Any, initial: Any = None) -> Any:
        """Give the files as a list."""
        files = data if isinstance(data, list | tuple) else [data]
        return [super(ManyFilesField, self).clean(file, initial) for file in files if file] or [
            super().clean(None, initial)
        ]


class FilesForm(HouseForm):
    """Records as they come from the sterilizer: one, or those of months."""

    records = ManyFilesField(
        label="Cycle records",
        widget=ManyFiles(attrs={"accept": KINDS[StoredFile.Kind.CYCLE_RECORD].accept}),
        help_text="Text, CSV or a spreadsheet; one run a file.",
        # An empty file is turned down by name in the intake's list, beside the others.
        allow_empty_file=True,
    )

    def arrived(self) -> "list[UploadedFile[bytes]]":
        """Give the files that came."""
        return cast("list[UploadedFile[bytes]]", self.cleaned_data["records"])


class RecordPlanForm(HouseForm):
    """Which cycle a run was."""

    plan = forms.ModelChoiceField(
        Plan.objects.none(),
        label="This run was set to",
        required=False,
        empty_label="No cycle named",
    )

    def __init__(self, *args: Any, sterilizer: Sterilizer, **options: Any) -> None:
        super().__init__(*args, **options)
        field = self.fields["plan"]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101  (declared so above)
        field.queryset = Plan.objects.filter(sterilizer=sterilizer)


class LoadForm(HouseForm):
    """What lay in the sterilizer: handpieces by class, pouches, trays, water left before."""

    pouches = NumberField(label="Pouches", low=0, high=200, is_whole=True, required=False)
    trays = NumberField(label="Trays", low=0, high=200, is_whole=True, required=False)
    water_before_g = NumberField(
        label="Water left before the cycle, in grams",
        low=0.0,
        high=2000.0,
        unit="g",
        required=False,
        help_text="In and on the things when the door was shut; 0 where they were dried. Left "
        "empty, what is left after the cycle cannot be told well.",
    )
    note = forms.CharField(
        label="Note", max_length=300, required=False, help_text="No patient data."
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for key, name in class_choices():
            self.fields[f"count_{key}"] = NumberField(
                label=str(name), low=0, high=200, is_whole=True, required=False
            )

    @property
    def counts(self) -> list[forms.BoundField]:
        """The fields of the handpiece classes."""
        return [self[name] for name in self.fields if name.startswith("count_")]

    @property
    def others(self) -> list[forms.BoundField]:
        """The fields beside those."""
        return [self[name] for name in self.fields if not name.startswith("count_")]

    def details(self) -> LoadDetails:
        """Give what was typed."""
        counts = {
            name.removeprefix("count_"): int(count)
            for name, count in self.cleaned_data.items()
            if name.startswith("count_") and count is not None
        }
        others = ("pouches", "trays", "water_before_g", "note")
        return LoadDetails(counts=counts, **{name: self.cleaned_data[name] for name in others})

    @staticmethod
    def initial_of(load: Load | None) -> dict[str, object]:
        """Give what stands as the form's first values."""
        if load is None:
            return {}
        return {
            "pouches": load.pouches,
            "trays": load.trays,
            "water_before_g": load.water_before_g,
            "note": load.note,
            **{f"count_{key}": count for key, count in load.counts.items()},
        }


class StartForm(HouseForm):
    """When a run began, by the office's clock."""

    day = PastDateField(label="Day it began")
    time = forms.TimeField(
        label="Time it began",
        widget=forms.TimeInput(format="%H:%M", attrs={"type": "time"}),
        error_messages={"invalid": "This is not a time; write it as 17:05."},
        help_text="By the office’s clock, from the printout or the office’s log.",
    )

    def wall(self) -> datetime:
        """Give day and time as the office's clock showed them."""
        return datetime.combine(self.cleaned_data["day"], self.cleaned_data["time"])


class TakeBackForm(HouseForm):
    """Why an entry is taken back."""

    reason = forms.CharField(label="Why it is taken back", max_length=300)
