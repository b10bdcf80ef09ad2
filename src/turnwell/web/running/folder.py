"""The data folder: made at first use, closed to other users, served by one server at a time."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from turnwell.errors import InputError

__all__ = ["hold", "prepare_folder"]

LOCK_NAME = "in-use.lock"

if sys.platform == "win32":
    import msvcrt

    def _take(file: IO[str]) -> None:
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _take(file: IO[str]) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)


def prepare_folder(home: Path) -> bool:
    """Make the data folder, or close it to others; tell whether it is new.

    Raises
    ------
    InputError
        If something else has that name, or the folder cannot be written.
    """
    is_new = not home.exists()
    try:
        home.mkdir(parents=True, exist_ok=True, mode=0o700)
        if home.stat().st_mode & 0o077:
            home.chmod(0o700)
        if not os.access(home, os.W_OK | os.X_OK):
            raise PermissionError(13, "it is not writable")
    except OSError as error:
        raise InputError(
            f"the data folder {home} cannot be used ({error.strerror}); "
            "set TURNWELL_HOME to a folder of yours"
        ) from error
    return is_new


@contextmanager
def hold(home: Path) -> Iterator[None]:
    """Hold the data folder for one server, or for one restore; freed when the process ends.

    Raises
    ------
    InputError
        If another process holds it.
    """
    with (home / LOCK_NAME).open("a", encoding="ascii") as file:
        try:
            _take(file)
        except OSError as error:
            raise InputError(
                f"the data folder {home} is in use by another turnwell; stop that one first"
            ) from error
        yield
