"""Writes one file of database and evidence while the server runs.

The database is copied first, as it is at one moment. Evidence is on disk before its row is, so that
every file the copy names is there to be copied after it, unless it was erased between. Erased bytes
leave the data folder at once but stay in backups made before.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings

from turnwell import __version__
from turnwell.web.evidence import storage
from turnwell.web.running.archive import SCHEMA, Manifest, Writing, written_archive
from turnwell.web.running.snapshot import is_living, take_snapshot

__all__ = ["Backup", "write_backup"]


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that was written."""

    path: Path
    manifest: Manifest

    @property
    def is_whole(self) -> bool:
        """True when every piece of evidence was there and sound."""
        return not (self.manifest.missing or self.manifest.damaged)

    def as_dict(self) -> dict[str, object]:
        """Give it as the JSON document of ``turnwell backup --json``."""
        return {
            "schema": "turnwell.backup-report/1",
            "file": str(self.path),
            "size_bytes": self.path.stat().st_size,
            "files": len(self.manifest.files),
            "missing": list(self.manifest.missing),
            "damaged": list(self.manifest.damaged),
            "erased_meanwhile": list(self.manifest.erased_meanwhile),
        }


def write_backup(
    target: Path, *, now: datetime, with_evidence: bool = True, with_secrets: bool = False
) -> Backup:
    """Write a backup; it appears under its name only when it is whole and on disk.

    Parameters
    ----------
    target : Path
        A name that is free; in a folder that is there, the name is made from `now`.
    now : datetime
        With a time zone.
    with_evidence : bool
        False before a migration, which leaves evidence alone.
    with_secrets : bool
        True takes along the secret and the keys of the certificates: with them a thief of the
        backup could sign in as anybody, and pose as this machine to its tablets.

    Raises
    ------
    InputError
        If the name is taken, or there is nothing to back up.
    CannotWriteError
        If the disk is full or cannot be written.
    """
    if target.is_dir():
        target /= f"turnwell-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}.zip"
    target = target.absolute()
    with written_archive(target) as into:
        snapshot = take_snapshot(into, target.parent, with_living=with_evidence)
        missing, erased = _add_evidence(into, snapshot.living)
        for name, path in _secrets(Path(settings.HOME)) if with_secrets else ():
            into.add(name, path)
        manifest = Manifest(
            schema=SCHEMA,
            version=__version__,
            made_at=now,
            database=snapshot.vendor,
            migrations=snapshot.migrations,
            has_evidence=with_evidence,
            files=tuple(into.files),
            missing=tuple(missing),
            erased_meanwhile=tuple(erased),
            columns=snapshot.columns,
        )
        into.finish(manifest)
    return Backup(target, manifest)


def _add_evidence(into: Writing, living: tuple[str, ...]) -> tuple[list[str], list[str]]:
    """Copy evidence into the backup; gives what was missing, and what was erased meanwhile."""
    missing: list[str] = []
    erased: list[str] = []
    for digest in living:
        try:
            into.add(f"evidence/{digest[:2]}/{digest}", storage.path_of(digest))
        except FileNotFoundError:
            (missing if is_living(digest) else erased).append(digest)
    return missing, erased


def _secrets(home: Path) -> Iterator[tuple[str, Path]]:
    """Give name and path of every secret there is."""
    if (home / "secret").is_file():
        yield "secret", home / "secret"
    for path in sorted((home / "certificates").glob("*")):
        if path.suffix in {".pem", ".key"}:
            yield f"certificates/{path.name}", path
