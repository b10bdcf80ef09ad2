"""Brings a backup back: everything is unpacked and verified before anything is touched.

What was there is moved into a folder of its own, ``before-restore-<time>``, and stays until
somebody removes it. A restore that fails half way puts it back.
"""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from django.conf import settings
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from turnwell.errors import InputError, UnreadableFileError
from turnwell.web.running.archive import DATABASE, Archive, Manifest, open_archive
from turnwell.web.running.backup import write_backup
from turnwell.web.running.folder import hold
from turnwell.web.running.postgres import replaced_tables
from turnwell.web.running.snapshot import LIVING

__all__ = ["Restored", "restore"]

# Room to spare beside the unpacked backup.
SPARE_BYTES = 64 << 20
SQLITE_PARTS = ("", "-wal", "-shm")


@dataclass(frozen=True, slots=True)
class Restored:
    """A backup that was brought back.

    Parameters
    ----------
    manifest : Manifest
        What it held.
    kept_aside : Path or None
        Where that lies which was there before.
    """

    manifest: Manifest
    kept_aside: Path | None


def restore(source: Path, *, replace: bool, now: datetime) -> Restored:
    """Bring a backup back into the data folder and database of the settings.

    Parameters
    ----------
    source : Path
        A file written by `write_backup`.
    replace : bool
        False refuses where there are records already.
    now : datetime
        With a time zone; names the folder for what was there.

    Raises
    ------
    InputError
        If there are records and `replace` is false, the backup is damaged, of a newer version or of
        the other kind of database, the disk is too small, or a server is running.
    """
    home = Path(settings.HOME)
    with hold(home), open_archive(source) as archive, ExitStack() as undo:
        _refuse(archive, home, replace=replace)
        folder = TemporaryDirectory(prefix="restoring-", dir=home)
        unpacked = Path(undo.enter_context(folder))
        for file in archive.manifest.files:
            archive.unpack(file, unpacked)
        _verify(archive, unpacked)
        aside = home / f"before-restore-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}"
        aside.mkdir(mode=0o700)
        try:
            _put_in_place(archive, unpacked, home, aside, now)
        finally:
            if not any(aside.iterdir()):
                aside.rmdir()
        return Restored(archive.manifest, aside if aside.exists() else None)


def _refuse(archive: Archive, home: Path, *, replace: bool) -> None:
    """Refuse what can be refused before unpacking."""
    manifest = archive.manifest
    if manifest.database != connection.vendor:
        raise InputError(
            f"{archive.path} is of a {manifest.database} database, this one is "
            f"{connection.vendor}; set TURNWELL_DATABASE_URL to go with it"
        )
    known = MigrationLoader(None).disk_migrations
    ours = {app for app, _ in known}
    for app, names in manifest.migrations.items():
        newer = [name for name in names if (app, name) not in known]
        if newer and app in ours:
            raise InputError(
                f"{archive.path} was made by turnwell {manifest.version}, which is newer "
                f"({app}.{newer[0]} is not known here); update first"
            )
    if not replace and connection.introspection.table_names():
        raise InputError(
            f"there are records in {home} already; give --replace to move them aside, "
            "or set TURNWELL_HOME to another folder"
        )
    room = shutil.disk_usage(home).free
    if room < manifest.size_bytes + SPARE_BYTES:
        raise InputError(
            f"the backup unpacks to {manifest.size_bytes / 1e6:,.0f} MB, "
            f"{home} has room for {room / 1e6:,.0f} MB; free some space"
        )


def _verify(archive: Archive, unpacked: Path) -> None:
    """Hold the unpacked database against itself and against the evidence that came with it."""
    if archive.manifest.database != "sqlite":
        return
    path = unpacked / DATABASE
    if not path.is_file():
        raise UnreadableFileError(f"{archive.path} holds no database; nothing was changed")
    try:
        with closing(sqlite3.connect(path)) as database:
            words = [row[0] for row in database.execute("PRAGMA integrity_check")]
            loose = database.execute("PRAGMA foreign_key_check").fetchall()
            living = {row[0] for row in database.execute(LIVING)}
    except sqlite3.DatabaseError as error:
        raise UnreadableFileError(
            f"the database in {archive.path} cannot be read: {error}; nothing was changed"
        ) from error
    if words != ["ok"] or loose:
        what = words[0] if words != ["ok"] else f"{len(loose)} rows point nowhere"
        raise UnreadableFileError(
            f"the database in {archive.path} is damaged: {what}; nothing was changed"
        )
    _verify_evidence(archive, living)


def _verify_evidence(archive: Archive, living: set[str]) -> None:
    """Refuse a backup whose evidence is not what its database speaks of."""
    manifest = archive.manifest
    there = {file.path.rpartition("/")[2] for file in manifest.files}
    lost = living - there - {*manifest.missing, *manifest.erased_meanwhile}
    if manifest.has_evidence and lost:
        raise UnreadableFileError(
            f"{archive.path} lacks {len(lost)} files its database speaks of; nothing was changed"
        )


def _put_in_place(archive: Archive, unpacked: Path, home: Path, aside: Path, now: datetime) -> None:
    """Move what was there aside and the unpacked to its place, all of it or nothing."""
    manifest = archive.manifest
    names = [name for name in ("secret", "certificates") if (unpacked / name).exists()]
    gone = []
    if manifest.has_evidence:
        names.append("evidence")
        (unpacked / "evidence").mkdir(exist_ok=True, mode=0o700)
        gone.append("copies")
    if manifest.database == "sqlite":
        own = Path(str(settings.DATABASES["default"]["NAME"])).name
        (unpacked / DATABASE).rename(unpacked / own)
        names.append(own)
        gone += [f"{own}{part}" for part in SQLITE_PARTS[1:]]
        connection.close()
        with _swapped(unpacked, home, aside, names, gone):
            return
    if connection.introspection.table_names():
        write_backup(aside / "database.zip", now=now, with_evidence=False)
    with (
        _swapped(unpacked, home, aside, names, gone),
        replaced_tables(manifest, unpacked),
        connection.cursor() as cursor,
    ):
        cursor.execute(LIVING)
        _verify_evidence(archive, {row[0] for row in cursor.fetchall()})


@contextmanager
def _swapped(
    unpacked: Path, home: Path, aside: Path, names: list[str], gone: list[str]
) -> Iterator[None]:
    """Swap files while the block runs; a block that fails gets the old ones back."""
    done: list[tuple[Path, Path]] = []
    moves = [(home / name, aside / name) for name in [*gone, *names]]
    moves += [(unpacked / name, home / name) for name in names]
    try:
        for old, new in moves:
            if old.exists():
                old.rename(new)
                done.append((old, new))
        yield
    except BaseException:
        for old, new in reversed(done):
            new.rename(old)
        raise
