"""Makes the data folder ready to serve: database, static files, chart program.

Everything here may be done again at every start and takes no time when nothing changed. The caller
holds the folder, so that no other server is at work in it.
"""

import hashlib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from turnwell import __version__
from turnwell.errors import InputError
from turnwell.pictures import bundle
from turnwell.web.evidence import storage
from turnwell.web.running.backup import write_backup

__all__ = ["Prepared", "pending_migrations", "prepare"]


@dataclass(frozen=True, slots=True)
class Prepared:
    """What was done to the data folder.

    Parameters
    ----------
    backup : Path or None
        Backup of the database that was made before it was changed.
    migrations : tuple of str
        What was applied.
    """

    backup: Path | None
    migrations: tuple[str, ...]


def prepare(now: datetime) -> Prepared:
    """Bring database and static files to this version; a database with records is backed up first.

    Raises
    ------
    InputError
        If the database is of a newer version, or cannot be reached.
    """
    home = Path(settings.HOME)
    pending = pending_migrations()
    backup = None
    if pending and connection.introspection.table_names():
        backup = home / "backups" / f"before-{__version__}-{now:%Y%m%dT%H%M%SZ}.zip"
        backup.parent.mkdir(exist_ok=True, mode=0o700)
        write_backup(backup, now=now, with_evidence=False)
    if pending:
        call_command("migrate", verbosity=0, interactive=False)
    for part in storage.left_over_parts():
        part.unlink()  # of a server that was killed during an upload; the sender was told nothing
    # Models are there once Django is set up.
    from turnwell.web.evidence.actions import finish_erasures

    finish_erasures()
    bundle.write(Path(settings.CHART_PROGRAM))
    _collect_static(home)
    return Prepared(backup, pending)


def pending_migrations() -> tuple[str, ...]:
    """Give the migrations that the database still lacks.

    Raises
    ------
    InputError
        If it has one that this version does not know.
    """
    executor = MigrationExecutor(connection)
    ours = {app for app, _ in executor.loader.disk_migrations}
    unknown = sorted(
        f"{app}.{name}"
        for app, name in executor.loader.applied_migrations
        if app in ours and (app, name) not in executor.loader.disk_migrations
    )
    if unknown:
        raise InputError(
            f"the database was used by a newer turnwell ({unknown[0]} is not known to this one, "
            f"{__version__}); start the newer one, or restore the backup made before it"
        )
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return tuple(f"{migration.app_label}.{migration.name}" for migration, _ in plan)


def _collect_static(home: Path) -> None:
    """Collect static files when any of them changed since the last time."""
    stamp = home / "static" / ".collected"
    found = hashlib.sha256(__version__.encode())
    for finder in get_finders():
        for name, kept in sorted(finder.list([]), key=lambda item: str(item[0])):
            state = Path(kept.path(name)).stat()
            found.update(f"{name} {state.st_size} {state.st_mtime_ns}\n".encode())
    if stamp.is_file() and stamp.read_text(encoding="ascii") == found.hexdigest():
        return
    stamp.unlink(missing_ok=True)
    call_command("collectstatic", verbosity=0, interactive=False, clear=True)
    stamp.write_text(found.hexdigest(), encoding="ascii")
