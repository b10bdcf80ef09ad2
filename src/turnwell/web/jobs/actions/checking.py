"""Writes of what checks the microphone: a tachometer's reading beside a recording."""

from datetime import datetime

from turnwell.errors import InputError
from turnwell.web.accounts.models import User
from turnwell.web.jobs.actions.writing import (
    Correction,
    correction_fields,
    job_being_written,
    kept_text,
    moment,
    refuse_corrected,
    require_shop,
)
from turnwell.web.jobs.measurands import in_own_unit, measurand
from turnwell.web.jobs.models import Recording, TachometerReading
from turnwell.web.shop.models import Instrument

__all__ = ["add_tachometer_reading"]


def add_tachometer_reading(
    *,
    by: User,
    recording: Recording,
    speed_rpm: float,
    instrument: Instrument,
    note: str = "",
    at: datetime | None = None,
    version: int | None = None,
    correction: Correction | None = None,
) -> TachometerReading:
    """Write down what a tachometer showed of the bur's speed while a recording was made.

    Possible at any stage of the job, since it tells of the microphone and not of the handpiece.

    Parameters
    ----------
    speed_rpm : float
        Of the bur.
    instrument : Instrument
        A tachometer of the shop's; its stated error goes into the check.

    Raises
    ------
    InputError
        If the value is not believed, the instrument is no tachometer or retired, or the recording
        has a reading already: two readings of one run are no two pairs.
    ChangedMeanwhileError
        If the recording no longer holds.
    """
    require_shop(by)
    speed_rpm = in_own_unit(measurand("free_running_speed"), speed_rpm, "rpm")
    if speed_rpm <= 0.0:
        raise InputError(f"the speed is {speed_rpm:g} rpm, must be above 0")
    if instrument.kind != Instrument.Kind.TACHOMETER:
        raise InputError(f"{instrument} is no tachometer; choose one, or add it to the instruments")
    if instrument.is_retired and correction is None:
        raise InputError(f"{instrument} is retired; choose another tachometer")
    with job_being_written(recording.test.job, version=version) as locked:
        refuse_corrected(Recording.objects.get(pk=recording.pk))
        standing = TachometerReading.objects.standing().filter(recording=recording)
        if correction is None and standing.exists():
            raise InputError(
                "this recording has a tachometer reading already; correct that one instead"
            )
        return TachometerReading.objects.create(
            recording=recording,
            speed_rpm=speed_rpm,
            instrument=instrument,
            note=kept_text(note, "the note", most=300),
            entered_by=by,
            entered_at=moment(at, not_before=recording.entered_at),
            **correction_fields(correction, TachometerReading, locked),
        )
