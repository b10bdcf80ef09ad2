"""The form by which a recording comes in, from the page's recorder or as a file."""

import json
from math import isfinite
from typing import Any

from django import forms

from turnwell.web.evidence.kinds import KINDS
from turnwell.web.evidence.models import StoredFile
from turnwell.web.jobs.models import Recording
from turnwell.web.shared.forms import HouseForm

__all__ = ["RecordingForm"]

ACCEPT = KINDS[StoredFile.Kind.RECORDING].accept
# What a browser says of its microphone and of the take; anything else it sends is left out.
FLAGS = ("echoCancellation", "noiseSuppression", "autoGainControl")
NUMBERS = ("sampleRate", "channelCount", "contextRate", "lostFrames", "cutSeconds")
WORDS = ("userAgent",)


class RecordingForm(HouseForm):
    """A file, where it comes from, and what the browser said of it."""

    # An empty file is refused by the action, by name and before anything is kept.
    file = forms.FileField(
        label="Sound or video file",
        allow_empty_file=True,
        widget=forms.ClearableFileInput(attrs={"accept": ACCEPT}),
    )
    source = forms.ChoiceField(
        choices=Recording.Source, initial=Recording.Source.FILE, widget=forms.HiddenInput
    )
    settings = forms.CharField(required=False, max_length=4_000, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        missing = "Choose the file of a sound recording or a video first."
        self.fields["file"].error_messages["required"] = missing

    def clean_settings(self) -> dict[str, Any]:
        """Give what the browser said, the known words of it."""
        try:
            said = json.loads(self.cleaned_data["settings"] or "{}")
        except ValueError:
            said = None
        if not isinstance(said, dict):
            raise forms.ValidationError("The browser sent settings that cannot be read; reload.")
        known: dict[str, Any] = {
            name: said[name] for name in FLAGS if isinstance(said.get(name), bool)
        }
        known |= {name: said[name] for name in NUMBERS if _is_number(said.get(name))}
        known |= {
            name: "".join(c for c in said[name] if c.isprintable())[:300]
            for name in WORDS
            if isinstance(said.get(name), str)
        }
        return known


def _is_number(value: object) -> bool:
    return type(value) in {int, float} and isfinite(float(value)) and abs(float(value)) < 1e9  # type: ignore[arg-type]  # a number by the first test
