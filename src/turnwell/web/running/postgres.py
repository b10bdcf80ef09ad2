"""Puts the tables of a backup into a PostgreSQL database, within one transaction."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.contrib.contenttypes.models import ContentType
from django.db import connection, transaction
from django.db.backends.utils import CursorWrapper
from django.db.migrations.executor import MigrationExecutor

from turnwell.web.running.archive import CHUNK_BYTES, Manifest

__all__ = ["replaced_tables"]

MIGRATIONS_TABLE = "django_migrations"
IDENTITIES = (
    "SELECT table_name, column_name FROM information_schema.columns"
    " WHERE table_schema = current_schema() AND is_identity = 'YES'"
)


@contextmanager
def replaced_tables(manifest: Manifest, unpacked: Path) -> Iterator[None]:
    """Drop our tables, make them as the backup's version had them, and fill them.

    Committed when the block ends; anything that fails leaves the database as it was.
    """
    quote = connection.ops.quote_name
    with transaction.atomic(durable=True):
        with connection.cursor() as cursor:
            for table in _ours(cursor, manifest):
                cursor.execute(f"DROP TABLE {quote(table)} CASCADE")
        executor = MigrationExecutor(connection)
        executor.migrate(_leaves(executor, manifest))
        with connection.cursor() as cursor:
            _fill(cursor, manifest, unpacked)
            _set_identities(cursor, manifest)
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        yield
    ContentType.objects.clear_cache()


def _ours(cursor: CursorWrapper, manifest: Manifest) -> list[str]:
    """Give the tables there are that this program, or the one of the backup, made."""
    there = set(connection.introspection.table_names(cursor))
    ours = connection.introspection.django_table_names(only_existing=True)
    return sorted(there & {*ours, MIGRATIONS_TABLE, *manifest.columns})


def _leaves(executor: MigrationExecutor, manifest: Manifest) -> list[tuple[str, str]]:
    """Give the last migrations of each app that the backup had."""
    graph = executor.loader.graph
    applied = {(app, name) for app, names in manifest.migrations.items() for name in names}
    there = [node for node in applied if node in graph.nodes]
    return [
        node
        for node in sorted(there)
        if not any(child.key in applied for child in graph.node_map[node].children)
    ]


def _fill(cursor: CursorWrapper, manifest: Manifest, unpacked: Path) -> None:
    """Copy the rows of each table; rows that a migration made itself are in the backup too."""
    quote = connection.ops.quote_name
    tables = sorted(set(manifest.columns) - {MIGRATIONS_TABLE})
    cursor.execute(f"TRUNCATE {', '.join(map(quote, tables))} CASCADE")
    for table in tables:
        columns = ", ".join(map(quote, manifest.columns[table]))
        into = f"COPY {quote(table)} ({columns}) FROM STDIN"
        with (unpacked / "tables" / f"{table}.copy").open("rb") as rows, cursor.copy(into) as copy:
            while chunk := rows.read(CHUNK_BYTES):
                copy.write(chunk)


def _set_identities(cursor: CursorWrapper, manifest: Manifest) -> None:
    """Let new rows be numbered after the last one of each table."""
    quote = connection.ops.quote_name
    cursor.execute(IDENTITIES)
    for table, column in cursor.fetchall():
        if table in manifest.columns and table != MIGRATIONS_TABLE:
            last = f"SELECT MAX({quote(column)}) FROM {quote(table)}"  # noqa: S608  # quoted names
            cursor.execute(last)
            if (number := cursor.fetchone()[0]) is not None:
                sequence = "SELECT setval(pg_get_serial_sequence(%s, %s), %s)"
                cursor.execute(sequence, [quote(table), column, number])
