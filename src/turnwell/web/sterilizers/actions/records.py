"""Writes of cycle records: keep what was read, read it again, take it back.

Reading a file happens with no lock held; its results are written in one short transaction.
"""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from turnwell.errors import CannotTellError, ChangedMeanwhileError, InputError
from turnwell.web.accounts.models import User
from turnwell.web.evidence.models import StoredFile
from turnwell.web.shared.access import require_shop
from turnwell.web.shared.entries import taking_back
from turnwell.web.shared.rows import refuse_bad_fields
from turnwell.web.sterilizers.actions.sterilizers import NOT_OF_THE_SHOP
from turnwell.web.sterilizers.analysis.reading import Asks, Reviewed, review_file
from turnwell.web.sterilizers.clock import moment_of, settings_of
from turnwell.web.sterilizers.models import CycleReading, CycleRecord, Plan, Sterilizer

__all__ = [
    "add_record",
    "choose_plan",
    "refuse_overtaken",
    "review_again",
    "reviewed",
    "take_back_record",
]


@transaction.atomic
def add_record(
    *,
    by: User,
    sterilizer: Sterilizer,
    file: StoredFile,
    read: Reviewed,
    plan: Plan | None,
    at: datetime | None = None,
) -> CycleRecord:
    """Put a record that was read into the book.

    Parameters
    ----------
    read : Reviewed
        What was made of the file.
    plan : Plan or None
        What it was held against.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If the same content stands in this sterilizer's book already.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    # Held so that the same file sent twice at once does not come in twice.
    Sterilizer.objects.select_for_update(of=("self",)).get(pk=sterilizer.pk)
    earlier = sterilizer.records.filter(sha256=file.sha256).order_by("-entered_at", "-pk").first()
    if earlier is not None and not earlier.is_taken_back:
        raise InputError(f"this record is in the book already, as {earlier.file}")
    record = CycleRecord(
        sterilizer=sterilizer,
        file=file,
        sha256=file.sha256,
        plan=plan,
        entered_by=by,
        entered_at=at or timezone.now(),
        corrects=earlier,
        correction_reason="sent again" if earlier else "",
    )
    _take_over(record, read)
    record.save()
    _write_readings(record, read)
    return record


def choose_plan(*, by: User, record: CycleRecord, plan: Plan | None) -> CycleRecord:
    """Say which cycle a run was, and hold it against that.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If the cycle is of another sterilizer, or the file was erased.
    ChangedMeanwhileError
        If the record was taken back.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    if plan is not None and plan.sterilizer_id != record.sterilizer_id:
        raise InputError(f"{plan} is a cycle of another sterilizer; choose one of this")
    with transaction.atomic():
        refuse_overtaken(record)
        CycleRecord.objects.filter(pk=record.pk).update(plan=plan)
    record.plan = plan
    return reviewed(record)


def review_again(*, by: User, record: CycleRecord) -> CycleRecord:
    """Review a record again, with what is known by now: columns confirmed since, too.

    Where the file cannot be read by those, what it was read by holds on.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If its file was erased.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    confirmed = [row.layout for row in record.sterilizer.layouts.all()]
    read = _read(record, [*confirmed, *_kept_layout(record)])
    return reviewed(record) if isinstance(read, Asks) else _written(record, read)


@transaction.atomic
def take_back_record(
    *, by: User, record: CycleRecord, reason: str, at: datetime | None = None
) -> CycleRecord:
    """Take back a record that is not this sterilizer's; it stays on record and counts no more.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    InputError
        If there is no reason.
    ChangedMeanwhileError
        If it was taken back already.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    if not reason.strip():
        raise InputError("say in a few words why the record is taken back")
    refuse_overtaken(record)
    kept = ("sterilizer", "file", "sha256", "clock_shown")
    gone = taking_back(record, by=by, reason=reason, at=at, repeating=kept)
    refuse_bad_fields(gone)
    gone.save()
    return gone


def refuse_overtaken(record: CycleRecord) -> None:
    """Refuse a record that was taken back.

    Raises
    ------
    ChangedMeanwhileError
        If it was.
    """
    if record.is_taken_back or CycleRecord.objects.filter(corrects_id=record.pk).exists():
        raise ChangedMeanwhileError("this record was taken back; open the sterilizer again")


def reviewed(record: CycleRecord) -> CycleRecord:
    """Review a record with its plan and its load as they stand, and write what came out.

    It is read by what it was read by before, whatever columns were confirmed since.

    Raises
    ------
    InputError
        If its file was erased or is missing.
    CannotTellError
        If its columns are open by now, which they were not when it came in.
    """
    read = _read(record, _kept_layout(record))
    if isinstance(read, Asks):
        # Read by columns that were confirmed, before records kept them.
        read = _read(record, [row.layout for row in record.sterilizer.layouts.all()])
    if isinstance(read, Asks):
        raise CannotTellError(f"the columns of this record are open: {read.why}")
    return _written(record, read)


def _kept_layout(record: CycleRecord) -> list[dict[str, Any]]:
    return [] if record.layout is None else [record.layout]


def _read(record: CycleRecord, layouts: list[dict[str, Any]]) -> Reviewed | Asks:
    return review_file(
        record.file,
        record.sterilizer,
        layouts=layouts,
        plan=record.plan,
        load=record.loads.standing().first(),
    )


def _written(record: CycleRecord, read: Reviewed) -> CycleRecord:
    """Write what was read anew in place of what stood."""
    with transaction.atomic():
        kept = CycleRecord.objects.select_for_update(of=("self",)).get(pk=record.pk)
        kept.sterilizer = record.sterilizer
        _take_over(kept, read)
        kept.save()
        kept.readings.all().delete()
        _write_readings(kept, read)
    return kept


def _take_over(record: CycleRecord, read: Reviewed) -> None:
    """Write what was read into the row of a record."""
    sterilizer = record.sterilizer
    record.review = read.review
    record.layout = read.layout
    record.core_version = read.core_version
    record.clock_shown = read.clock_shown
    record.started_at = (
        moment_of(read.clock_shown, sterilizer.office.time_zone, settings_of(sterilizer))
        if read.clock_shown
        else _written_start(record)
    )
    record.fault_keys = read.fault_keys
    record.is_drying_short = read.is_drying_short
    record.refused_because = ""
    record.analysed_at = timezone.now()


def _written_start(record: CycleRecord) -> datetime | None:
    """Give when a run began as a person wrote it; None where nobody did."""
    if record.pk is None:
        return None
    return record.starts.standing().values_list("began_at", flat=True).first()


def _write_readings(record: CycleRecord, read: Reviewed) -> None:
    CycleReading.objects.bulk_create(
        CycleReading(
            record=record,
            key=reading.key,
            value=reading.value,
            verdict=reading.verdict.value,
            stored=reading.as_record(),
        )
        for reading in read.readings
    )
