"""The form of a backup: one zip with a manifest that names each file, its size and its SHA-256.

::

    manifest.json                  version, migrations, list of files
    database.sqlite3               a snapshot of the embedded database, or
    tables/<table>.copy            PostgreSQL's tables in its own copy format
    evidence/ab/abcdef...          received files under their SHA-256
    secret, certificates/<name>    only when asked for

Evidence is stored as it is; only the database is compressed. Nothing else may be in the zip.
"""

import errno
import hashlib
import os
import re
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from tempfile import mkstemp
from typing import IO

import msgspec

from turnwell.errors import InputError, TurnwellError, UnreadableFileError

__all__ = [
    "CHUNK_BYTES",
    "Archive",
    "CannotWriteError",
    "KeptFile",
    "Manifest",
    "open_archive",
    "written_archive",
]

SCHEMA = "turnwell.backup/1"
MANIFEST = "manifest.json"
MOST_MANIFEST_BYTES = 256 << 20
CHUNK_BYTES = 1 << 20
DATABASE = "database.sqlite3"
PLACES = re.compile(
    r"database\.sqlite3|tables/[a-z0-9_]{1,63}\.copy"
    r"|evidence/([0-9a-f]{2})/\1[0-9a-f]{62}"
    r"|secret|certificates/(authority|server)\.(pem|key)"
)
SQL_NAME = re.compile(r"[a-z_][a-z0-9_]{0,62}")
COMPRESSED = re.compile(r"database\.sqlite3|tables/.*")


class CannotWriteError(TurnwellError, OSError):
    """A backup cannot be written: the disk is full, or the folder is closed."""


class KeptFile(msgspec.Struct, frozen=True):
    """One file in a backup."""

    path: str
    sha256: str
    size_bytes: int


class Manifest(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a backup holds.

    Parameters
    ----------
    version : str
        Of the program that made it.
    made_at : datetime
        When the snapshot of the database was taken.
    database : str
        Vendor: ``"sqlite"`` or ``"postgresql"``.
    migrations : dict
        Applied migrations by app.
    has_evidence : bool
        False for the backup made before a migration, which leaves evidence alone.
    files : tuple of KeptFile
        Everything in the zip but this manifest.
    missing, erased_meanwhile : tuple of str
        SHA-256 of evidence that was not there, or was erased while the backup was written.
    columns : dict
        For PostgreSQL: the columns of each table, as they stand in its file.
    """

    schema: str
    version: str
    made_at: datetime
    database: str
    migrations: dict[str, list[str]]
    has_evidence: bool
    files: tuple[KeptFile, ...]
    missing: tuple[str, ...] = ()
    erased_meanwhile: tuple[str, ...] = ()
    columns: dict[str, list[str]] = {}

    @property
    def size_bytes(self) -> int:
        """All files together, unpacked."""
        return sum(file.size_bytes for file in self.files)

    @property
    def damaged(self) -> tuple[str, ...]:
        """SHA-256 of evidence whose bytes are no longer the ones received; kept all the same."""
        kept = [file for file in self.files if file.path.startswith("evidence/")]
        named = [(file.path.rpartition("/")[2], file.sha256) for file in kept]
        return tuple(name for name, found in named if name != found)


class Writing:
    """A backup while it is written."""

    def __init__(self, into: zipfile.ZipFile) -> None:
        self._into = into
        self.files: list[KeptFile] = []

    @contextmanager
    def adding(self, path: str) -> Iterator["HashingWriter"]:
        """Give a file in the zip to write to; it is listed when the block ends."""
        entry = zipfile.ZipInfo(path)
        is_compressed = COMPRESSED.fullmatch(path)
        entry.compress_type = zipfile.ZIP_DEFLATED if is_compressed else zipfile.ZIP_STORED
        entry.external_attr = 0o600 << 16
        with self._into.open(entry, "w", force_zip64=True) as file:
            writer = HashingWriter(file)
            yield writer
        self.files.append(KeptFile(path, writer.digest.hexdigest(), writer.size_bytes))

    def add(self, path: str, source: Path) -> KeptFile:
        """Copy a file into the zip."""
        with source.open("rb") as file, self.adding(path) as writer:
            while chunk := file.read(CHUNK_BYTES):
                writer.write(chunk)
        return self.files[-1]

    def finish(self, manifest: Manifest) -> None:
        """Write the manifest, which makes the backup whole."""
        words = msgspec.json.format(msgspec.json.encode(manifest))
        self._into.writestr(MANIFEST, words, zipfile.ZIP_DEFLATED)


class HashingWriter:
    """Passes bytes on and keeps their SHA-256 and length."""

    def __init__(self, file: IO[bytes]) -> None:
        self._file = file
        self.digest = hashlib.sha256()
        self.size_bytes = 0

    def write(self, chunk: bytes) -> None:
        """Write some bytes."""
        self._file.write(chunk)
        self.digest.update(chunk)
        self.size_bytes += len(chunk)


@contextmanager
def written_archive(target: Path) -> Iterator[Writing]:
    """Give a backup to write; it appears under its name only when whole and synced to disk.

    Raises
    ------
    InputError
        If something of that name is there, or its folder is not.
    CannotWriteError
        If the disk is full or cannot be written.
    """
    if target.exists():
        raise InputError(f"{target} is there already; choose another name")
    if not target.parent.is_dir():
        raise InputError(f"the folder {target.parent} is not there; make it first")
    part: Path | None = None
    try:
        descriptor, name = mkstemp(dir=target.parent, prefix=".turnwell-backup-", suffix=".part")
        part = Path(name)
        with os.fdopen(descriptor, "w+b") as file:
            with zipfile.ZipFile(file, "w", allowZip64=True) as into:
                yield Writing(into)
            file.flush()
            os.fsync(file.fileno())
        part.replace(target)
    except OSError as error:
        if isinstance(error, TurnwellError):
            raise
        what = "is full" if error.errno in {errno.ENOSPC, errno.EDQUOT} else str(error.strerror)
        raise CannotWriteError(
            f"the backup could not be written to {target.parent}: the disk {what}; "
            "nothing of it was kept"
        ) from error
    finally:
        if part is not None:
            part.unlink(missing_ok=True)


class Archive:
    """A backup that was opened and whose list of files was checked."""

    def __init__(self, path: Path, zipped: zipfile.ZipFile, manifest: Manifest) -> None:
        self.path = path
        self.manifest = manifest
        self._zipped = zipped

    def unpack(self, file: KeptFile, into: Path) -> None:
        """Unpack one file and check it on the way; never more than the manifest says.

        Raises
        ------
        UnreadableFileError
            If it is not what the manifest says.
        """
        target = into / file.path
        target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        descriptor = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        found = hashlib.sha256()
        left = file.size_bytes
        with os.fdopen(descriptor, "wb") as out, self._zipped.open(file.path) as packed:
            while chunk := self._chunk(packed, left):
                left -= len(chunk)
                out.write(chunk)
                found.update(chunk)
            out.flush()
            os.fsync(out.fileno())
        if left or found.hexdigest() != file.sha256:
            raise self._damaged(file.path)

    def _chunk(self, packed: IO[bytes], left: int) -> bytes:
        """Read on, refusing more than `left` bytes."""
        try:
            chunk = packed.read(CHUNK_BYTES)
        except (zipfile.BadZipFile, EOFError, OSError) as error:
            raise self._damaged(getattr(packed, "name", "")) from error
        if len(chunk) > left:
            raise self._damaged(getattr(packed, "name", ""))
        return chunk

    def _damaged(self, path: str) -> UnreadableFileError:
        """Give the refusal of a file."""
        return UnreadableFileError(
            f"{self.path}: {path} in it is damaged; nothing was changed, try an older backup"
        )


@contextmanager
def open_archive(path: Path) -> Iterator[Archive]:
    """Open a backup and check its list of files; nothing is unpacked.

    Raises
    ------
    UnreadableFileError
        If it is no backup of this program, a newer form of it, or holds what it should not.
    """
    if not path.is_file():
        raise UnreadableFileError(f"{path} is not there")
    try:
        with zipfile.ZipFile(path) as zipped:
            yield Archive(path, zipped, _checked_manifest(path, zipped))
    except (zipfile.BadZipFile, NotImplementedError) as error:
        raise UnreadableFileError(f"{path} is no backup, or was cut short: {error}") from error


def _checked_manifest(path: Path, zipped: zipfile.ZipFile) -> Manifest:
    """Read the manifest and hold the zip's list of files against it."""
    manifest = _manifest(path, zipped)
    entries = {entry.filename: entry for entry in zipped.infolist()}
    listed = {file.path: file for file in manifest.files}
    if len(entries) != len(zipped.infolist()) or len(listed) != len(manifest.files):
        raise UnreadableFileError(f"{path} names a file twice; it is no backup of turnwell")
    odd = sorted(set(entries) ^ {*listed, MANIFEST})
    odd += [name for name in listed if not PLACES.fullmatch(name)]
    if odd:
        raise UnreadableFileError(f"{path} should not hold, or lacks, {odd[0]!r}; nothing was read")
    tables = {f"tables/{table}.copy" for table in manifest.columns}
    columns = [name for names in manifest.columns.values() for name in names]
    if tables != {name for name in listed if name.startswith("tables/")} or not all(
        SQL_NAME.fullmatch(name) for name in [*manifest.columns, *columns]
    ):
        raise UnreadableFileError(f"{path} lists tables it does not hold; nothing was read")
    for name, file in listed.items():
        if entries[name].file_size != file.size_bytes:
            raise UnreadableFileError(f"{path}: {name} has another size than its manifest says")
    return manifest


def _manifest(path: Path, zipped: zipfile.ZipFile) -> Manifest:
    """Read the manifest."""
    if MANIFEST not in zipped.namelist():
        raise UnreadableFileError(f"{path} has no manifest; it is no backup of turnwell")
    with zipped.open(MANIFEST) as file:
        words = file.read(MOST_MANIFEST_BYTES + 1)
    if len(words) > MOST_MANIFEST_BYTES:
        raise UnreadableFileError(f"{path} has a manifest too large to be one")
    try:
        said = msgspec.json.decode(words)
        schema = said.get("schema") if isinstance(said, dict) else None
        if schema != SCHEMA:
            raise UnreadableFileError(
                f"{path} is of the form {schema!r}, this turnwell reads {SCHEMA!r}; "
                "use the turnwell that made it, or a newer one"
            )
        return msgspec.convert(said, Manifest)
    except msgspec.MsgspecError as error:
        raise UnreadableFileError(f"{path} has a manifest that cannot be read: {error}") from error
