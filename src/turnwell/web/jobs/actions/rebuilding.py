"""Writes of what went into a rebuild: parts, and minutes of running in."""

from datetime import datetime
from decimal import Decimal

from turnwell.errors import InputError
from turnwell.web.accounts.models import User
from turnwell.web.jobs.actions.writing import (
    Correction,
    check_stage,
    correction_fields,
    job_being_written,
    kept_text,
    moment,
    number,
    require_shop,
)
from turnwell.web.jobs.measurands import LARGEST_DRIVE_PRESSURE_KPA
from turnwell.web.jobs.models import Job, PartUsed, RunIn, Stage

__all__ = ["use_part", "write_run_in"]

LONGEST_RUN_IN_MINUTES = 1440.0
MOST_OF_A_PART = Decimal(1000)
REBUILDING = (Stage.TESTED_AS_RECEIVED, Stage.TORN_DOWN, Stage.AGREED, Stage.REBUILT)


def use_part(
    *,
    by: User,
    job: Job,
    name: str,
    quantity: Decimal = Decimal(1),
    note: str = "",
    at: datetime | None = None,
    version: int | None = None,
    correction: Correction | None = None,
) -> PartUsed:
    """Write down a part that went into the handpiece.

    Parameters
    ----------
    quantity : Decimal
        Above 0, up to 1,000, to the hundredth.

    Raises
    ------
    StageError
        If the job is not being rebuilt.
    InputError
        If the part has no name or the quantity is wrong.
    """
    require_shop(by)
    name = kept_text(name, "the part", most=120, required=True)
    note = kept_text(note, "the note", most=300)
    if not quantity.is_finite() or not Decimal("0.01") <= quantity <= MOST_OF_A_PART:
        raise InputError(f"a quantity of {quantity}, must lie between 0.01 and {MOST_OF_A_PART}")
    with job_being_written(job, version=version) as locked:
        if correction is None:
            check_stage(locked, REBUILDING, "a part")
        return PartUsed.objects.create(
            job=locked,
            name=name,
            quantity=quantity.quantize(Decimal("0.01")),
            note=note,
            entered_by=by,
            entered_at=moment(at, not_before=locked.taken_in_at),
            **correction_fields(correction, PartUsed, locked),
        )


def write_run_in(
    *,
    by: User,
    job: Job,
    minutes: float,
    drive_pressure_kpa: float | None = None,
    note: str = "",
    at: datetime | None = None,
    version: int | None = None,
    correction: Correction | None = None,
) -> RunIn:
    """Write down for how long the rebuilt handpiece was run in.

    Raises
    ------
    StageError
        If the job is not being rebuilt.
    InputError
        If the minutes or the pressure are out of range.
    """
    require_shop(by)
    minutes = number(minutes, "running in", low=0.1, high=LONGEST_RUN_IN_MINUTES, unit="min")
    if drive_pressure_kpa is not None:
        drive_pressure_kpa = number(
            drive_pressure_kpa,
            "the drive pressure",
            low=0.0,
            high=LARGEST_DRIVE_PRESSURE_KPA,
            unit="kPa",
        )
    note = kept_text(note, "the note", most=300)
    with job_being_written(job, version=version) as locked:
        if correction is None:
            check_stage(locked, REBUILDING, "running in")
        return RunIn.objects.create(
            job=locked,
            minutes=minutes,
            drive_pressure_kpa=drive_pressure_kpa,
            note=note,
            entered_by=by,
            entered_at=moment(at, not_before=locked.taken_in_at),
            **correction_fields(correction, RunIn, locked),
        )
