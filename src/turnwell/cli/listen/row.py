"""One recording as one row of a folder's table, made in a worker of its own."""

from hashlib import file_digest
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from turnwell.errors import TurnwellError

if TYPE_CHECKING:
    from turnwell.cli.listen.heard import Calibrated
    from turnwell.sound import Expectation, Listening

__all__ = ["Figure", "Row", "listened_row", "sha256_of"]


class Figure(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A reading as the table shows it; numbers are None when it cannot be told."""

    key: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    verdict: str


class Row(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What the table says of one file.

    Parameters
    ----------
    file : str
        Path below the folder, with ``/`` between its parts.
    sha256 : str or None
        Of the file's bytes; None where they could not be read.
    duration_s, rate_hz : float or None
        Of the recording.
    answered : bool
        True where a speed could be told.
    readings : tuple of Figure
    gate : tuple of str
        Keys of what is wrong with the recording.
    error : str or None
        Why there is no answer at all, as a sentence.
    """

    file: str
    sha256: str | None = None
    duration_s: float | None = None
    rate_hz: float | None = None
    answered: bool = False
    readings: tuple[Figure, ...] = ()
    gate: tuple[str, ...] = ()
    error: str | None = None


def listened_row(
    path: Path, name: str, expectation: "Expectation", calibrated: "Calibrated | None" = None
) -> Row:
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
        return Row(file=name, sha256=sha256_of(path), error=str(error))


def row_of(listening: "Listening", name: str) -> Row:
    """Give the row of what was heard."""
    return Row(
        file=name,
        sha256=listening.recording.sha256,
        duration_s=listening.recording.duration_s,
        rate_hz=listening.recording.rate_hz,
        answered=listening.answered,
        readings=tuple(
            Figure(r.key, r.value, r.low, r.high, r.unit, r.verdict.value)
            for r in listening.readings
        ),
        gate=tuple(finding.key for finding in listening.gate),
    )


def sha256_of(path: Path) -> str | None:
    """Give the SHA-256 of a file's bytes; None where they cannot be read."""
    try:
        if not path.is_file():
            return None
        with path.open("rb") as file:
            return file_digest(file, "sha256").hexdigest()
    except OSError:
        return None
