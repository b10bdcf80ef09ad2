"""``turnwell steam`` on several records or folders: all of them on all cores, one table out."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from turnwell.cli.folder.journal import setting_of
from turnwell.cli.folder.pool import Work
from turnwell.cli.folder.run import Task, put_through
from turnwell.cli.folder.search import files_in
from turnwell.cli.steam.given import Given
from turnwell.cli.steam.row import RecordRow, read_row
from turnwell.cli.steam.table import records_csv, records_json, with_copies
from turnwell.errors import InputError
from turnwell.steam.version import STEAM_VERSION

__all__ = ["ENDINGS", "Asked", "read_many"]

ENDINGS = (".csv", ".txt", ".tsv", ".tab", ".dat", ".log", ".prn", ".asc", ".xlsx", ".xlsm", ".ods")
# Raised whenever the rows of the table hold something else than before.
_ROW_FORM = "1"
_CUT_SHORT = frozenset({"drying_shortened", "drying_aborted"})


@dataclass(frozen=True, slots=True)
class Asked:
    """What is wanted of several records.

    Parameters
    ----------
    paths : tuple of Path
        Files and folders.
    given : Given
        What is known of all of them.
    out : Path or None
        Where the table goes; to standard output, and without a journal, when None.
    as_json : bool
        Form of the table.
    recursive : bool
        True looks into the folders below a folder too.
    jobs : int or None
        Records at a time; one for each core when None.
    force : bool
        True replaces a table that is not as this command left it.
    """

    paths: tuple[Path, ...]
    given: Given
    out: Path | None
    as_json: bool
    recursive: bool
    jobs: int | None
    force: bool


@dataclass(frozen=True, slots=True)
class _Places:
    """The records that were given or found, and what lay beside them."""

    works: tuple[Work, ...]
    closed: tuple[str, ...]
    skipped: int


def read_many(asked: Asked) -> int:
    """Read all records, print or write their table, and give the exit code.

    Raises
    ------
    InputError
        If there is no record, or the table cannot be written.
    """
    places = _places(asked)
    if not places.works:
        where = ", ".join(map(str, asked.paths))
        raise InputError(
            f"no record in {where}, other files skipped: {places.skipped}; is it the right "
            "folder, or do they lie in folders below it (--recursive)?"
        )

    def table(rows: Sequence[RecordRow], is_json: bool) -> str:
        return records_json(rows, skipped=places.skipped) if is_json else records_csv(rows)

    return put_through(
        Task(
            works=places.works,
            closed=places.closed,
            skipped=places.skipped,
            row_type=RecordRow,
            make_row=partial(read_row, given=asked.given),
            setting=setting_of(_ROW_FORM, STEAM_VERSION, asked.given.as_dict()),
            table=table,
            summary=_summary,
            out=asked.out,
            as_json=asked.as_json,
            jobs=asked.jobs,
            force=asked.force,
        )
    )


def _places(asked: Asked) -> _Places:
    """Find the records; those of a single folder are called by their path below it."""
    works: dict[str, Work] = {}
    closed: list[str] = []
    skipped = 0
    for path in asked.paths:
        if not path.is_dir():
            works.setdefault(path.as_posix(), Work(path, path.as_posix()))
            continue
        found = files_in(path, ENDINGS, recursive=asked.recursive)
        before = "" if len(asked.paths) == 1 else f"{path.as_posix()}/"
        for name in found.names:
            works.setdefault(before + name, Work(path / name, before + name))
        closed += [before + name for name in found.unreadable]
        skipped += found.skipped
    return _Places(tuple(works.values()), tuple(closed), skipped)


def _summary(rows: Sequence[RecordRow]) -> str:
    marked = with_copies(rows)
    answered = sum(row.answered for row in rows)
    unread = sum(row.error is not None for row in rows)
    left_open = sum(row.choice is not None for row in rows)
    copies = sum(row.same_as is not None for row in marked)
    short = sum(bool(_CUT_SHORT & set(row.faults)) for row in marked if row.same_as is None)
    return (
        f"{len(rows)} records: {answered} with a plateau, "
        f"{len(rows) - answered - unread - left_open} without, {left_open} left open, "
        f"{unread} not read, {copies} the same as another; drying cut short in {short}"
    )
