"""One file as one row of a table; each command adds what it has to say."""

from hashlib import file_digest
from pathlib import Path

import msgspec

from turnwell.measure import Reading

__all__ = ["Figure", "Row", "figure_of", "sha256_of"]


class Figure(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A reading as the table shows it; numbers are None when it cannot be told."""

    key: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    verdict: str


class Row(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What every table says of a file.

    Parameters
    ----------
    file : str
        As the table calls it: its path below the folder, with ``/`` between its parts.
    sha256 : str or None
        Of the file's bytes; None where they could not be read.
    answered : bool
        True where the file could answer what it is asked.
    readings : tuple of Figure
    error : str or None
        Why there is no answer at all, as a sentence.
    """

    file: str
    sha256: str | None = None
    answered: bool = False
    readings: tuple[Figure, ...] = ()
    error: str | None = None


def figure_of(reading: Reading) -> Figure:
    """Give a reading as the table shows it."""
    return Figure(
        reading.key,
        reading.value,
        reading.low,
        reading.high,
        reading.unit,
        reading.verdict.value,
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
