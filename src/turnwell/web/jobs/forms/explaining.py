"""Forms of the cause: the technician's own view, and the cause confirmed."""

from collections.abc import Sequence
from typing import Any

from django import forms

from turnwell.catalogue import load
from turnwell.web.jobs.forms.base import JobForm
from turnwell.web.jobs.models import ConfirmedCause, Job

__all__ = ["CauseForm", "OwnViewForm", "possible_causes"]


def possible_causes(job: Job) -> list[str]:
    """Give the causes that can be the main one in the job's class of handpiece."""
    kind = load().handpiece_class(job.handpiece.class_key)
    return [key for key in load().shares[kind.group] if key not in kind.leaves_out_causes]


def _choices(keys: Sequence[str]) -> list[tuple[str, str]]:
    return [(key, load().causes[key].name) for key in keys]


class OwnViewForm(JobForm):
    """What the technician thinks, asked before the ranking is shown."""

    cause_key = forms.ChoiceField(label="What do you think it was?", widget=forms.RadioSelect)
    words = forms.CharField(label="In your words", max_length=300, required=False)

    NONE_YET = "none_yet"

    def __init__(self, *args: Any, job: Job, **options: Any) -> None:
        super().__init__(*args, job=job, **options)
        self.fields["cause_key"].choices = [  # type: ignore[attr-defined]  # of ChoiceField
            (self.NONE_YET, "No view yet"),
            *_choices(possible_causes(job)),
        ]

    def arguments(self) -> dict[str, Any]:
        """Give "no view yet" as no cause."""
        typed = super().arguments()
        return typed | {
            "cause_key": "" if typed["cause_key"] == self.NONE_YET else typed["cause_key"]
        }


class CauseForm(JobForm):
    """The main cause, what contributed, and words."""

    cause_key = forms.ChoiceField(label="Main cause", widget=forms.RadioSelect)
    contributing = forms.MultipleChoiceField(
        label="Contributed", required=False, widget=forms.CheckboxSelectMultiple
    )
    words = forms.CharField(
        label="In your words",
        max_length=300,
        required=False,
        help_text="Needed where it is something else.",
    )

    def __init__(
        self,
        *args: Any,
        job: Job,
        ranked: Sequence[str] = (),
        old: ConfirmedCause | None = None,
        **options: Any,
    ) -> None:
        if old is not None:
            options["initial"] = {
                "cause_key": old.cause_key,
                "contributing": old.contributing,
                "words": old.words,
            } | (options.get("initial") or {})
        super().__init__(*args, job=job, **options)
        possible = possible_causes(job)
        first = [key for key in ranked if key in possible]
        choices = _choices([*first, *(key for key in possible if key not in first)])
        for name in ("cause_key", "contributing"):
            self.fields[name].choices = choices  # type: ignore[attr-defined]
