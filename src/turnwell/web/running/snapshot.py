"""Copies the database into a backup, consistent in itself, while the server goes on writing.

SQLite: ``VACUUM INTO`` reads one state of the database and writes it whole to another file; writers
are not held up in WAL mode. PostgreSQL: every table is copied by ``COPY`` in its own text format
within one read-only transaction of level REPEATABLE READ, which sees one state throughout. That
keeps values exactly as the database has them, streams, and is independent of the models, so that a
backup of an older version can be brought back and migrated.
"""

import sqlite3
from collections import defaultdict
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.conf import settings
from django.db import connection, transaction

from turnwell.errors import InputError
from turnwell.web.running.archive import DATABASE, Writing

__all__ = ["Snapshot", "is_living", "take_snapshot"]

MIGRATIONS = "SELECT app, name FROM django_migrations ORDER BY id"
LIVING = "SELECT DISTINCT sha256 FROM evidence_storedfile WHERE erased_at IS NULL ORDER BY sha256"
NONE = "SELECT NULL WHERE 1 = 0"
Rows = Sequence[Sequence[Any]]


@dataclass(frozen=True, slots=True)
class Snapshot:
    """What one state of the database says.

    Parameters
    ----------
    vendor : str
        ``"sqlite"`` or ``"postgresql"``.
    migrations : dict
        Applied migrations by app.
    living : tuple of str
        SHA-256 of every stored file that was not erased.
    columns : dict
        For PostgreSQL: the columns of each table.
    """

    vendor: str
    migrations: dict[str, list[str]]
    living: tuple[str, ...]
    columns: dict[str, list[str]] = field(default_factory=dict)


def take_snapshot(into: Writing, beside: Path, *, with_living: bool) -> Snapshot:
    """Copy the database into a backup.

    Parameters
    ----------
    into : Writing
        The backup.
    beside : Path
        A folder with room for a copy of an embedded database.
    with_living : bool
        False leaves `living` empty, for a database that may not have that table yet.

    Raises
    ------
    InputError
        If there is no database yet.
    """
    if connection.vendor == "postgresql":
        return _of_postgres(into, LIVING if with_living else NONE)
    database = Path(str(settings.DATABASES["default"]["NAME"]))
    if not connection.introspection.table_names():
        raise InputError(f"there are no records in {database} yet, so nothing to back up")
    return _of_sqlite(into, database, beside, LIVING if with_living else NONE)


def is_living(digest: str) -> bool:
    """Tell whether the database, as it is now, still has a file with this SHA-256."""
    sql = "SELECT 1 FROM evidence_storedfile WHERE sha256 = %s AND erased_at IS NULL"
    with connection.cursor() as cursor:
        cursor.execute(sql, [digest])
        return cursor.fetchone() is not None


def _of_sqlite(into: Writing, database: Path, beside: Path, living: str) -> Snapshot:
    """Copy the embedded database."""
    with TemporaryDirectory(prefix=".turnwell-snapshot-", dir=beside) as folder:
        copy = Path(folder) / "copy.sqlite3"
        with closing(sqlite3.connect(database, timeout=20)) as source:
            source.execute("VACUUM INTO ?", [str(copy)])
        into.add(DATABASE, copy)
        with closing(sqlite3.connect(copy)) as snapshot:
            migrations = snapshot.execute(MIGRATIONS).fetchall()
            return Snapshot("sqlite", _by_app(migrations), _living(snapshot.execute(living)))


def _of_postgres(into: Writing, living: str) -> Snapshot:
    """Copy every table of a PostgreSQL database."""
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        columns = {
            table: [column.name for column in description]
            for table in sorted(connection.introspection.table_names(cursor))
            for description in [connection.introspection.get_table_description(cursor, table)]
        }
        for table, names in columns.items():
            listed = ", ".join(map(connection.ops.quote_name, names))
            copy = f"COPY {connection.ops.quote_name(table)} ({listed}) TO STDOUT"
            with into.adding(f"tables/{table}.copy") as writer, cursor.copy(copy) as rows:
                for chunk in rows:
                    writer.write(bytes(chunk))
        cursor.execute(MIGRATIONS)
        migrations = cursor.fetchall()
        cursor.execute(living)
        return Snapshot("postgresql", _by_app(migrations), _living(cursor.fetchall()), columns)


def _by_app(rows: Rows) -> dict[str, list[str]]:
    """Give applied migrations by app."""
    found: defaultdict[str, list[str]] = defaultdict(list)
    for app, name in rows:
        found[app].append(name)
    return dict(found)


def _living(rows: Any) -> tuple[str, ...]:
    """Give the SHA-256 of each row."""
    return tuple(row[0] for row in rows)
