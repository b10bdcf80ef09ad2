"""Finds the files of a kind in a folder, in an order that does not hang on the disk."""

import os
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path

from turnwell.errors import InputError

__all__ = ["Found", "files_in"]


@dataclass(frozen=True, slots=True)
class Found:
    """What lies in a folder.

    Parameters
    ----------
    names : tuple of str
        Files of the kind by their path below the folder, ``/`` between its parts, sorted.
    skipped : int
        Files that are of no such kind by their ending, or hidden.
    unreadable : tuple of str
        Folders below it that could not be opened.
    """

    names: tuple[str, ...]
    skipped: int
    unreadable: tuple[str, ...]


def files_in(folder: Path, endings: Collection[str], *, recursive: bool) -> Found:
    """Find the files of a folder by the endings of their names.

    Parameters
    ----------
    folder : Path
    endings : collection of str
        Of the kind that is looked for, in small letters with their dot: ``".wav"``.
    recursive : bool
        True looks into the folders below it too; links to folders are not followed.

    Raises
    ------
    InputError
        If the folder cannot be opened.
    """
    names: list[str] = []
    skipped = 0
    unreadable: list[OSError] = []
    for at, below, files in os.walk(folder, onerror=unreadable.append):
        if not recursive:
            below.clear()
        below[:] = [name for name in below if not name.startswith(".")]
        for name in files:
            if not name.startswith(".") and Path(name).suffix.lower() in endings:
                names.append(Path(at, name).relative_to(folder).as_posix())
            else:
                skipped += 1
    closed = [Path(str(error.filename)) for error in unreadable]
    if folder in closed:
        raise InputError(f"the folder {folder} cannot be opened; check who may read it")
    return Found(tuple(sorted(names)), skipped, tuple(sorted(_below(closed, folder))))


def _below(paths: list[Path], folder: Path) -> Iterator[str]:
    return (path.relative_to(folder).as_posix() + "/" for path in paths)
