"""What a run over many files has done, kept beside its table so that a later one goes on.

One JSON line an answer, appended as soon as it is known: a run that is killed has lost at most the
line it was writing, and a line that is not whole counts for nothing.
"""

import json
from collections.abc import Iterator, Mapping
from hashlib import sha256
from pathlib import Path
from typing import Any, Generic, TypeVar

import msgspec

from turnwell.cli.folder.row import Row
from turnwell.errors import InputError

__all__ = ["Journal", "setting_of"]

RowT = TypeVar("RowT", bound=Row)


class _Line(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """One line: a row under the setting that gave it, or the SHA-256 of a table."""

    setting: str
    row: msgspec.Raw = msgspec.Raw()
    table_sha256: str | None = None


class Journal(Generic[RowT]):
    """The journal of one table; made anew where there is none.

    Parameters
    ----------
    path : Path
        The file; read now, written by `keep` alone.
    setting : str
        From `setting_of`; answers under another setting are left alone.
    row_type : type
        Of the table's rows.

    Raises
    ------
    InputError
        If it is there and cannot be read.
    """

    def __init__(self, path: Path, setting: str, row_type: type[RowT]) -> None:
        self._path = path
        self._setting = setting
        self._rows: dict[str, RowT] = {}
        self._tables: set[str] = set()
        rows = msgspec.json.Decoder(row_type)
        for line in _lines(path):
            if line.table_sha256 is not None:
                self._tables.add(line.table_sha256)
            if bytes(line.row) and line.setting == setting:
                self._recall(rows, line.row)

    def _recall(self, rows: "msgspec.json.Decoder[RowT]", text: msgspec.Raw) -> None:
        try:
            row = rows.decode(text)
        except msgspec.DecodeError:
            return  # of another version: its file is taken again
        if row.sha256 is not None:
            self._rows[row.sha256] = row

    @property
    def is_empty(self) -> bool:
        """True where nothing was done under this setting."""
        return not self._rows

    def row(self, digest: str | None, name: str) -> RowT | None:
        """Give what is known of these bytes, whatever they were called; None where nothing is."""
        found = self._rows.get(digest) if digest is not None else None
        return None if found is None else msgspec.structs.replace(found, file=name)

    def keep(self, row: RowT) -> None:
        """Append an answer; a row without one is left out, so that its file is tried again.

        Raises
        ------
        InputError
            If it cannot be written.
        """
        if row.error is None and row.sha256 is not None and row.sha256 not in self._rows:
            self._append(_Line(self._setting, row=msgspec.Raw(msgspec.json.encode(row))))
            self._rows[row.sha256] = row

    def keep_table(self, content: bytes) -> None:
        """Remember the table that is about to be written."""
        digest = sha256(content).hexdigest()
        if digest not in self._tables:
            self._append(_Line(self._setting, table_sha256=digest))
            self._tables.add(digest)

    def wrote(self, content: bytes) -> bool:
        """Tell whether a table is as it was written once: nobody has changed it since."""
        return sha256(content).hexdigest() in self._tables

    def _append(self, line: _Line) -> None:
        # A torn last line gets its end first; whole lines are written in one piece.
        try:
            with self._path.open("ab+", buffering=0) as file:
                torn = file.tell() > 0 and _last_byte(self._path) != b"\n"
                file.write((b"\n" if torn else b"") + msgspec.json.encode(line) + b"\n")
        except OSError as error:
            raise InputError(
                f"{self._path} cannot be written: {error.strerror or error}"
            ) from error


def setting_of(form: str, version: str, known: Mapping[str, Any]) -> str:
    """Name everything an answer hangs on besides the file.

    Parameters
    ----------
    form : str
        Of the rows; raised whenever they hold something else than before.
    version : str
        Of the method.
    known : mapping
        What the options say, as JSON values.

    Examples
    --------
    >>> setting_of("1", "1.0", {"ratio": 8}) == setting_of("1", "1.0", {"ratio": 16})
    False
    """
    text = json.dumps(known, sort_keys=True)
    return sha256(f"{form} {version} {text}".encode()).hexdigest()


def _lines(path: Path) -> Iterator[_Line]:
    """Give the whole lines of a journal."""
    if not path.exists():
        return
    decoder = msgspec.json.Decoder(_Line)
    try:
        with path.open("rb") as file:
            for text in file:
                try:
                    yield decoder.decode(text)
                except msgspec.DecodeError:
                    # Torn by a crash, or of another version: its file is taken again.
                    continue
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror or error}") from error


def _last_byte(path: Path) -> bytes:
    with path.open("rb") as file:
        file.seek(-1, 2)
        return file.read(1)
