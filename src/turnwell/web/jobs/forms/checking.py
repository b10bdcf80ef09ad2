"""The form of a tachometer's reading beside a recording."""

from typing import Any

from django import forms

from turnwell.web.jobs.forms.base import PATIENT_NOTE, JobForm
from turnwell.web.jobs.forms.testing import InstrumentField, instruments_of
from turnwell.web.jobs.measurands import measurand
from turnwell.web.jobs.models import Job, TachometerReading
from turnwell.web.shared.quantities import NumberField
from turnwell.web.shop.models import Instrument

__all__ = ["TachometerForm"]

HIGHEST_RPM = measurand("free_running_speed").highest


class TachometerForm(JobForm):
    """What a tachometer showed of the bur's speed while the recording was made."""

    speed_rpm = NumberField(
        label="Speed of the bur, rpm", low=1, high=HIGHEST_RPM, unit="rpm", is_grouped=True
    )
    instrument = InstrumentField(
        label="Tachometer", queryset=Instrument.objects.none(), empty_label="Choose it"
    )
    note = forms.CharField(label="Note", max_length=300, required=False, help_text=PATIENT_NOTE)

    def __init__(
        self, *args: Any, job: Job, old: TachometerReading | None = None, **options: Any
    ) -> None:
        if old is not None:
            typed = {
                "speed_rpm": old.speed_rpm,
                "instrument": old.instrument_id,
                "note": old.note,
            }
            options["initial"] = typed | (options.get("initial") or {})
        super().__init__(*args, job=job, **options)
        rows = instruments_of(Instrument.Kind.TACHOMETER, keep=old.instrument_id if old else None)
        self.fields["instrument"].queryset = rows  # type: ignore[attr-defined]  # of ModelChoiceField
        if old is None and len(only := list(rows[:2])) == 1:
            self.initial.setdefault("instrument", only[0].pk)
