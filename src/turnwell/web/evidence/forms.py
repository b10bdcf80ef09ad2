"""Forms of stored files."""

from django import forms

from turnwell.web.shared.forms import HouseForm

__all__ = ["EraseForm"]


class EraseForm(HouseForm):
    """Why a file is erased."""

    why = forms.CharField(
        label="Why it is erased",
        max_length=300,
        help_text="Stays on file with your name and the time. No patient data here.",
    )
