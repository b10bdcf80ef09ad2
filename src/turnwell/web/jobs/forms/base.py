"""What all forms of a job share: the version looked at, and what they hand to an action."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import QueryDict

from turnwell.web.jobs.models import Job
from turnwell.web.shared.forms import HouseForm

__all__ = ["PATIENT_NOTE", "CorrectionForm", "JobForm", "corrected"]

PATIENT_NOTE = "No patient data here."


class JobForm(HouseForm):
    """A form about one job; it carries the version of the job that the person looked at."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=1, max_value=2**31 - 1)

    def __init__(self, *args: Any, job: Job, **options: Any) -> None:
        self.job = job
        options["initial"] = {"version": job.version} | (options.get("initial") or {})
        super().__init__(*args, **options)

    def arguments(self) -> dict[str, Any]:
        """Give what the action of this form takes, but for by, job and version."""
        return {name: value for name, value in self.cleaned_data.items() if name != "version"}

    def look_again(self) -> None:
        """Take over the job's present version, so that a second saving is meant as it stands."""
        typed = QueryDict(mutable=True)
        typed.update(self.data)
        typed[self.add_prefix("version")] = str(self.job.version)
        self.data = typed


class CorrectionForm(JobForm):
    """Asks why an entry is taken back."""

    reason = forms.CharField(
        label="Why",
        max_length=300,
        help_text="The old entry stays on record with this reason.",
    )


def corrected(make: Callable[..., JobForm], *args: Any, **options: Any) -> JobForm:
    """Make a form that asks for the reason of a correction as well."""
    form = make(*args, **options)
    form.fields["reason"] = forms.CharField(
        label="Why it is corrected", max_length=300, help_text="Kept with the new entry."
    )
    form.suit(None)
    return form
