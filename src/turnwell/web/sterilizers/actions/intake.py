"""Writes of files on their way into the book: take them in, work them off one by one.

A file is kept when it arrives. Whoever reads it claims its row first, so that two readers never
take the same; a claim that nobody finished, because the server was stopped, is free again after a
while. What comes of a file is written at once, so nothing is lost and nothing is done twice.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from turnwell.errors import InputError, TurnwellError
from turnwell.web.accounts.models import User
from turnwell.web.evidence.actions import forget_file, store_file
from turnwell.web.evidence.bounded import BusyError
from turnwell.web.evidence.kinds import quoted, shown_name
from turnwell.web.evidence.models import StoredFile
from turnwell.web.evidence.storage import Readable
from turnwell.web.shared.access import require_shop
from turnwell.web.sterilizers.actions.records import add_record
from turnwell.web.sterilizers.actions.sterilizers import NOT_OF_THE_SHOP
from turnwell.web.sterilizers.analysis.reading import Asks, review_file
from turnwell.web.sterilizers.models import Intake, IntakeFile, Plan, Sterilizer

__all__ = ["Arrived", "add_files", "begin_intake", "resume", "work_off"]

State = IntakeFile.State
# Longer than reading one file may take, waiting for a free process included.
ABANDONED = timedelta(minutes=5)
SAID = 400
BUG = "reading it met a fault of the program; the file is kept, and the server printed why"


@dataclass(frozen=True, slots=True)
class Arrived:
    """A file as it arrives.

    Parameters
    ----------
    name : str
        As the sender calls it.
    content : readable
        Read once.
    """

    name: str
    content: Readable


def begin_intake(*, by: User, sterilizer: Sterilizer, at: datetime | None = None) -> Intake:
    """Begin to take in files at a sterilizer.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    return Intake.objects.create(sterilizer=sterilizer, begun_by=by, begun_at=at or timezone.now())


def add_files(
    *, by: User, intake: Intake, files: Iterable[Arrived], at: datetime | None = None
) -> list[IntakeFile]:
    """Keep files as they arrive; each has a row that says what became of it.

    A file that cannot be a record, or that is in the book already, is not kept, and its row says
    so; the others wait to be read.

    Raises
    ------
    NotAllowedError
        If the person is not of the shop.
    CannotKeepError
        If the disk is full; what came before stays.
    """
    require_shop(by, NOT_OF_THE_SHOP)
    return [_arrived(by, intake, file, at or timezone.now()) for file in files]


def resume(now: datetime | None = None) -> int:
    """Free the claims nobody finished; give how many files wait to be read."""
    now = now or timezone.now()
    left = IntakeFile.objects.filter(state=State.READING, since__lt=now - ABANDONED)
    left.update(state=State.WAITING, since=now)
    return IntakeFile.objects.filter(state=State.WAITING).count()


def work_off() -> IntakeFile | None:
    """Read the next waiting file, whoever sent it; give its row, None when none waits.

    Raises
    ------
    BusyError
        If no process became free; the file waits again.
    """
    claimed = _claim()
    if claimed is None:
        return None
    try:
        _read(claimed)
    except BusyError:
        _settle(claimed, State.WAITING)
        raise
    except TurnwellError as error:
        _turn_down(claimed, State.REFUSED, str(error))
    except RuntimeError:
        # A bug: the file stays for whoever looks into it, and the others go on without it.
        _settle(claimed, State.REFUSED, BUG)
        raise
    return claimed


def _arrived(by: User, intake: Intake, arrived: Arrived, at: datetime) -> IntakeFile:
    """Keep one file and write its row."""
    row = IntakeFile(intake=intake, name=shown_name(arrived.name) or "no name", since=at)
    try:
        row.file = store_file(
            by=by,
            kind=StoredFile.Kind.CYCLE_RECORD,
            content=arrived.content,
            original_name=arrived.name,
            at=at,
        )
    except InputError as error:
        row.state, row.says = State.REFUSED, str(error)[:SAID]
    row.save()
    if row.file is not None and _is_known(row):
        _turn_down(row, State.DUPLICATE, "")
    return row


def _is_known(row: IntakeFile) -> bool:
    """Tell whether the same content stands in the sterilizer's book, or waits to."""
    sterilizer, digest = row.intake.sterilizer, row.file.sha256 if row.file else ""
    waits = IntakeFile.objects.filter(
        intake__sterilizer=sterilizer,
        file__sha256=digest,
        state__in=[State.WAITING, State.READING, State.ASKS],
    )
    return (
        sterilizer.records.standing().filter(sha256=digest).exists()
        or waits.exclude(pk=row.pk).exists()
    )


def _claim() -> IntakeFile | None:
    """Take the next waiting row for oneself; another reader that was quicker is passed by."""
    while True:
        row = (
            IntakeFile.objects.filter(state=State.WAITING)
            .select_related("intake__sterilizer__office", "intake__begun_by", "file")
            .order_by("pk")
            .first()
        )
        if row is None:
            return None
        now = timezone.now()
        mine = IntakeFile.objects.filter(pk=row.pk, state=State.WAITING)
        if mine.update(state=State.READING, since=now):
            row.state, row.since = State.READING, now
            return row


def _read(row: IntakeFile) -> None:
    """Read a claimed file and write what became of it."""
    sterilizer, file = row.intake.sterilizer, row.file
    if file is None:
        raise InputError(f"{quoted(row.name)} is not there; send it again")
    plan = Plan.objects.filter(sterilizer=sterilizer, is_usual=True).first()
    layouts = [row.layout for row in sterilizer.layouts.all()]
    read = review_file(file, sterilizer, layouts=layouts, plan=plan)
    if isinstance(read, Asks):
        row.proposal = read.proposal
        _settle(row, State.ASKS, read.why)
        return
    try:
        with transaction.atomic():
            row.record = add_record(
                by=row.intake.begun_by, sterilizer=sterilizer, file=file, read=read, plan=plan
            )
            _settle(row, State.READ)
    except InputError:
        row.record = None
        _turn_down(row, State.DUPLICATE, "")


def _settle(row: IntakeFile, state: IntakeFile.State, says: str = "") -> None:
    """Write what became of a file."""
    row.state, row.says, row.since = state, says[:SAID], timezone.now()
    row.save(update_fields=["state", "says", "since", "proposal", "record", "file"])


def _turn_down(row: IntakeFile, state: IntakeFile.State, says: str) -> None:
    """Write why a file does not come in, and keep nothing of it."""
    file, row.file = row.file, None
    try:
        with transaction.atomic():
            _settle(row, state, says)
            if file is not None:
                forget_file(file)
    except TurnwellError:
        row.file = file
        raise
