"""Reads a TOML file of the command line strictly: what does not belong is named."""

import re
import tomllib
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from turnwell.errors import InputError, UnreadableFileError

__all__ = ["refuse_unknown", "strict_file"]

FileT = TypeVar("FileT", bound=msgspec.Struct)

MOST_BYTES = 1_000_000
_TYPES = {
    "str": "text",
    "int": "a whole number",
    "float": "a number",
    "bool": "true or false",
    "array": "a list",
    "object": "a table",
    "null": "left out",
}


def strict_file(path: Path, kind: type[FileT], tables: Mapping[str, Any]) -> FileT:
    """Read a file into its type.

    Parameters
    ----------
    path : Path
        A TOML file of at most 1 MB.
    kind : type
        What it holds.
    tables : mapping
        For each of its tables with free keys, the type of their values.

    Raises
    ------
    UnreadableFileError
        If it cannot be read or is no TOML; the sentence names the file.
    InputError
        If it holds a key or a value that does not belong; the sentence names that.
    """
    entries = _entries(path)
    known = [field.encode_name for field in msgspec.structs.fields(kind)]
    refuse_unknown(entries, known, "key of this file")
    try:
        return msgspec.convert(entries, kind, strict=True)
    except msgspec.ValidationError as error:
        raise InputError(_in_words(str(error), entries, tables)) from error


def refuse_unknown(keys: Iterable[str], known: Iterable[str], what: str) -> None:
    """Refuse a key that is not there, and name those near to it.

    Raises
    ------
    InputError
        At the first of them.
    """
    listed = list(known)
    for key in keys:
        if key not in listed:
            near = get_close_matches(key, listed, n=3, cutoff=0.5)
            hint = f"near it: {', '.join(near)}" if near else f"there are {', '.join(listed)}"
            raise InputError(f"{key!r} is no {what}; {hint}")


def _entries(path: Path) -> dict[str, Any]:
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise UnreadableFileError(f"{path} cannot be read: {error.strerror or error}") from error
    if len(content) > MOST_BYTES:
        raise UnreadableFileError(f"{path} is larger than {MOST_BYTES:,} bytes; not read")
    try:
        return tomllib.loads(content.decode("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise UnreadableFileError(f"{path} is not TOML: {error}") from error


def _in_words(says: str, entries: Mapping[str, Any], tables: Mapping[str, Any]) -> str:
    """Say what msgspec found wrong in a file's own terms, naming the entry."""
    missing = re.fullmatch(r"Object missing required field `(.+?)`(?: - at `\$\.?(.*)`)?", says)
    if missing:
        where = _named(missing[2] or "", entries, tables)
        return f"{where}{missing[1]!r} is missing"
    wrong = re.fullmatch(r"Expected `(.+?)`, got `(.+?)` - at `\$\.?(.*)`", says)
    if wrong:
        wanted = " or ".join(dict.fromkeys(_TYPES.get(t, t) for t in wrong[1].split(" | ")))
        where = _named(wrong[3], entries, tables)
        return f"{where}must be {wanted}, not {_TYPES.get(wrong[2], wrong[2])}"
    return says.replace("`$.", "`")


def _named(path: str, entries: Mapping[str, Any], tables: Mapping[str, Any]) -> str:
    """Give the path of an entry with the key that msgspec writes as ``...``."""
    table, dots, rest = path.partition("[...]")
    if not dots:
        return f"{path}: " if path else ""
    for key, entry in entries[table].items():
        try:
            msgspec.convert(entry, tables[table], strict=True)
        except msgspec.ValidationError:
            return f"{table}.{key}{rest.replace('[...]', '')}: "
    return f"{path}: "
