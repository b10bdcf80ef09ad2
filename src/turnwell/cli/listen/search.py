"""Finds the recordings of a folder, in an order that does not hang on the disk."""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from turnwell.errors import InputError

__all__ = ["ENDINGS", "Found", "recordings_in"]

ENDINGS = tuple(
    f".{ending}"
    for ending in (
        *("wav", "wave", "w64", "rf64", "bwf", "aif", "aiff", "aifc", "caf", "au", "snd"),
        *("flac", "wv", "ape", "tta", "mp3", "aac", "m4a", "m4b", "ogg", "oga", "opus"),
        *("amr", "wma", "mka", "mp4", "m4v", "mov", "qt", "3gp", "3g2", "mj2", "mkv"),
        *("webm", "avi", "wmv", "asf", "ts", "mts", "m2ts", "mpg", "mpeg"),
    )
)


@dataclass(frozen=True, slots=True)
class Found:
    """What lies in a folder.

    Parameters
    ----------
    names : tuple of str
        Recordings by their path below the folder, ``/`` between its parts, sorted.
    skipped : int
        Files that are no recording by their ending, or hidden.
    unreadable : tuple of str
        Folders below it that could not be opened.
    """

    names: tuple[str, ...]
    skipped: int
    unreadable: tuple[str, ...]


def recordings_in(folder: Path, *, recursive: bool) -> Found:
    """Find the recordings of a folder by the endings of their names.

    Parameters
    ----------
    folder : Path
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
            if _is_recording(name):
                names.append(Path(at, name).relative_to(folder).as_posix())
            else:
                skipped += 1
    closed = [Path(str(error.filename)) for error in unreadable]
    if folder in closed:
        raise InputError(f"the folder {folder} cannot be opened; check who may read it")
    return Found(tuple(sorted(names)), skipped, tuple(sorted(_below(closed, folder))))


def _is_recording(name: str) -> bool:
    return not name.startswith(".") and Path(name).suffix.lower() in ENDINGS


def _below(paths: list[Path], folder: Path) -> Iterator[str]:
    return (path.relative_to(folder).as_posix() + "/" for path in paths)
