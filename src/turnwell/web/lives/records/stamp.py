"""Tells cheaply and exactly whether anything that lives and returns hang on was written since.

Every write of a job or a handpiece counts its row's version up, and no version ever goes down: the
same number of rows, last key and sum of versions mean the same rows. Visits are entries and only
added to; offices are few and read whole.
"""

import hashlib
from dataclasses import dataclass
from os import stat

import numpy as np
from django.db import connection
from django.db.models import Count, F, Max, Model, Sum
from numpy.typing import NDArray

from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import Job
from turnwell.web.offices.models import Office
from turnwell.web.visits.models import Visit

__all__ = ["BLOCK_BITS", "Blocks", "Stamp", "blocks_of", "stamp_now"]

# Rows are read again in blocks of this many keys.
BLOCK_BITS = 10


@dataclass(frozen=True, slots=True)
class Stamp:
    """What the shop's rows are known by.

    Parameters
    ----------
    database : str
        Which database, and which file or table of it: one put back from a backup is another.
    jobs, handpieces : str
        Number of rows, last key, sum of versions.
    visits : str
        Number of entries, last key.
    offices : str
        Digest of what matters of them.
    """

    database: str
    jobs: str
    handpieces: str
    visits: str
    offices: str

    @property
    def job_versions(self) -> int:
        """Sum of the versions of all jobs: grows by one with every write of a job."""
        last = self.jobs.rpartition(" ")[2]
        return int(last) if last.isdigit() else 0

    @property
    def text(self) -> str:
        """The stamp in one word, to keep an answer by."""
        whole = "|".join((self.database, self.jobs, self.handpieces, self.visits, self.offices))
        return hashlib.sha256(whole.encode()).hexdigest()[:24]


@dataclass(frozen=True, slots=True, eq=False)
class Blocks:
    """For each block of keys that has rows: how many, and the sum of their versions."""

    block: NDArray[np.int64]
    rows: NDArray[np.int64]
    versions: NDArray[np.int64]

    def changed_from(self, older: "Blocks") -> NDArray[np.int64]:
        """Give the blocks whose rows differ from those of an older state."""
        mine = np.stack([self.block, self.rows, self.versions], axis=1)
        theirs = np.stack([older.block, older.rows, older.versions], axis=1)
        same = {tuple(row) for row in mine.tolist()} & {tuple(row) for row in theirs.tolist()}
        unlike = {row[0] for row in same} ^ {*self.block.tolist(), *older.block.tolist()}
        return np.array(sorted(unlike), dtype=np.int64)


def stamp_now() -> Stamp:
    """Give the stamp of the rows as they are; four queries, five on PostgreSQL."""
    told = ("pk", "name", "time_zone", "is_active")
    offices = list(Office.objects.order_by("pk").values_list(*told))
    return Stamp(
        database=_database(),
        jobs=_versions(Job),
        handpieces=_versions(Handpiece),
        visits="{rows} {last}".format(**Visit.objects.aggregate(rows=Count("pk"), last=Max("pk"))),
        offices=hashlib.sha256(repr(offices).encode()).hexdigest()[:24],
    )


def blocks_of(model: type[Model]) -> Blocks:
    """Give the blocks of keys of a table, with what tells a changed one; one query."""
    rows = (
        model._default_manager.annotate(block=F("pk").bitrightshift(BLOCK_BITS))
        .order_by("block")
        .values_list("block")
        .annotate(Count("pk"), Sum("version"))
    )
    table = np.array(list(rows), dtype=np.int64).reshape(-1, 3)
    return Blocks(table[:, 0], table[:, 1], table[:, 2])


def _versions(model: type[Model]) -> str:
    found = model._default_manager.aggregate(
        rows=Count("pk"), last=Max("pk"), versions=Sum("version")
    )
    return "{rows} {last} {versions}".format(**found)


def _database() -> str:
    """Name the database and the file, or on PostgreSQL the table's file, that holds it."""
    settings = connection.settings_dict
    name = f"{connection.vendor} {settings['HOST']} {settings['PORT']} {settings['NAME']}"
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_relation_filenode(%s)", [Job._meta.db_table])
            return f"{name} {cursor.fetchone()[0]}"
    file = stat(settings["NAME"])
    return f"{name} {file.st_dev} {file.st_ino}"
