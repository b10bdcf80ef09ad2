"""Keeps the shop's rows in one file of plain arrays, so that a new process need not read them all.

The file is a copy and holds nothing that the database does not: a damaged or foreign one is left
aside and written anew. Nothing in it is ever run.
"""

import json
import logging
import os
from dataclasses import asdict, fields
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any, TypeVar
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from turnwell.web.lives.records.snapshot import Snapshot
from turnwell.web.lives.records.stamp import Blocks, Stamp
from turnwell.web.lives.records.tables import Handpieces, Jobs, Offices, Table, Visits, Words

__all__ = ["read_file", "write_file"]

FORM = "turnwell lives 1"
TABLES = ("jobs", "handpieces", "offices", "visits", "job_blocks", "handpiece_blocks")
TableT = TypeVar("TableT", bound=Table | Blocks)

_log = logging.getLogger(__name__)


def write_file(path: Path, snapshot: Snapshot) -> None:
    """Write a snapshot, whole or not at all."""
    head = {"form": FORM, "stamp": asdict(snapshot.stamp), "words": asdict(snapshot.words)}
    arrays: dict[str, NDArray[Any]] = {
        "head": np.frombuffer(json.dumps(head).encode(), dtype=np.uint8)
    }
    for name in TABLES:
        table = getattr(snapshot, name)
        for column in fields(table):
            arrays[f"{name}.{column.name}"] = getattr(table, column.name)
    path.parent.mkdir(parents=True, exist_ok=True)
    with NamedTemporaryFile(dir=path.parent, suffix=".new", delete=False) as file:
        try:
            np.savez(file, **arrays)  # type: ignore[arg-type]  # arrays by name
            file.close()
            os.replace(file.name, path)
        except BaseException:
            file.close()
            Path(file.name).unlink(missing_ok=True)
            raise


def read_file(path: Path) -> Snapshot | None:
    """Read a snapshot; None where there is no file, or it is damaged or of another form."""
    if not path.is_file():
        return None
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as arrays:
            head = json.loads(arrays["head"].tobytes())
            if head["form"] != FORM:
                return None
            return Snapshot(
                stamp=Stamp(**head["stamp"]),
                words=Words(**head["words"]),
                jobs=_table(Jobs, "jobs", arrays),
                handpieces=_table(Handpieces, "handpieces", arrays),
                offices=_table(Offices, "offices", arrays),
                visits=_table(Visits, "visits", arrays),
                job_blocks=_table(Blocks, "job_blocks", arrays),
                handpiece_blocks=_table(Blocks, "handpiece_blocks", arrays),
            )
    except (BadZipFile, EOFError, KeyError, OSError, TypeError, ValueError) as error:
        _log.warning("The kept records in %s cannot be read (%s); they are made anew.", path, error)
        return None


def _table(kind: type[TableT], name: str, arrays: Any) -> TableT:
    columns = [arrays[f"{name}.{column.name}"] for column in fields(kind)]
    if len({column.shape for column in columns}) > 1:
        raise ValueError(f"columns of {name} differ in length")
    return kind(*columns)
