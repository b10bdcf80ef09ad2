"""``turnwell listen FOLDER``: every recording of a folder on all cores, one table out."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from typing import Any

from turnwell.cli.folder.journal import setting_of
from turnwell.cli.folder.pool import Work
from turnwell.cli.folder.run import Task, put_through
from turnwell.cli.folder.search import files_in
from turnwell.cli.listen.endings import ENDINGS
from turnwell.cli.listen.heard import Calibrated, calibrator_recording
from turnwell.cli.listen.row import RecordingRow, listened_row
from turnwell.cli.listen.table import folder_csv, folder_json
from turnwell.errors import InputError
from turnwell.sound import SOUND_VERSION, Expectation

__all__ = ["Asked", "listen_to_folder", "listening_setting"]

# Raised whenever the rows of the table hold something else than before.
_ROW_FORM = "1"


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
    found = files_in(asked.folder, ENDINGS, recursive=asked.recursive)
    if not found.names:
        raise InputError(
            f"no recording in {asked.folder}, other files skipped: {found.skipped}; "
            "is it the right folder, or do they lie in folders below it (--recursive)?"
        )

    def table(rows: Sequence[RecordingRow], is_json: bool) -> str:
        return folder_json(rows, skipped=found.skipped) if is_json else folder_csv(rows)

    return put_through(
        Task(
            works=tuple(Work(asked.folder / name, name) for name in found.names),
            closed=found.unreadable,
            skipped=found.skipped,
            row_type=RecordingRow,
            make_row=partial(
                listened_row, expectation=asked.expectation, calibrated=asked.calibrated
            ),
            # A calibrator's recording that cannot be read is refused here, not in every row.
            setting=listening_setting(asked.expectation, asked.calibrated),
            table=table,
            summary=_summary,
            out=asked.out,
            as_json=asked.as_json,
            jobs=asked.jobs,
            force=asked.force,
        )
    )


def listening_setting(expectation: Expectation, calibrated: Calibrated | None = None) -> str:
    """Name everything an answer hangs on besides the recording: options, method, form of the rows.

    Examples
    --------
    >>> listening_setting(Expectation()) == listening_setting(Expectation(label_pressure_kpa=240.0))
    False
    """
    known: dict[str, Any] = asdict(expectation)
    if calibrated is not None:
        bytes_sha256 = calibrator_recording(calibrated.path).sha256
        known["calibrated"] = [bytes_sha256, calibrated.level_db, calibrated.hours]
    return setting_of(_ROW_FORM, SOUND_VERSION, known)


def _summary(rows: Sequence[RecordingRow]) -> str:
    answered = sum(row.answered for row in rows)
    unread = sum(row.error is not None for row in rows)
    return (
        f"{len(rows)} recordings: {answered} with a speed, "
        f"{len(rows) - answered - unread} without, {unread} not read"
    )
