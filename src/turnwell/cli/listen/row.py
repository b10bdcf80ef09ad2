"""One recording as one row of a folder's table, made in a worker of its own."""

from pathlib import Path
from typing import TYPE_CHECKING

from turnwell.cli.folder.row import Row, figure_of, sha256_of
from turnwell.errors import TurnwellError

if TYPE_CHECKING:
    from turnwell.cli.listen.heard import Calibrated
    from turnwell.sound import Expectation, Listening

__all__ = ["RecordingRow", "listened_row"]


class RecordingRow(Row, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What the table says of one recording; it has answered where a speed could be told.

    Parameters
    ----------
    duration_s, rate_hz : float or None
        Of the recording.
    gate : tuple of str
        Keys of what is wrong with it.
    """

    duration_s: float | None = None
    rate_hz: float | None = None
    gate: tuple[str, ...] = ()


def listened_row(
    path: Path, name: str, expectation: "Expectation", calibrated: "Calibrated | None" = None
) -> RecordingRow:
    """Listen to one file of a folder; a file that cannot be read is a row too.

    Parameters
    ----------
    path : Path
    name : str
        How the table calls it.
    expectation : Expectation
        What is known of every handpiece of the folder.
    calibrated : Calibrated or None
        For the level.
    """
    from turnwell.cli.listen.heard import heard_in

    try:
        return row_of(heard_in(path, expectation, calibrated), name)
    except TurnwellError as error:
        return RecordingRow(file=name, sha256=sha256_of(path), error=str(error))


def row_of(listening: "Listening", name: str) -> RecordingRow:
    """Give the row of what was heard."""
    return RecordingRow(
        file=name,
        sha256=listening.recording.sha256,
        duration_s=listening.recording.duration_s,
        rate_hz=listening.recording.rate_hz,
        answered=listening.answered,
        readings=tuple(map(figure_of, listening.readings)),
        gate=tuple(finding.key for finding in listening.gate),
    )
