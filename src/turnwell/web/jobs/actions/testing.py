"""Writes of tests and of what is measured in them."""

from collections.abc import Sequence
from datetime import datetime
from functools import partial

from django.db import transaction

from turnwell.errors import InputError
from turnwell.web.accounts.models import User
from turnwell.web.jobs.actions.readings import compute_readings
from turnwell.web.jobs.actions.writing import (
    Correction,
    check_stage,
    correction_fields,
    job_being_written,
    kept_text,
    moment,
    require_shop,
)
from turnwell.web.jobs.measurands import LARGEST_DRIVE_PRESSURE_KPA, in_own_unit, measurand
from turnwell.web.jobs.models import Job, Measurement, Stage, Test
from turnwell.web.shop.models import Instrument

__all__ = ["add_measurement", "add_test", "leave_out_test"]

MOST_VALUES = 20
STAGES_OF = {
    Test.When.AS_RECEIVED: (Stage.TAKEN_IN, Stage.TESTED_AS_RECEIVED),
    Test.When.FINAL: (Stage.REBUILT, Stage.PROVED),
}


def add_test(
    *,
    by: User,
    job: Job,
    when: Test.When,
    drive_pressure_kpa: float | None,
    pressure_gauge: Instrument | None,
    mounted: Test.Mounted,
    mounted_note: str = "",
    is_spray_on: bool | None = None,
    stand: str = "",
    microphone: Instrument | None = None,
    at: datetime | None = None,
    version: int | None = None,
    correction: Correction | None = None,
) -> Test:
    """Begin a test with its set-up; what is recorded and measured hangs on it.

    Parameters
    ----------
    when : Test.When
        As received (before anything is opened) or final (after the rebuild).
    drive_pressure_kpa : float or None
        At the handpiece, while running; None where no air drives it.
    mounted : Test.Mounted
        What sat in the chuck.

    Raises
    ------
    StageError
        If the job is not at the stage of such a test.
    InputError
        If a value is wrong.
    """
    require_shop(by)
    when, mounted = Test.When(when), _mounted(mounted)
    set_up = {
        "drive_pressure_kpa": _drive_pressure(drive_pressure_kpa),
        "pressure_gauge": pressure_gauge,
        "mounted": mounted,
        "mounted_note": kept_text(mounted_note, "what sat in the chuck", most=80),
        "is_spray_on": is_spray_on,
        "stand": kept_text(stand, "the stand", most=80),
        "microphone": microphone,
    }
    with job_being_written(job, version=version) as locked:
        if correction is None:
            check_stage(locked, STAGES_OF[when], f"a test {when.label.lower()}")
        test = Test.objects.create(
            job=locked,
            when=when,
            entered_by=by,
            entered_at=_moment_of(when, locked, at),
            **set_up,
            **correction_fields(correction, Test, locked),
        )
        if correction is not None:
            compute_readings(test)
            transaction.on_commit(partial(_listen_anew, test))
        return test


def _listen_anew(test: Test) -> None:
    # Recordings import this module for its stages.
    from turnwell.web.jobs.actions.recordings import listen_anew

    listen_anew(test)


def leave_out_test(
    *,
    by: User,
    job: Job,
    when: Test.When,
    because: str,
    at: datetime | None = None,
    version: int | None = None,
) -> Test:
    """Write down why a test is left out: seized, unsafe to run.

    Raises
    ------
    InputError
        If no reason is given.
    """
    require_shop(by)
    when = Test.When(when)
    because = kept_text(because, "why the test is left out", most=300, required=True)
    with job_being_written(job, version=version) as locked:
        check_stage(locked, STAGES_OF[when], f"a test {when.label.lower()}")
        return Test.objects.create(
            job=locked,
            when=when,
            left_out_because=because,
            entered_by=by,
            entered_at=_moment_of(when, locked, at),
        )


def add_measurement(
    *,
    by: User,
    test: Test,
    reading_key: str,
    values: Sequence[float],
    unit: str,
    instrument: Instrument | None = None,
    instrument_note: str = "",
    at: datetime | None = None,
    version: int | None = None,
    correction: Correction | None = None,
) -> Measurement:
    """Write down what an instrument showed, and compute its reading.

    Parameters
    ----------
    values : sequence of float
        1 to 20 values of the same thing, as they were read, in `unit`.
    instrument : Instrument or None
        One of the shop's; its resolution and stated error go into the interval.

    Raises
    ------
    InputError
        If the key, unit or a value is wrong, or the test was left out.
    """
    require_shop(by)
    row = measurand(reading_key)
    if not 1 <= len(values) <= MOST_VALUES:
        raise InputError(f"{len(values)} values, must be 1 to {MOST_VALUES}")
    for value in values:
        in_own_unit(row, value, unit)
    if instrument is not None and instrument.is_retired and correction is None:
        raise InputError(f"{instrument} is retired; choose another instrument")
    with job_being_written(test.job, version=version) as locked:
        if test.left_out_because or test.is_taken_back:
            raise InputError("that test was left out; begin a test with its set-up first")
        if correction is None:
            check_stage(locked, STAGES_OF[Test.When(test.when)], "a measurement of that test")
        measurement = Measurement.objects.create(
            test=test,
            reading_key=row.key,
            values=[float(value) for value in values],
            unit=unit,
            instrument=instrument,
            instrument_note=kept_text(instrument_note, "the instrument", most=80),
            entered_by=by,
            entered_at=moment(at, not_before=test.entered_at),
            **correction_fields(correction, Measurement, locked),
        )
        compute_readings(test, measurement)
        return measurement


def _moment_of(when: Test.When, job: Job, at: datetime | None) -> datetime:
    """Give the moment of a test: after the taking in, or for a final one after the rebuild."""
    return moment(at, not_before=job.stage_since if when == Test.When.FINAL else job.taken_in_at)


def _mounted(said: str) -> Test.Mounted:
    if said not in Test.Mounted.values:
        raise InputError("say what sat in the chuck: a test bar, a blank, a bur or nothing")
    return Test.Mounted(said)


def _drive_pressure(pressure_kpa: float | None) -> float | None:
    if pressure_kpa is None:
        return None
    if not 0 <= pressure_kpa <= LARGEST_DRIVE_PRESSURE_KPA:
        raise InputError(
            f"a drive pressure of {pressure_kpa:,.0f} kPa is outside 0 to"
            f" {LARGEST_DRIVE_PRESSURE_KPA:.0f} kPa; is the unit right?"
        )
    return float(pressure_kpa)
