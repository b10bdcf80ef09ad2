"""The list of a sterilizer's records, all of them or those that need attention."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import F

from turnwell.web.sterilizers.models import CycleRecord, Sterilizer
from turnwell.web.sterilizers.queries import CycleRecordQuerySet
from turnwell.words import text_of

__all__ = ["WHICH", "RecordLine", "listed", "record_lines"]

SHORTENED = "drying_shortened"
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
    """

    record: CycleRecord
    faults: tuple[str, ...]
    has_fault: bool


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
    """Give a line for each record."""
    return [
        RecordLine(
            row,
            # That drying was cut short stands in the line already.
            tuple(
                text_of(f"steam_fault.name.{key}")
                for key in row.fault_keys
                if key != SHORTENED or not row.is_drying_short
            ),
            has_fault=bool(row.fault_keys),
        )
        for row in records
    ]
