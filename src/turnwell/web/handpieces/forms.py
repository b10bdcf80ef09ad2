"""Forms of handpieces, own models and own limits."""

from typing import Any

from django import forms

from turnwell.catalogue import load
from turnwell.errors import InputError
from turnwell.web.evidence.models import StoredFile
from turnwell.web.handpieces.actions import HandpieceDetails, ModelDetails
from turnwell.web.handpieces.limit_words import field_for
from turnwell.web.handpieces.limits import OF_LABEL
from turnwell.web.handpieces.models import Handpiece, HandpieceModel, Lubricated
from turnwell.web.handpieces.names import class_choices
from turnwell.web.handpieces.ratios import ratio_shown, read_ratio
from turnwell.web.offices.models import Office
from turnwell.web.shared.forms import HouseForm, PastDateField
from turnwell.web.shared.quantities import NumberField, PressureField
from turnwell.web.shared.selects import LongSelect

__all__ = ["HandpieceForm", "LimitForm", "ModelForm", "ReasonForm", "RetireForm"]


class HandpieceForm(HouseForm):
    """A handpiece: what it is, whose it is, what is known of its life."""

    serial = forms.CharField(
        label="Serial", max_length=60, required=False, help_text="As engraved; empty if unreadable."
    )
    model = forms.ModelChoiceField(
        HandpieceModel.objects.none(),
        label="Model",
        required=False,
        empty_label="Not in the list, or not known",
        widget=LongSelect,
    )
    class_key = forms.ChoiceField(label="Class", required=False)
    office = forms.ModelChoiceField(
        Office.objects.none(), label="Office", empty_label="Choose", widget=LongSelect
    )
    chair = forms.CharField(
        label="Chair", max_length=40, required=False, help_text="One of the office's chairs."
    )
    in_service_since = PastDateField(label="In service since", required=False)
    known_cycles = NumberField(
        label="Care cycles counted so far",
        low=0,
        high=200_000,
        is_whole=True,
        is_grouped=True,
        required=False,
    )
    known_cycles_on = PastDateField(label="Counted on", required=False)
    is_loan = forms.BooleanField(label="A loan of the shop's", required=False)
    note = forms.CharField(
        label="Note",
        max_length=5000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Seen by the shop only. No patient data.",
    )

    def __init__(self, *args: Any, handpiece: Handpiece | None = None, **options: Any) -> None:
        super().__init__(*args, **options)
        models = HandpieceModel.objects.filter(is_retired=False)
        offices = Office.objects.filter(is_active=True)
        if handpiece is not None and handpiece.model_id is not None:
            models = models | HandpieceModel.objects.filter(pk=handpiece.model_id)
        if handpiece is not None:
            offices = offices | Office.objects.filter(pk=handpiece.office_id)
        self._choices("model").queryset = models.order_by("name")
        self._choices("office").queryset = offices.order_by("name")
        kinds = self.fields["class_key"]
        assert isinstance(kinds, forms.ChoiceField)  # noqa: S101  (declared so above)
        kinds.choices = [("", "As the model says"), *class_choices()]

    def clean(self) -> dict[str, Any]:
        """Settle class and chair by the model and the office."""
        typed = super().clean() or {}
        model, office, chair = typed.get("model"), typed.get("office"), typed.get("chair")
        if not typed.get("class_key"):
            if model is None:
                self.add_error("class_key", "Choose a class, or a model of the list.")
            else:
                typed["class_key"] = model.class_key
        if office is not None and chair:
            wanted = {chair.casefold(), chair.casefold().removeprefix("chair").strip()}
            named = [row for row in office.chairs.all() if row.name.casefold() in wanted]
            typed["chair"] = named[0] if named else None
            if not named:
                known = ", ".join(row.name for row in office.chairs.all()) or "none yet"
                self.add_error(
                    "chair",
                    f"{office} has no chair “{chair}”; it has: {known}. Add it there first.",
                )
        else:
            typed["chair"] = None
        return typed

    def details(self) -> HandpieceDetails:
        """Give what was typed."""
        return HandpieceDetails(**self.cleaned_data)

    @staticmethod
    def initial_of(handpiece: Handpiece) -> dict[str, object]:
        """Give the handpiece's values as the form's first ones."""
        names = HandpieceDetails.__dataclass_fields__
        values = {name: getattr(handpiece, name) for name in names}
        return values | {"chair": str(handpiece.chair or "")}

    def _choices(self, name: str) -> "forms.ModelChoiceField[Any]":
        field = self.fields[name]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101  (declared so above)
        return field


class RetireForm(HouseForm):
    """The day a handpiece was retired."""

    on = PastDateField(label="Retired on")


OWN_FIGURES = "own"


class ModelForm(HouseForm):
    """An own model, typed in from its label and its instructions for use."""

    name = forms.CharField(label="Name", max_length=120, help_text="As it stands on the handpiece.")
    class_key = forms.ChoiceField(label="Class", choices=class_choices)
    label_speed_rpm = NumberField(
        label="Label speed of the bur, rpm",
        low=100,
        high=600_000,
        unit="rpm",
        is_grouped=True,
        required=False,
        help_text="Without it no speed can be held against a limit.",
    )
    label_pressure_kpa = PressureField(
        label="Label pressure at the handpiece",
        low=20,
        high=1000,
        required=False,
        help_text="Speeds are held against the label only when tested at this pressure.",
    )
    ratio = forms.CharField(
        label="Ratio",
        max_length=20,
        required=False,
        help_text="Motor turns to bur turns: 8:1 reduces, 1:5 increases.",
    )
    bearing = forms.ChoiceField(label="Bearing", required=False)
    bearing_balls = NumberField(
        label="Balls in a bearing", low=3, high=30, is_whole=True, required=False
    )
    bearing_ball_mm = NumberField(
        label="Ball diameter, mm", low=0.2, high=10, unit="mm", required=False
    )
    bearing_pitch_mm = NumberField(
        label="Pitch diameter, mm", low=0.5, high=50, unit="mm", required=False
    )
    bearing_contact_deg = NumberField(
        label="Contact angle, degrees", low=0, high=45, unit="°", required=False
    )
    blades = NumberField(
        label="Blades of the impeller", low=1, high=60, is_whole=True, required=False
    )
    lubricated = forms.ChoiceField(
        label="Lubricated",
        choices=Lubricated.choices,
        widget=forms.RadioSelect,
        initial=Lubricated.NOT_KNOWN,
        help_text="Not known shows: read the maker's instructions before any spray.",
    )
    lubricant_place = forms.CharField(
        label="Through which hole or nozzle",
        max_length=200,
        required=False,
        help_text="Such as: second largest hole of the hose end; own nozzle at the coupling.",
    )
    oil_when = forms.ChoiceField(
        label="Oil", choices=HandpieceModel.OilWhen.choices, initial="not known"
    )
    has_spray = forms.BooleanField(label="Has spray", required=False, initial=True)
    has_light = forms.BooleanField(label="Has light", required=False, initial=True)
    instructions = forms.CharField(
        label="From the instructions for use",
        max_length=20_000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text="What the bench must know: care, run-in, torque of the cap, what not to open.",
    )
    instructions_upload = forms.FileField(
        label="Instructions for use as a PDF",
        required=False,
        widget=forms.ClearableFileInput(attrs={"accept": "application/pdf"}),
    )
    is_retired = forms.BooleanField(label="No longer offered in lists", required=False)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        bearing = self.fields["bearing"]
        assert isinstance(bearing, forms.ChoiceField)  # noqa: S101  (declared so above)
        known = [(key, row.name) for key, row in load().bearings.items()]
        bearing.choices = [("", "Not known"), *known, (OWN_FIGURES, "The figures below")]

    def clean_ratio(self) -> float | None:
        """Read the ratio."""
        typed = self.cleaned_data["ratio"]
        if not typed:
            return None
        try:
            return read_ratio(typed)
        except InputError as error:
            raise forms.ValidationError(str(error)) from error

    def details(self, instructions_file: StoredFile | None) -> ModelDetails:
        """Give what was typed, with the file that holds the instructions."""
        typed = dict(self.cleaned_data)
        typed["motor_turns_per_bur_turn"] = typed.pop("ratio")
        typed |= self._bearing(typed.pop("bearing"))
        del typed["instructions_upload"]
        return ModelDetails(**typed, instructions_file=instructions_file)

    @staticmethod
    def initial_of(model: HandpieceModel) -> dict[str, object]:
        """Give the model's values as the form's first ones."""
        values = {name: getattr(model, name) for name in ModelDetails.__dataclass_fields__}
        ratio = model.motor_turns_per_bur_turn
        has_bearing = model.bearing_balls is not None or model.bearing_ball_mm is not None
        return values | {
            "ratio": "" if ratio is None else ratio_shown(ratio),
            "bearing": OWN_FIGURES if has_bearing else "",
        }

    def _bearing(self, chosen: str) -> dict[str, float | int | None]:
        """Give the four figures of the bearing that was chosen."""
        if chosen == OWN_FIGURES:
            return {}
        row = load().bearings.get(chosen)
        return {
            "bearing_balls": row.balls if row else None,
            "bearing_ball_mm": row.ball_mm if row else None,
            "bearing_pitch_mm": row.pitch_mm if row else None,
            "bearing_contact_deg": row.contact_deg[0] if row else None,
        }


class LimitForm(HouseForm):
    """A limit of the shop's own, with its reason; the unit belongs to the reading."""

    reason = forms.CharField(
        label="Why this limit",
        max_length=300,
        help_text="Such as: the maker's sheet of this model, page and date.",
    )

    def __init__(self, *args: Any, unit: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields = {
            "low": _side("Not below", unit),
            "high": _side("Not above", unit),
            **self.fields,
        }
        self.suit(options.get("shop"))


class ReasonForm(HouseForm):
    """Why an own limit is taken back."""

    reason = forms.CharField(label="Why it is taken back", max_length=300)


def _side(label: str, unit: str) -> forms.Field:
    """Give the field for one side of a limit."""
    if unit == OF_LABEL:
        return NumberField(
            label=f"{label}, % of the label speed (less is negative)",
            low=-99,
            high=100,
            unit="%",
            required=False,
        )
    kind = field_for(unit)
    if kind is not None:
        return kind(label=label, low=0, high=1000, usual_low=0, usual_high=1000, required=False)
    return NumberField(label=f"{label}, {unit}", low=0, high=1_000_000, unit=unit, required=False)
