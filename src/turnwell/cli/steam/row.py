"""One record as one row of a table, made in a worker of its own."""

from pathlib import Path
from typing import TYPE_CHECKING

from turnwell.cli.folder.row import Row, figure_of, sha256_of
from turnwell.errors import CannotTellError, TurnwellError

if TYPE_CHECKING:
    from turnwell.cli.steam.given import Given
    from turnwell.steam import Review

__all__ = ["RecordRow", "read_row"]


class RecordRow(Row, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What the table says of one record; it has answered where its lethality could be told.

    Parameters
    ----------
    same_as : str or None
        The first file of the table with the same bytes, where this is a copy of it.
    started_at : str or None
        By the sterilizer's own clock, ISO 8601 without a zone.
    rows, duration_s, interval_s : numbers or None
        Of the record.
    ending : str or None
        How the run ended, as far as the record shows.
    faults : tuple of str
        Keys of what was recognised.
    choice : str or None
        What the record leaves open, and the option that says it.
    """

    same_as: str | None = None
    started_at: str | None = None
    rows: int | None = None
    duration_s: float | None = None
    interval_s: float | None = None
    ending: str | None = None
    faults: tuple[str, ...] = ()
    choice: str | None = None


def read_row(path: Path, name: str, given: "Given") -> RecordRow:
    """Read one record of many; a file that cannot be read is a row too.

    Parameters
    ----------
    path : Path
    name : str
        How the table calls it.
    given : Given
        What is known of every record of the table.
    """
    from turnwell.cli.steam.asks import choice_of
    from turnwell.cli.steam.reviewed import reviewed
    from turnwell.steam.reading import UnsureLayoutError

    try:
        return _row_of(reviewed(path, given), name)
    except UnsureLayoutError as error:
        return RecordRow(file=name, sha256=sha256_of(path), choice=choice_of(error.proposal))
    except CannotTellError as error:
        return RecordRow(file=name, sha256=sha256_of(path), choice=str(error))
    except TurnwellError as error:
        return RecordRow(file=name, sha256=sha256_of(path), error=str(error))


def _row_of(review: "Review", name: str) -> RecordRow:
    record = review.record
    return RecordRow(
        file=name,
        sha256=record.sha256,
        answered=review.answered,
        readings=tuple(map(figure_of, review.readings)),
        started_at=None if record.started_at is None else record.started_at.isoformat(),
        rows=int(record.time_s.size),
        duration_s=record.duration_s,
        interval_s=record.interval_s,
        ending=review.course.ending.value,
        faults=tuple(fault.key.value for fault in review.faults),
    )
