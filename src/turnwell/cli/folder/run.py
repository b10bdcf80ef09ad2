"""A run over many files: the known rows are recalled, the others made by workers, one table out."""

import os
import sys
import time
import traceback
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

import msgspec

from turnwell.cli.arguments import MOST_JOBS
from turnwell.cli.exits import ANSWERED, BAD_INPUT, CANNOT_ANSWER
from turnwell.cli.folder.journal import Journal
from turnwell.cli.folder.pool import Done, Work, done_by_workers
from turnwell.cli.folder.progress import Progress
from turnwell.cli.folder.row import Row, sha256_of
from turnwell.cli.folder.stop import Stop, stop_on_signals
from turnwell.cli.write import encodable, refuse_taken, write_whole

__all__ = ["Task", "put_through"]

RowT = TypeVar("RowT", bound=Row)
_CLOSED = "the folder cannot be opened"


@dataclass(frozen=True, slots=True)
class Task(Generic[RowT]):
    """What is to be made of many files.

    Parameters
    ----------
    works : tuple of Work
        The files; those with the same bytes are taken once.
    closed : tuple of str
        Folders that could not be opened; each has a row that says so.
    skipped : int
        Files that lay there besides.
    row_type : type
        Of the rows.
    make_row : callable
        Makes the row of a path and a name in a worker; can be pickled.
    setting : str
        From `setting_of`: what an answer hangs on besides the file.
    table : callable
        Writes rows as JSON where its second argument is True, else as CSV.
    summary : callable
        Says in a line what the rows came to.
    out : Path or None
        Where the table goes; to standard output, and without a journal, when None.
    as_json : bool
        Form of the table where `out` does not say it.
    jobs : int or None
        Files at a time; one for each core when None.
    force : bool
        True replaces a table that is not as this command left it.
    """

    works: tuple[Work, ...]
    closed: tuple[str, ...]
    skipped: int
    row_type: type[RowT]
    make_row: Callable[[Path, str], RowT]
    setting: str
    table: Callable[[Sequence[RowT], bool], str]
    summary: Callable[[Sequence[RowT]], str]
    out: Path | None
    as_json: bool
    jobs: int | None
    force: bool


def put_through(task: Task[RowT]) -> int:
    """Take every file, print or write the table, and give the exit code.

    Raises
    ------
    InputError
        If the table cannot be written.
    """
    journal = _journal(task)
    with stop_on_signals(sys.stderr) as stop:
        try:
            rows = _rows(task, journal, stop)
        except KeyboardInterrupt:
            _say("Stopped at once.", quiet=True)
            return stop.exit_code
    if stop.is_wanted:
        return _stopped(task, rows, stop)
    _put_table(task, rows, journal)
    _say(f"{task.summary(rows)}; other files skipped: {task.skipped}.", quiet=task.out is None)
    if any(row.answered for row in rows):
        return ANSWERED
    return BAD_INPUT if all(row.error for row in rows) else CANNOT_ANSWER


def _journal(task: Task[RowT]) -> Journal[RowT] | None:
    """Open the journal beside the table, after making sure that the table may be written."""
    if task.out is None:
        return None
    path = task.out.with_name(f"{task.out.name}.journal")
    journal = Journal(path, task.setting, task.row_type)
    is_ours = task.out.is_file() and journal.wrote(task.out.read_bytes())
    refuse_taken(task.out, force=task.force or is_ours)
    return journal


def _rows(task: Task[RowT], journal: Journal[RowT] | None, stop: Stop) -> list[RowT]:
    """Give the rows that are done, sorted by file."""
    progress = Progress(len(task.works), sys.stderr, time.monotonic)
    jobs = task.jobs or _cores()
    rows = {} if journal is None else _known(task.works, journal, jobs)
    if rows:
        progress.given(len(rows))
    left = [work for work in task.works if work.name not in rows]
    try:
        for row in _made(task, left, jobs, stop):
            rows[row.file] = row
            if journal is not None:
                journal.keep(row)
            progress.add()
    finally:
        progress.close()
    closed = [task.row_type(file=name, error=_CLOSED) for name in task.closed]
    return sorted([*rows.values(), *closed], key=lambda row: row.file)


def _known(works: Sequence[Work], journal: Journal[RowT], jobs: int) -> dict[str, RowT]:
    """Give the rows whose bytes were taken before, under whatever name."""
    if journal.is_empty:
        return {}
    digests = _digests(works, jobs)
    rows = [journal.row(digest, work.name) for digest, work in zip(digests, works, strict=True)]
    return {row.file: row for row in rows if row is not None}


def _digests(works: Sequence[Work], jobs: int) -> list[str | None]:
    with ThreadPoolExecutor(jobs) as threads:
        return list(threads.map(sha256_of, [work.path for work in works]))


def _made(task: Task[RowT], works: Sequence[Work], jobs: int, stop: Stop) -> Iterator[RowT]:
    """Make the rows of files; the same bytes are taken once, whatever they are called."""
    original = _originals(works, jobs)
    made: dict[str, RowT] = {}
    for row in _worked(task, [work for work in works if work.name not in original], jobs, stop):
        made[row.file] = row
        yield row
    again = []
    for work in works:
        row_of_original = made.get(original.get(work.name, ""))
        if row_of_original is not None and row_of_original.error is None:
            yield msgspec.structs.replace(row_of_original, file=work.name)
        elif work.name in original:
            again.append(work)  # what went wrong names the file, so that each has its own
    yield from _worked(task, again, jobs, stop)


def _worked(task: Task[RowT], works: Sequence[Work], jobs: int, stop: Stop) -> Iterator[RowT]:
    """Make rows in workers, as they come, until a stop is wanted."""
    outcomes = done_by_workers(works, task.make_row, jobs=jobs, is_stopped=lambda: stop.is_wanted)
    with closing(outcomes):
        yield from (_row(task.row_type, done) for done in outcomes)


def _originals(works: Sequence[Work], jobs: int) -> dict[str, str]:
    """Give for every file that is a copy of an earlier one the name of that; others are no key."""
    by_size: dict[int, list[Work]] = {}
    for work in works:
        with suppress(OSError):  # what cannot be reached is no copy; its row will say why
            by_size.setdefault(work.path.stat().st_size, []).append(work)
    alike = [work for same in by_size.values() if len(same) > 1 for work in same]
    first: dict[str, str] = {}
    original = {}
    for work, digest in zip(alike, _digests(alike, jobs), strict=True):
        if digest is not None and first.setdefault(digest, work.name) != work.name:
            original[work.name] = first[digest]
    return original


def _row(row_type: type[RowT], done: Done[RowT]) -> RowT:
    """Give the row of a file, also where its worker died or the program failed on it."""
    if done.row is not None:
        return done.row
    name, digest = done.work.name, sha256_of(done.work.path)
    if done.has_died:
        why = "the worker that had it was ended, perhaps for want of memory; try it alone"
        return row_type(file=name, sha256=digest, error=why)
    # A fault of the program takes one file, not the folder; its traceback is for whoever mends it.
    traceback.print_exception(done.error)
    return row_type(file=name, sha256=digest, error=f"the program failed on it: {done.error!r}")


def _put_table(task: Task[RowT], rows: Sequence[RowT], journal: Journal[RowT] | None) -> None:
    is_json = task.as_json if task.out is None else task.out.suffix.lower() == ".json"
    text = task.table(rows, is_json)
    if task.out is None or journal is None:
        print(encodable(text, sys.stdout.encoding), end="")
        return
    content = text.encode("utf-8", "backslashreplace")
    journal.keep_table(content)
    write_whole(task.out, content)
    print(encodable(f"Wrote {task.out}", sys.stdout.encoding))


def _stopped(task: Task[RowT], rows: Sequence[RowT], stop: Stop) -> int:
    """Keep what is done: in the journal it is already; without one it is printed."""
    if task.out is None:
        _put_table(task, rows, None)
        kept = "what is done is in the table; with --out it could be gone on with"
    else:
        kept = f"kept beside {task.out}; the same command goes on from there"
    _say(f"Stopped at {len(rows)} of {len(task.works)}: {kept}.", quiet=True)
    return stop.exit_code


def _say(text: str, *, quiet: bool) -> None:
    """Say something of the run: beside the table, not in it, where that is being printed."""
    stream = sys.stderr if quiet else sys.stdout
    print(encodable(text, stream.encoding), file=stream)


def _cores() -> int:
    """Give the cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return min(len(os.sched_getaffinity(0)), MOST_JOBS)
    return min(os.cpu_count() or 1, MOST_JOBS)
