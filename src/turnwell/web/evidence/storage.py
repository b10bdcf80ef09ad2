"""Keeps received bytes under their SHA-256 in the data folder: ``evidence/ab/abcdef…``.

Bytes are written to a file of their own in ``evidence/incoming``, hashed on the way, synced to disk
and only then moved to their place, so that a file at its place is always whole. Nothing here knows
the database; `turnwell.web.evidence.actions` keeps the two in step.
"""

import errno
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from tempfile import mkstemp
from typing import BinaryIO, Protocol

from django.conf import settings

from turnwell.errors import InputError, TurnwellError

__all__ = [
    "CannotKeepError",
    "Incoming",
    "Readable",
    "cannot_keep",
    "copy_path",
    "fault_of",
    "incoming_folder",
    "kept",
    "left_over_parts",
    "path_of",
    "place",
    "receive",
    "remove",
]

CHUNK_BYTES = 1 << 20
FULL = {errno.ENOSPC, errno.EDQUOT}
_SHA256 = re.compile(r"[0-9a-f]{64}")


class CannotKeepError(TurnwellError, OSError):
    """The data folder takes no more: the disk is full, or cannot be written."""


class Readable(Protocol):
    """Anything bytes can be read from, once, from its beginning."""

    def read(self, size: int = -1, /) -> bytes:
        """Give up to `size` bytes."""
        ...


@dataclass(frozen=True, slots=True)
class Incoming:
    """Bytes that were received whole and wait to be placed or dropped."""

    path: Path
    sha256: str
    size_bytes: int

    def drop(self) -> None:
        """Forget the bytes; nothing happens when they were placed."""
        self.path.unlink(missing_ok=True)


def incoming_folder() -> Path:
    """Give the folder of files on their way in, on the same disk as the evidence."""
    folder = Path(settings.EVIDENCE_ROOT) / "incoming"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def path_of(digest: str) -> Path:
    """Give the place of the bytes with a SHA-256, whether they are there or not."""
    if not _SHA256.fullmatch(digest):
        raise InputError(f"{digest!r} is no SHA-256; it must be 64 hexadecimal figures")
    return Path(settings.EVIDENCE_ROOT) / digest[:2] / digest


def copy_path(digest: str, variant: str) -> Path:
    """Give the place of a copy made to be handed out; copies can be made again at any time."""
    path_of(digest)
    return Path(settings.EVIDENCE_ROOT).parent / "copies" / digest[:2] / f"{digest}-{variant}"


def receive(content: Readable, name: str, most_bytes: int) -> Incoming:
    """Write bytes to disk and hash them on the way; nothing is left of a file that is refused.

    Parameters
    ----------
    content : readable
        Read once, from where it stands.
    name : str
        What to call it in a refusal.
    most_bytes : int
        Largest size to accept.

    Raises
    ------
    InputError
        If it is empty or larger, or breaks off.
    CannotKeepError
        If the disk is full or cannot be written.
    """
    path = None
    try:
        descriptor, part_name = mkstemp(dir=incoming_folder(), suffix=".part")
        path = Path(part_name)
        with os.fdopen(descriptor, "wb") as part:
            return _filled(part, path, content, name, most_bytes)
    except BaseException as error:
        if path is not None:
            path.unlink(missing_ok=True)
        if isinstance(error, OSError) and not isinstance(error, TurnwellError):
            raise cannot_keep(error, name) from error
        raise


def cannot_keep(error: OSError, name: str) -> CannotKeepError:
    """Give the sentence for a disk that does not take a file."""
    what = "is full" if error.errno in FULL else f"cannot be written ({error.strerror or error})"
    return CannotKeepError(
        f"The disk of the data folder {what}; nothing of {name} was kept. "
        "Free some space there, then send it again."
    )


def _filled(part: BinaryIO, path: Path, content: Readable, name: str, most_bytes: int) -> Incoming:
    """Copy the content into the part file and sync it."""
    digest, size = sha256(), 0
    while chunk := _next(content, name):
        size += len(chunk)
        if size > most_bytes:
            raise InputError(
                f"{name} is larger than {most_bytes / 1e6:,.0f} MB; send a smaller file"
            )
        digest.update(chunk)
        part.write(chunk)
    if size == 0:
        raise InputError(f"{name} is empty; send it again")
    part.flush()
    os.fsync(part.fileno())
    return Incoming(path, digest.hexdigest(), size)


def _next(content: Readable, name: str) -> bytes:
    """Read the next piece of what is sent."""
    try:
        return content.read(CHUNK_BYTES)
    except OSError as error:
        raise InputError(f"{name} broke off on its way; nothing was kept, send it again") from error


def place(incoming: Incoming, name: str) -> None:
    """Move received bytes to their place and sync the folders; equal bytes are kept once.

    Raises
    ------
    CannotKeepError
        If the disk is full or cannot be written; the received bytes are dropped.
    """
    target = path_of(incoming.sha256)
    try:
        is_new_folder = not target.parent.is_dir()
        target.parent.mkdir(parents=True, exist_ok=True)
        try:
            incoming.path.replace(target)
        except PermissionError:
            # Windows does not replace a file that somebody is reading: the same bytes lie there.
            if not target.is_file() or target.stat().st_size != incoming.size_bytes:
                raise
        _sync_folder(target.parent)
        if is_new_folder:
            _sync_folder(target.parent.parent)
    except OSError as error:
        raise cannot_keep(error, name) from error
    finally:
        incoming.drop()


def _sync_folder(folder: Path) -> None:
    """Make a new name in a folder last; Windows keeps names by its journal and has no such call."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def remove(digest: str) -> None:
    """Remove bytes and every copy made of them."""
    path = path_of(digest)
    path.unlink(missing_ok=True)
    for copy in copy_path(digest, "any").parent.glob(f"{digest}-*"):
        copy.unlink(missing_ok=True)
    if path.parent.is_dir():
        _sync_folder(path.parent)


def fault_of(digest: str, size_bytes: int) -> str | None:
    """Give what is wrong with kept bytes, "missing" or "damaged"; None when they are sound."""
    path = path_of(digest)
    if not path.is_file():
        return "missing"
    if path.stat().st_size != size_bytes:
        return "damaged"
    with path.open("rb") as file:
        found = sha256()
        while chunk := file.read(CHUNK_BYTES):
            found.update(chunk)
    return None if found.hexdigest() == digest else "damaged"


def kept() -> Iterator[tuple[str, Path]]:
    """Give SHA-256 and path of everything that lies at a place of evidence."""
    for path in sorted(Path(settings.EVIDENCE_ROOT).glob("??/*")):
        if _SHA256.fullmatch(path.name) and path.parent.name == path.name[:2]:
            yield path.name, path


def left_over_parts() -> Iterator[Path]:
    """Give what was on its way in: parts being written now, and those of a killed server."""
    yield from sorted(incoming_folder().iterdir())
