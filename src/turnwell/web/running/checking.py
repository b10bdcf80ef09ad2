"""Verifies what is kept: every stored file against its SHA-256, links, migrations."""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from itertools import groupby

from django.db import connection

from turnwell.web.evidence import storage
from turnwell.web.running.preparing import pending_migrations

__all__ = ["CheckReport", "check_records"]

STORED = (
    "SELECT sha256, size_bytes, id FROM evidence_storedfile WHERE erased_at IS NULL"
    " ORDER BY sha256, id"
)


@dataclass(frozen=True, slots=True)
class CheckReport:
    """What was found; empty where all is well.

    Parameters
    ----------
    database : tuple of str
        What the database says is wrong with itself.
    loose : tuple of str
        Rows that point to a row that is not there.
    migrations : tuple of str
        Migrations not applied yet; the next start applies them.
    missing, damaged : tuple of str
        SHA-256 of evidence that is not there, or no longer what it was.
    orphans : tuple of str
        SHA-256 of bytes that no row speaks of; they do no harm.
    files : int
        How many stored files were read.
    """

    database: tuple[str, ...]
    loose: tuple[str, ...]
    migrations: tuple[str, ...]
    missing: tuple[str, ...]
    damaged: tuple[str, ...]
    orphans: tuple[str, ...]
    files: int

    @property
    def is_sound(self) -> bool:
        """True when nothing kept is lost, changed or loose, and the database is up to date."""
        return not (self.database or self.loose or self.migrations or self.missing or self.damaged)

    def as_dict(self) -> dict[str, object]:
        """Give it as the JSON document of ``turnwell check --json``."""
        found: dict[str, object] = {"schema": "turnwell.check/1", "sound": self.is_sound}
        for field in fields(self):
            value = getattr(self, field.name)
            found[field.name] = list(value) if isinstance(value, tuple) else value
        return found


def check_records() -> CheckReport:
    """Read every stored file and ask the database about itself; nothing is changed."""
    pending = pending_migrations()
    tables = connection.introspection.table_names()
    faults: dict[str, list[str]] = {"missing": [], "damaged": []}
    living: set[str] = set()
    for digest, sizes in _stored() if "evidence_storedfile" in tables else ():
        living.add(digest)
        for fault in {storage.fault_of(digest, size) for size in sizes} - {None}:
            faults[str(fault)].append(digest)
    return CheckReport(
        database=tuple(_damage()),
        loose=tuple(_loose()),
        migrations=pending,
        missing=tuple(faults["missing"]),
        damaged=tuple(faults["damaged"]),
        orphans=tuple(digest for digest, _ in storage.kept() if digest not in living),
        files=len(living),
    )


def _stored() -> Iterator[tuple[str, set[int]]]:
    """Give each SHA-256 with the sizes its rows speak of, of files that were not erased."""
    with connection.cursor() as cursor:
        cursor.execute(STORED)
        rows = cursor.fetchall()
    for digest, group in groupby(rows, key=lambda row: row[0]):
        yield digest, {int(row[1]) for row in group}


def _damage() -> list[str]:
    """Give what the embedded database says is wrong with it; PostgreSQL watches over itself."""
    if connection.vendor != "sqlite":
        return []
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA integrity_check")
        return [row[0] for row in cursor.fetchall() if row[0] != "ok"]


def _loose() -> list[str]:
    """Give rows that point nowhere; PostgreSQL has no way to keep such a row."""
    if connection.vendor != "sqlite":
        return []
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA foreign_key_check")
        return [f"{table} row {row} -> {parent}" for table, row, parent, _ in cursor.fetchall()]
