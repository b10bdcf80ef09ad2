"""One record of a file, read and reviewed."""

from pathlib import Path

from turnwell.cli.steam.given import Given
from turnwell.errors import UnreadableFileError
from turnwell.steam import Review, analyse
from turnwell.steam.reading import read_record
from turnwell.steam.reading.grid import MAX_BYTES

__all__ = ["reviewed"]


def reviewed(path: Path, given: Given) -> Review:
    """Read a record and review it.

    Parameters
    ----------
    path : Path
    given : Given

    Raises
    ------
    UnreadableFileError
        If the file cannot be read or holds no record.
    CannotTellError
        If its columns, units or zero are open; the sentence names the choice and the option.
    """
    record = read_record(
        _content(path), path.name, layout=given.layout, atmosphere_kpa=given.atmosphere_kpa
    )
    return analyse(record, given.cycle, sensors=given.sensors, load=given.load, other=given.other)


def _content(path: Path) -> bytes:
    """Give a file's bytes, one more than the reader takes at most: it then says how many."""
    try:
        if path.exists() and not path.is_file():
            raise UnreadableFileError(f"{path} is no plain file; give the record itself")
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except OSError as error:
        raise UnreadableFileError(f"{path} cannot be read: {error.strerror or error}") from error
