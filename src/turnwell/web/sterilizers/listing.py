"""The list of a sterilizer's records, all of them or those that need attention."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import F

from turnwell.measure import Reading, Verdict
from turnwell.units import s_to_min
from turnwell.web.sterilizers.models import CycleReading, CycleRecord, Sterilizer
from turnwell.web.sterilizers.queries import CycleRecordQuerySet
from turnwell.words import Message, text_of

__all__ = ["WHICH", "RecordLine", "listed", "record_lines"]

SHORTENED = "drying_shortened"
DRYING = "drying_time_s"
WHICH = {"": "All", "short": "Drying cut short", "fault": "With a fault"}


@dataclass(frozen=True, slots=True)
class RecordLine:
    """A record in a list.

    Parameters
    ----------
    record : CycleRecord
    faults : tuple of str
        Names of its faults, but for what the line says anyway.
    has_fault : bool
        Whether it shows any.
    drying : str
        How long it dried, of how long.
    verdict : Verdict or None
        Of the drying time; None where nothing stands to hold it against.
    """

    record: CycleRecord
    faults: tuple[str, ...]
    has_fault: bool
    drying: str
    verdict: Verdict | None


def listed(sterilizer: Sterilizer, which: str = "") -> CycleRecordQuerySet:
    """Give the records that hold, newest first; those without a clock last.

    Parameters
    ----------
    which : str
        A key of `WHICH`.
    """
    rows = CycleRecord.objects.filter(sterilizer=sterilizer).standing().light()
    if which == "short":
        rows = rows.filter(is_drying_short=True)
    if which == "fault":
        rows = rows.exclude(fault_keys=[])
    newest = F("started_at").desc(nulls_last=True)
    return rows.select_related("file", "plan").order_by(newest, "-pk")


def record_lines(records: Iterable[CycleRecord]) -> list[RecordLine]:
    """Give a line for each record; one query more for all of them."""
    rows = list(records)
    # What a run was held against stays as it was, whatever became of the plan since.
    readings = CycleReading.objects.filter(record__in=rows, key=DRYING).annotate(
        planned_s=F("record__review__cycle__dry_s")
    )
    drying = {row.record_id: (row.reading, row.planned_s) for row in readings}
    return [_line(row, *drying.get(row.pk, (None, None))) for row in rows]


def _line(row: CycleRecord, drying: Reading | None, planned_s: float | None) -> RecordLine:
    # That drying was cut short stands in the line already.
    named = [key for key in row.fault_keys if key != SHORTENED or not row.is_drying_short]
    return RecordLine(
        row,
        tuple(text_of(f"steam_fault.name.{key}") for key in named),
        has_fault=bool(row.fault_keys),
        drying=_dried(drying, planned_s),
        verdict=None if drying is None or drying.limit is None else drying.verdict,
    )


def _dried(drying: Reading | None, planned_s: float | None) -> str:
    """Say how long a run dried, of how long it was set to.

    >>> _dried(None, 720.0)
    'no drying shown'
    """
    if drying is None or drying.value is None:
        return text_of("sterilizers.line.not_shown")
    minutes = s_to_min(drying.value)
    if planned_s is None:
        return text_of(Message("sterilizers.line.no_plan", {"minutes": minutes}))
    # Not the limit: that is less by as much as a record cannot show.
    planned = s_to_min(planned_s)
    return text_of(Message("sterilizers.line.of_planned", {"minutes": minutes, "planned": planned}))
