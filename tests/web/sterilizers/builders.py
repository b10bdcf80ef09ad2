"""Sterilizers, files and reviewed records for the tests.

A `Reviewed` is made of the steam core's own result types with invented numbers, so that pages and
actions are tested on the document they will meet without reading a file each time.
"""

from datetime import datetime, timedelta
from io import BytesIO

import numpy as np

from tests.people import theo_the_technician
from turnwell.measure import Basis, Limit, cannot_tell, reading
from turnwell.steam import (
    Course,
    Cycle,
    Ending,
    Fault,
    FaultKey,
    Question,
    Record,
    Review,
    RowCounts,
    Stage,
    StageKind,
    Sure,
)
from turnwell.web.evidence.actions import store_file
from turnwell.web.evidence.models import StoredFile
from turnwell.web.offices.models import Office
from turnwell.web.sterilizers import actions
from turnwell.web.sterilizers.analysis.reading import Reviewed
from turnwell.web.sterilizers.models import CycleRecord, Plan, Sterilizer
from turnwell.words import Message

__all__ = [
    "a_file",
    "a_plan",
    "a_record",
    "a_sterilizer",
    "csv_of",
    "read_as",
]

SAID = Message("measure.no_limit")
FRIDAY = datetime(2026, 5, 8, 17, 12)  # noqa: DTZ001  (a sterilizer's clock has no zone)


def a_sterilizer(name: str = "2", *, office: Office | None = None, **more: object) -> Sterilizer:
    """Give a sterilizer of the office at Birch Lane."""
    if office is None:
        office, _ = Office.objects.get_or_create(name="Birch Lane")
    return actions.add_sterilizer(
        by=theo_the_technician(),
        office=office,
        details=actions.SterilizerDetails(name, **more),
    )


def a_plan(sterilizer: Sterilizer, name: str = "Wrapped 134", **more: object) -> Plan:
    """Give its usual cycle: 134 °C, 3.5 minutes, 20 minutes of drying."""
    values = {"set_c": 134.0, "band_k": 4.0, "hold_s": 210.0, "dry_s": 1200.0, "is_usual": True}
    return actions.add_plan(
        by=theo_the_technician(),
        sterilizer=sterilizer,
        details=actions.PlanDetails(name, **(values | more)),
    )


def csv_of(number: int = 1) -> bytes:
    """Give a small text that is a table; each number another one."""
    rows = [f"{second},{20.0 + 0.1 * number:.1f},101.{number % 10}" for second in range(5)]
    return "\n".join(["s,degC,kPa", *rows, ""]).encode()


def a_file(content: bytes = csv_of(), name: str = "run.csv") -> StoredFile:
    """Give a stored cycle record."""
    return store_file(
        by=theo_the_technician(),
        kind=StoredFile.Kind.CYCLE_RECORD,
        content=BytesIO(content),
        original_name=name,
    )


def read_as(
    *,
    dried_s: float | None = 1200.0,
    planned_s: float | None = 1200.0,
    began: datetime | None = FRIDAY,
    faults: tuple[FaultKey, ...] = (),
    plateau_c: float = 134.6,
) -> Reviewed:
    """Give what the core would make of a record that dried so long and showed these faults."""
    review = Review(
        record=_record(began),
        cycle=Cycle("Wrapped 134", set_c=134.0, band_k=4.0, hold_s=210.0, dry_s=planned_s),
        course=_course(dried_s or 0.0),
        readings=(_f0(), _plateau(plateau_c), _drying(dried_s, planned_s)),
        faults=tuple(Fault(key, SAID, Sure.CLEAR, 900.0, 960.0) for key in faults),
        questions=(Question("wet_at_start", Message("measure.not_measured")),),
        saturation_difference_k=np.full(5, np.nan),
    )
    return Reviewed(review.as_dict(), review.readings, review.version)


def a_record(
    sterilizer: Sterilizer | None = None,
    *,
    number: int = 1,
    plan: Plan | None = None,
    **more: object,
) -> CycleRecord:
    """Give a record in the book, read so."""
    return actions.add_record(
        by=theo_the_technician(),
        sterilizer=sterilizer or a_sterilizer(),
        file=a_file(csv_of(number), f"run-{number}.csv"),
        read=read_as(**more),
        plan=plan,
    )


def _record(began: datetime | None) -> Record:
    time_s = np.arange(5) * 600.0
    return Record(
        time_s,
        np.array([20.0, 134.5, 134.6, 80.0, 60.0]),
        np.array([101.0, 305.0, 306.0, 8.0, 101.0]),
        counts=RowCounts(5, 5),
        columns={"time": 1, "temperature": 2, "pressure": 3},
        units={"temperature": "C", "pressure": "kPa", "pressure_zero": "absolute"},
        started_at=began,
        sha256="ab" * 32,
    )


def _course(dried_s: float) -> Course:
    stages = (
        Stage(StageKind.PLATEAU, 600.0, 1200.0, Sure.CLEAR, SAID),
        Stage(StageKind.DRYING, 1200.0, 1200.0 + max(dried_s, 1.0), Sure.CLEAR, SAID),
    )
    return Course(stages, (), (), Ending.AIR_INLET, SAID)


def _f0() -> object:
    return reading("f0_min", 81.0, 72.0, 92.0, "min", name=SAID)


def _plateau(plateau_c: float) -> object:
    band = Limit(134.0, 138.0, "the cycle's band", Basis.OWN)
    low, high = plateau_c - 0.5, plateau_c + 0.5
    return reading("plateau_temperature_c", plateau_c, low, high, "°C", limit=band, name=SAID)


def _drying(dried_s: float | None, planned_s: float | None) -> object:
    planned = None if planned_s is None else Limit(planned_s, None, "as set", Basis.OWN)
    if dried_s is None:
        return cannot_tell("drying_time_s", "s", SAID, limit=planned, name=SAID)
    return reading("drying_time_s", dried_s, dried_s, dried_s + 4.0, "s", limit=planned, name=SAID)


def week_after_week(count: int, *, short_every: int = 0) -> list[dict[str, object]]:
    """Give what `a_record` takes for runs a week apart, some with drying cut short."""
    return [
        {
            "number": number,
            "began": FRIDAY - timedelta(weeks=count - number),
            "dried_s": 600.0 if short_every and number % short_every == 0 else 1200.0,
            "faults": (FaultKey.DRYING_SHORTENED,)
            if short_every and number % short_every == 0
            else (),
        }
        for number in range(count)
    ]
