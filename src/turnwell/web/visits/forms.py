"""Forms of visits."""

from django import forms

from turnwell.web.shared.forms import HouseForm, PastDateField
from turnwell.web.visits.actions import VisitDetails
from turnwell.web.visits.models import Visit

__all__ = ["CorrectVisitForm", "TakeBackForm", "VisitForm"]


class VisitForm(HouseForm):
    """A call at an office."""

    visited_on = PastDateField(label="Day of the visit")
    why = forms.CharField(
        label="Why", max_length=300, help_text="In a few words: drive air checked, care taught."
    )
    was_training = forms.BooleanField(
        label="Its people were trained",
        required=False,
        help_text="Marked on the life of each of its handpieces, so that returns before and after "
        "can be told apart.",
    )
    note = forms.CharField(
        label="Note",
        max_length=5000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="No patient data.",
    )

    def details(self) -> VisitDetails:
        """Give what was typed."""
        names = VisitDetails.__dataclass_fields__
        return VisitDetails(**{name: self.cleaned_data[name] for name in names})


class CorrectVisitForm(VisitForm):
    """A visit written anew in place of a wrong entry, or taken back."""

    reason = forms.CharField(label="What was wrong with the entry", max_length=300)

    @staticmethod
    def initial_of(visit: Visit) -> dict[str, object]:
        """Give the entry's values as the form's first ones."""
        return {name: getattr(visit, name) for name in VisitDetails.__dataclass_fields__}


class TakeBackForm(HouseForm):
    """Why an entry is taken back."""

    reason = forms.CharField(label="Why it is taken back", max_length=300)
