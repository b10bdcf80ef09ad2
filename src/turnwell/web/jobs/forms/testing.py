"""Forms of a test: its set-up, why it is left out, what was measured."""

from datetime import date
from functools import cached_property
from typing import Any, cast

from django import forms
from django.db.models import Q

from turnwell.errors import InputError
from turnwell.web.jobs.analysis.label_pressure import label_pressure_kpa
from turnwell.web.jobs.forms.base import JobForm
from turnwell.web.jobs.measurands import LARGEST_DRIVE_PRESSURE_KPA, Measurand, in_own_unit
from turnwell.web.jobs.models import Job, Measurement, Test
from turnwell.web.shared.quantities import NumberField, PressureField
from turnwell.web.shared.times import day_shown, today_in_zone
from turnwell.web.shop.models import Instrument
from turnwell.web.shop.queries import instrument_lines, the_shop

__all__ = ["InstrumentField", "LeaveOutForm", "MeasurementForm", "SetUpForm", "instruments_of"]

Kind = Instrument.Kind
SPRAY = {"on": True, "off": False, "none": None}
VALUES = 5
NOT_NAMED = "Not named"


class InstrumentField(forms.ModelChoiceField):  # type: ignore[type-arg]  # no generic at run time
    """A choice of instruments that says of each whether its check is overdue."""

    @cached_property
    def _overdue_since(self) -> dict[int, date]:
        lines = instrument_lines(today_in_zone(the_shop().time_zone))
        return {
            line.instrument.pk: line.last.due_on
            for line in lines
            if line.is_overdue and line.last is not None and line.last.due_on is not None
        }

    def label_from_instance(self, obj: Instrument) -> str:
        """Give the name, and since when the check is overdue."""
        due = self._overdue_since.get(obj.pk)
        return str(obj) if due is None else f"{obj}, check overdue since {day_shown(due)}"


def instruments_of(*kinds: Instrument.Kind, keep: int | None = None) -> Any:
    """Give the instruments of some kinds that are in use, and the one an entry names already."""
    return Instrument.objects.filter(Q(kind__in=kinds, is_retired=False) | Q(pk=keep))


class SetUpForm(JobForm):
    """The set-up of a test: what makes two tests comparable."""

    mounted = forms.ChoiceField(
        label="In the chuck", choices=Test.Mounted, widget=forms.RadioSelect
    )
    mounted_note = forms.CharField(
        label="Which one", max_length=80, required=False, help_text="Such as: blank, 21 mm"
    )
    drive_pressure_kpa = PressureField(
        label="Drive pressure at the handpiece, running",
        high=LARGEST_DRIVE_PRESSURE_KPA,
        required=False,
        help_text="Foot control fully down. Empty where no air drives it.",
    )
    pressure_gauge = InstrumentField(
        label="Pressure gauge",
        queryset=Instrument.objects.none(),
        required=False,
        empty_label=NOT_NAMED,
    )
    is_spray_on = forms.ChoiceField(
        label="Spray",
        choices=[("off", "Off"), ("on", "On"), ("none", "It has none")],
        widget=forms.RadioSelect,
        initial="off",
    )
    stand = forms.CharField(
        label="Stand or holder", max_length=80, required=False, help_text="Such as: bench stand"
    )
    microphone = InstrumentField(
        label="Microphone or phone",
        queryset=Instrument.objects.none(),
        required=False,
        empty_label=NOT_NAMED,
    )

    def __init__(self, *args: Any, job: Job, like: Test | None = None, **options: Any) -> None:
        if like is not None:
            options["initial"] = _as_typed(like) | (options.get("initial") or {})
        super().__init__(*args, job=job, **options)
        gauge, microphone = self.fields["pressure_gauge"], self.fields["microphone"]
        gauge.queryset = instruments_of(  # type: ignore[attr-defined]  # of ModelChoiceField
            Kind.PRESSURE_GAUGE, keep=like.pressure_gauge_id if like else None
        )
        microphone.queryset = instruments_of(  # type: ignore[attr-defined]
            Kind.MICROPHONE, keep=like.microphone_id if like else None
        )
        self._show_label()

    def _show_label(self) -> None:
        """Say beside the drive pressure what the label says."""
        label = label_pressure_kpa(self.job.handpiece)
        if label is not None:
            field = cast("PressureField", self.fields["drive_pressure_kpa"])
            field.help_text = f"Label: {field.says(label)}. {field.help_text}"

    def clean_is_spray_on(self) -> bool | None:
        """Give on, off or none as it is kept."""
        return SPRAY[self.cleaned_data["is_spray_on"]]


def _as_typed(test: Test) -> dict[str, Any]:
    """Give the set-up of an earlier test, to begin a like one with."""
    spray = next(key for key, value in SPRAY.items() if value == test.is_spray_on)
    return {
        "mounted": test.mounted,
        "mounted_note": test.mounted_note,
        "drive_pressure_kpa": test.drive_pressure_kpa,
        "pressure_gauge": test.pressure_gauge_id,
        "is_spray_on": spray,
        "stand": test.stand,
        "microphone": test.microphone_id,
    }


class LeaveOutForm(JobForm):
    """Why a test is left out."""

    because = forms.CharField(
        label="Why it is not tested", max_length=300, help_text="Such as: seized, unsafe to run"
    )


class MeasurementForm(JobForm):
    """Values read off an instrument, up to five of the same thing."""

    instrument = InstrumentField(
        label="Instrument",
        queryset=Instrument.objects.none(),
        required=False,
        empty_label=NOT_NAMED,
    )
    instrument_note = forms.CharField(
        label="Another instrument, in words", max_length=80, required=False
    )
    unit = forms.ChoiceField(label="Unit")

    def __init__(
        self,
        *args: Any,
        job: Job,
        row: Measurand,
        old: Measurement | None = None,
        **options: Any,
    ) -> None:
        self.row = row
        if old is not None:
            options["initial"] = _values_typed(old) | (options.get("initial") or {})
        super().__init__(*args, job=job, **options)
        for place in range(VALUES):
            self.fields[f"value_{place}"] = self._value_field(place)
        self.suit(None)
        self.order_fields([*(f"value_{place}" for place in range(VALUES)), "unit", "instrument"])
        self.fields["unit"].choices = [(unit, unit) for unit in row.all_units]  # type: ignore[attr-defined]
        self.initial.setdefault("unit", self._usual_unit())
        self.fields["instrument"].queryset = instruments_of(  # type: ignore[attr-defined]
            *row.kinds, Kind.OTHER, keep=old.instrument_id if old else None
        )

    def _value_field(self, place: int) -> NumberField:
        return NumberField(
            label=f"Value {place + 1}",
            low=-1e6,
            high=1e6,
            is_grouped=self.row.unit == "rpm",
            required=place == 0,
        )

    def _usual_unit(self) -> str:
        return the_shop().units.get(self.row.unit, self.row.unit)

    @property
    def value_fields(self) -> list[forms.BoundField]:
        """The fields of the values, to be drawn side by side."""
        return [self[f"value_{place}"] for place in range(VALUES)]

    @property
    def other_fields(self) -> list[forms.BoundField]:
        """The fields below the values."""
        return [self[name] for name in ("unit", "instrument", "instrument_note")]

    def clean(self) -> dict[str, Any]:
        """Hold each value against the range believed, in its unit."""
        cleaned = super().clean() or self.cleaned_data
        unit = cleaned.get("unit")
        for place in range(VALUES):
            value = cleaned.get(f"value_{place}")
            if value is None or unit is None:
                continue
            try:
                in_own_unit(self.row, value, unit)
            except InputError as error:
                self.add_error(f"value_{place}", str(error))
        return cleaned

    def arguments(self) -> dict[str, Any]:
        """Give the values as one list."""
        typed = [self.cleaned_data[f"value_{place}"] for place in range(VALUES)]
        return {
            "reading_key": self.row.key,
            "values": [value for value in typed if value is not None],
            "unit": self.cleaned_data["unit"],
            "instrument": self.cleaned_data["instrument"],
            "instrument_note": self.cleaned_data["instrument_note"],
        } | ({"reason": self.cleaned_data["reason"]} if "reason" in self.cleaned_data else {})


def _values_typed(old: Measurement) -> dict[str, Any]:
    return {f"value_{place}": value for place, value in enumerate(old.values[:VALUES])} | {
        "unit": old.unit,
        "instrument": old.instrument_id,
        "instrument_note": old.instrument_note,
    }
