"""Every write of stored files: keep, erase, finish an erasure that was broken off."""

from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction
from django.utils import timezone

from turnwell.errors import InputError, NotAllowedError, UnreadableFileError
from turnwell.web.evidence import bounded, storage
from turnwell.web.evidence.kinds import KINDS, quoted, shown_name
from turnwell.web.evidence.models import StoredFile
from turnwell.web.evidence.queries import open_file
from turnwell.web.shared.access import require_shop

if TYPE_CHECKING:
    from turnwell.web.accounts.models import User

__all__ = ["erase_file", "finish_erasures", "forget_file", "may_erase", "open_file", "store_file"]

READING_S = 60.0
HEAD_BYTES = 4096
SPREADSHEET = b"PK\x03\x04"
# JPEG, PNG, GIF and TIFF: a photo of a printout, mostly.
PICTURES = (b"\xff\xd8\xff", b"\x89PNG", b"GIF8", b"II*\0", b"MM\0*")
FACTS = {StoredFile.Kind.RECORDING: "recording_facts", StoredFile.Kind.PHOTO: "photo_facts"}


def store_file(
    *,
    by: "User",
    kind: StoredFile.Kind,
    content: storage.Readable,
    original_name: str,
    media_type: str = "",
    at: datetime | None = None,
) -> StoredFile:
    """Keep a received or issued file.

    The bytes are on disk, synced and at their place before the row is committed. A file that is
    refused leaves nothing behind.

    Parameters
    ----------
    content : readable
        Read once, from where it stands.
    original_name : str
        As the sender calls it; kept without folders and without what cannot be printed.
    media_type : str
        What the sender calls it, for the refusal only: what is kept is told by the content.

    Raises
    ------
    InputError
        If it is empty, too large or not of its kind.
    CannotKeepError
        If the disk is full or cannot be written.
    NotAllowedError
        If the person is not of the shop.
    """
    kind = StoredFile.Kind(kind)
    require_shop(by, f"{by} may look at files of the own office, not send any")
    name = shown_name(original_name)
    called = quoted(name)
    incoming = storage.receive(content, called, KINDS[kind].most_bytes)
    try:
        found_type = _media_type(kind, incoming, called, media_type)
        with transaction.atomic():
            # Whoever erases the same bytes holds these rows, so that bytes never go as others come.
            list(StoredFile.objects.select_for_update().filter(sha256=incoming.sha256))
            storage.place(incoming, called)
            return StoredFile.objects.create(
                sha256=incoming.sha256,
                kind=kind,
                media_type=found_type,
                size_bytes=incoming.size_bytes,
                original_name=name,
                received_at=at or timezone.now(),
                received_by=by,
            )
    finally:
        incoming.drop()


def erase_file(*, by: "User", file: StoredFile, why: str, at: datetime | None = None) -> StoredFile:
    """Remove a file's bytes and keep its row: what it was, who erased it, when and why.

    The bytes stay while another file that was not erased has the same.

    Raises
    ------
    InputError
        If no reason is given or it was erased before.
    NotAllowedError
        If the person is neither the owner nor the one who received it.
    """
    why = why.strip()
    if not why or len(why) > 300 or not why.isprintable():
        raise InputError(f"the reason has {len(why)} characters; write it in 1 to 300, one line")
    if not may_erase(by, file):
        raise NotAllowedError(f"only the owner and {file.received_by} may erase {file}")
    with transaction.atomic():
        locked = StoredFile.objects.select_for_update().get(pk=file.pk)
        if locked.is_erased:
            raise InputError(f"{file} was erased already, by {locked.erased_by}")
        locked.erased_at, locked.erased_by, locked.erased_why = at or timezone.now(), by, why
        locked.save(update_fields=["erased_at", "erased_by", "erased_why"])
        transaction.on_commit(lambda: _remove_if_unused(locked.sha256))
    return locked


def forget_file(file: StoredFile) -> None:
    """Remove the row and the bytes of a file that was turned down after it had arrived.

    Nothing may name the row. The bytes stay while another file that was not erased has the same.
    """
    with transaction.atomic():
        digest = file.sha256
        file.delete()
        transaction.on_commit(lambda: _remove_if_unused(digest))


def may_erase(by: "User", file: StoredFile) -> bool:
    """Tell whether a person may erase a file: the owner, and whoever received it."""
    return by.is_active and by.is_shop and (by.is_owner or by.pk == file.received_by_id)


def _remove_if_unused(digest: str) -> None:
    """Remove bytes unless a row that was not erased needs them; looked at under the rows' lock."""
    with transaction.atomic():
        list(StoredFile.objects.select_for_update().filter(sha256=digest))
        if not StoredFile.objects.living().filter(sha256=digest).exists():
            storage.remove(digest)


def finish_erasures() -> int:
    """Remove bytes of erased files that a server killed in between left behind; give how many.

    Bytes that no row speaks of are left alone: another database may know them.
    """
    erased = StoredFile.objects.filter(erased_at__isnull=False).values_list("sha256", flat=True)
    left = {digest for digest in erased if storage.path_of(digest).is_file()}
    left -= set(
        StoredFile.objects.living().filter(sha256__in=left).values_list("sha256", flat=True)
    )
    for digest in left:
        _remove_if_unused(digest)
    return len(left)


def _media_type(kind: StoredFile.Kind, incoming: storage.Incoming, name: str, said: str) -> str:
    """Tell the media type by the content.

    Raises
    ------
    UnreadableFileError
        If the content is not what this kind may be.
    """
    if task := FACTS.get(kind):
        facts = bounded.run(task, seconds=READING_S, path=str(incoming.path), name=name)
        return str(facts["media_type"])
    with incoming.path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    if kind == StoredFile.Kind.CYCLE_RECORD:
        return _table_type(head, name)
    if head.startswith(b"%PDF-"):
        return "application/pdf"
    told = f", though it is called {said}" if said else ""
    raise UnreadableFileError(f"{name} is no PDF{told}; send it as PDF")


def _table_type(head: bytes, name: str) -> str:
    """Tell text from a spreadsheet by the first bytes; what either holds is for the core to say.

    Raises
    ------
    UnreadableFileError
        If it is neither.
    """
    if head.startswith(SPREADSHEET):
        return "application/zip"
    # Plain letters of two bytes each have a zero in every other place.
    if b"\0" not in head or not (head[::2].count(0) and head[1::2].count(0)):
        return "text/plain"
    is_what = "a picture" if head.startswith(PICTURES) else "neither text nor a spreadsheet"
    raise UnreadableFileError(
        f"{name} is {is_what}; have the sterilizer write its records as text"
        " or CSV, or save the table as .xlsx or .ods"
    )
