"""Copies that may be handed out: photos upright and recordings as plain sound, without place data.

A copy is made when it is first asked for and kept beside the evidence; it can be thrown away and
made again. Papers and instructions are handed out as they are.
"""

import os
from dataclasses import dataclass
from pathlib import Path
from tempfile import mkstemp

from turnwell.web.evidence import bounded, storage
from turnwell.web.evidence.kinds import quoted
from turnwell.web.evidence.models import StoredFile
from turnwell.web.evidence.queries import open_file

__all__ = ["HandedOut", "handed_out"]

COPYING_S = 60.0
PAGE_PX = 2_400
SMALL_PX = 640


@dataclass(frozen=True, slots=True)
class HandedOut:
    """What goes out for a stored file.

    Parameters
    ----------
    path : Path
        Bytes to send.
    media_type : str
        Of those bytes.
    name : str
        What to call them where they are saved.
    """

    path: Path
    media_type: str
    name: str


def handed_out(file: StoredFile, *, is_small: bool = False) -> HandedOut:
    """Give what may go out for a file.

    Parameters
    ----------
    file : StoredFile
        With its bytes.
    is_small : bool
        Of a photo, the small one for a list.

    Raises
    ------
    InputError
        If its bytes were erased, are missing, or can no longer be read.
    CannotKeepError
        If the disk has no room for the copy.
    """
    # A phone may name a recording for the place where it was made: the name stays behind too.
    name = f"{file.kind}-{file.pk}"
    if file.kind == StoredFile.Kind.PHOTO:
        pixels = SMALL_PX if is_small else PAGE_PX
        path = _copy(file, f"{pixels}.jpg", "photo_copy", longest_px=pixels)
        return HandedOut(path, "image/jpeg", f"{name}.jpg")
    if file.kind == StoredFile.Kind.RECORDING:
        path = _copy(file, "sound.wav", "recording_copy")
        return HandedOut(path, "audio/wav", f"{name}.wav")
    open_file(file).close()
    path = storage.path_of(file.sha256)
    return HandedOut(path, file.media_type, file.original_name or f"{name}.pdf")


def _copy(file: StoredFile, variant: str, task: str, **options: int) -> Path:
    """Give the path of a copy, made now if it is not there."""
    open_file(file).close()
    path = storage.copy_path(file.sha256, variant)
    if path.is_file():
        return path
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        descriptor, part_name = mkstemp(dir=path.parent, suffix=".part")
        os.close(descriptor)
    except OSError as error:
        raise storage.cannot_keep(error, quoted(file.original_name)) from error
    part = Path(part_name)
    try:
        bounded.run(
            task,
            seconds=COPYING_S,
            path=str(storage.path_of(file.sha256)),
            name=quoted(file.original_name),
            target=part_name,
            **options,
        )
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    if not StoredFile.objects.living().filter(sha256=file.sha256).exists():
        # Erased while the copy was being made.
        path.unlink(missing_ok=True)
        open_file(StoredFile.objects.get(pk=file.pk)).close()
    return path
