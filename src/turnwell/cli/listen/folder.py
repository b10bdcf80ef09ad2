"""``turnwell listen FOLDER``: every recording of a folder on all cores, one table out."""

import os
import sys
import time
import traceback
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from turnwell.cli.exits import ANSWERED, BAD_INPUT, CANNOT_ANSWER
from turnwell.cli.listen.heard import Calibrated, calibrator_recording
from turnwell.cli.listen.journal import Journal, setting_of
from turnwell.cli.listen.options import MOST_JOBS
from turnwell.cli.listen.pool import Done, Work, done_by_workers
from turnwell.cli.listen.progress import Progress
from turnwell.cli.listen.row import Row, listened_row, sha256_of
from turnwell.cli.listen.search import Found, recordings_in
from turnwell.cli.listen.stop import Stop, stop_on_signals
from turnwell.cli.listen.table import folder_csv, folder_json
from turnwell.cli.listen.write import encodable, refuse_taken, write_whole
from turnwell.errors import InputError
from turnwell.sound import Expectation

__all__ = ["Asked", "listen_to_folder"]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is wanted of a folder.

    Parameters
    ----------
    folder : Path
    expectation : Expectation
        What is known of every handpiece in it.
    calibrated : Calibrated or None
        For the level of each.
    out : Path or None
        Where the table goes; to standard output, and without a journal, when None.
    as_json : bool
        Form of the table.
    recursive : bool
        True looks into the folders below it too.
    jobs : int or None
        Recordings at a time; one for each core when None.
    force : bool
        True replaces a table that is not as this command left it.
    """

    folder: Path
    expectation: Expectation
    calibrated: Calibrated | None
    out: Path | None
    as_json: bool
    recursive: bool
    jobs: int | None
    force: bool


def listen_to_folder(asked: Asked) -> int:
    """Listen to a folder, print or write its table, and give the exit code.

    Raises
    ------
    InputError
        If the folder holds no recording, or the table cannot be written.
    """
    found = recordings_in(asked.folder, recursive=asked.recursive)
    if not found.names:
        raise InputError(
            f"no recording in {asked.folder}, other files skipped: {found.skipped}; "
            "is it the right folder, or do they lie in folders below it (--recursive)?"
        )
    if asked.calibrated is not None:
        calibrator_recording(asked.calibrated.path)  # refused once, not in every row
    journal = _journal(asked)
    with stop_on_signals(sys.stderr) as stop:
        try:
            rows = _rows(asked, found, journal, stop)
        except KeyboardInterrupt:
            _say("Stopped at once.", quiet=True)
            return stop.exit_code
    if stop.is_wanted:
        return _stopped(asked, found, rows, stop)
    _put_table(asked, found, rows, journal)
    _say(f"{_summary(rows)}; other files skipped: {found.skipped}.", quiet=asked.out is None)
    if any(row.answered for row in rows):
        return ANSWERED
    return BAD_INPUT if all(row.error for row in rows) else CANNOT_ANSWER


def _journal(asked: Asked) -> Journal | None:
    """Open the journal beside the table, after making sure that the table may be written."""
    if asked.out is None:
        return None
    journal = Journal(
        asked.out.with_name(f"{asked.out.name}.journal"),
        setting_of(asked.expectation, asked.calibrated),
    )
    is_ours = asked.out.is_file() and journal.wrote(asked.out.read_bytes())
    refuse_taken(asked.out, force=asked.force or is_ours)
    return journal


def _rows(asked: Asked, found: Found, journal: Journal | None, stop: Stop) -> list[Row]:
    """Give the rows that are done, sorted by file."""
    progress = Progress(len(found.names), sys.stderr, time.monotonic)
    works = [Work(asked.folder / name, name) for name in found.names]
    jobs = asked.jobs or _cores()
    rows = {} if journal is None else _known(works, journal, jobs)
    if rows:
        progress.given(len(rows))
    left = [work for work in works if work.name not in rows]
    listen = partial(listened_row, expectation=asked.expectation, calibrated=asked.calibrated)
    done_works = done_by_workers(left, listen, jobs=jobs, is_stopped=lambda: stop.is_wanted)
    try:
        with closing(done_works):
            for done in done_works:
                row = rows[done.work.name] = _row(done)
                if journal is not None:
                    journal.keep(row)
                progress.add()
    finally:
        progress.close()
    closed = [Row(file=name, error="the folder cannot be opened") for name in found.unreadable]
    return sorted([*rows.values(), *closed], key=lambda row: row.file)


def _known(works: Sequence[Work], journal: Journal, jobs: int) -> dict[str, Row]:
    """Give the rows whose bytes were listened to before, under whatever name."""
    if journal.is_empty:
        return {}
    with ThreadPoolExecutor(jobs) as threads:
        digests = threads.map(sha256_of, [work.path for work in works])
        rows = [journal.row(digest, work.name) for digest, work in zip(digests, works, strict=True)]
    return {row.file: row for row in rows if row is not None}


def _row(done: Done) -> Row:
    """Give the row of a file, also where its worker died or the program failed on it."""
    if done.row is not None:
        return done.row
    name, digest = done.work.name, sha256_of(done.work.path)
    if done.has_died:
        why = "the worker that listened to it was ended, perhaps for want of memory; try it alone"
        return Row(file=name, sha256=digest, error=why)
    # A fault of the program takes one file, not the folder; its traceback is for whoever mends it.
    traceback.print_exception(done.error)
    return Row(file=name, sha256=digest, error=f"the program failed on it: {done.error!r}")


def _put_table(asked: Asked, found: Found, rows: Sequence[Row], journal: Journal | None) -> None:
    is_json = asked.as_json if asked.out is None else asked.out.suffix.lower() == ".json"
    text = folder_json(rows, skipped=found.skipped) if is_json else folder_csv(rows)
    if asked.out is None or journal is None:
        print(encodable(text, sys.stdout.encoding), end="")
        return
    content = text.encode("utf-8", "backslashreplace")
    journal.keep_table(content)
    write_whole(asked.out, content)
    print(encodable(f"Wrote {asked.out}", sys.stdout.encoding))


def _stopped(asked: Asked, found: Found, rows: Sequence[Row], stop: Stop) -> int:
    """Keep what is done: in the journal it is already; without one it is printed."""
    if asked.out is None:
        _put_table(asked, found, rows, None)
        kept = "what is done is in the table; with --out it could be gone on with"
    else:
        kept = f"kept beside {asked.out}; the same command goes on from there"
    _say(f"Stopped at {len(rows)} of {len(found.names)}: {kept}.", quiet=True)
    return stop.exit_code


def _summary(rows: Sequence[Row]) -> str:
    answered = sum(row.answered for row in rows)
    unread = sum(row.error is not None for row in rows)
    return (
        f"{len(rows)} recordings: {answered} with a speed, "
        f"{len(rows) - answered - unread} without, {unread} not read"
    )


def _say(text: str, *, quiet: bool) -> None:
    """Say something of the run: beside the table, not in it, where that is being printed."""
    stream = sys.stderr if quiet else sys.stdout
    print(encodable(text, stream.encoding), file=stream)


def _cores() -> int:
    """Give the cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return min(len(os.sched_getaffinity(0)), MOST_JOBS)
    return min(os.cpu_count() or 1, MOST_JOBS)
