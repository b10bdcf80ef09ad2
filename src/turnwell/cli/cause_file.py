"""Reads the file of ``turnwell cause``: one handpiece's evidence as TOML."""

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Literal

import msgspec

from turnwell import cause
from turnwell.catalogue import Catalogue
from turnwell.errors import InputError, UnreadableFileError
from turnwell.measure import Basis, Limit, Reading, reading
from turnwell.words import Message

__all__ = ["Case", "read_case"]

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


class ReadingEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A measured value with its 95 % interval, and a limit where the class's does not hold."""

    value: float
    low: float
    high: float
    limit_low: float | None = None
    limit_high: float | None = None
    at_label_pressure: bool = True


class CaseFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What the file holds."""

    handpiece_class: str = msgspec.field(name="class")
    complaint: tuple[str, ...] = ()
    seen: tuple[str, ...] = ()
    not_seen: tuple[str, ...] = ()
    lubricated: Literal["yes", "never", "not known"] = "not known"
    has_spray: bool = True
    has_light: bool = True
    geared: bool | None = None
    is_open: bool | None = None
    label_speed_rpm: float | None = None
    readings: dict[str, ReadingEntry] = {}
    office: dict[str, bool | dict[str, int]] = {}


@dataclass(frozen=True, slots=True)
class Case:
    """One handpiece's evidence, ready to rank."""

    table: cause.Table
    answers: cause.Answers
    readings: tuple[Reading, ...]
    is_open: bool | None


def read_case(path: Path, catalogue: Catalogue) -> Case:
    """Read and check a file of evidence.

    Parameters
    ----------
    path : Path
        A TOML file of at most 1 MB.
    catalogue : Catalogue
        Gives classes, findings and limits.

    Raises
    ------
    InputError
        If the file cannot be read, or holds a key or value that does not belong; the sentence
        names the file, the key, and keys near to it.
    """
    try:
        return _case(_parsed(path), catalogue)
    except UnreadableFileError:
        raise
    except InputError as error:
        raise InputError(f"{path}: {error}") from error


def _parsed(path: Path) -> CaseFile:
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise UnreadableFileError(f"{path} cannot be read: {error.strerror or error}") from error
    if len(content) > MOST_BYTES:
        raise UnreadableFileError(f"{path} is larger than {MOST_BYTES:,} bytes; not read")
    try:
        entries = tomllib.loads(content.decode("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise UnreadableFileError(f"{path} is not TOML: {error}") from error
    known = [field.encode_name for field in msgspec.structs.fields(CaseFile)]
    _refuse_unknown(entries, known, "key of this file")
    try:
        return msgspec.convert(entries, CaseFile, strict=True)
    except msgspec.ValidationError as error:
        raise InputError(_in_words(str(error), entries)) from error


def _in_words(says: str, entries: Mapping[str, Any]) -> str:
    """Say what msgspec found wrong in a file's own terms, naming the entry."""
    missing = re.fullmatch(r"Object missing required field `(.+?)`(?: - at `\$\.?(.*)`)?", says)
    if missing:
        where = _named(missing[2] or "", entries)
        return f"{where}{missing[1]!r} is missing"
    wrong = re.fullmatch(r"Expected `(.+?)`, got `(.+?)` - at `\$\.?(.*)`", says)
    if wrong:
        wanted = " or ".join(dict.fromkeys(_TYPES.get(t, t) for t in wrong[1].split(" | ")))
        return f"{_named(wrong[3], entries)}must be {wanted}, not {_TYPES.get(wrong[2], wrong[2])}"
    return says.replace("`$.", "`")


def _named(path: str, entries: Mapping[str, Any]) -> str:
    """Give the path of an entry with the key that msgspec writes as ``...``."""
    table, dots, rest = path.partition("[...]")
    if not dots:
        return f"{path}: " if path else ""
    kind: Any = ReadingEntry if table == "readings" else bool | dict[str, int]
    for key, entry in entries[table].items():
        try:
            msgspec.convert(entry, kind, strict=True)
        except msgspec.ValidationError:
            return f"{table}.{key}{rest.replace('[...]', '')}: "
    return f"{path}: "


def _case(file: CaseFile, catalogue: Catalogue) -> Case:
    _refuse_unknown([file.handpiece_class], tuple(catalogue.classes), "handpiece class")
    office, earlier = _office(file, catalogue)
    table = cause.table_for(
        catalogue,
        file.handpiece_class,
        lubricated=file.lubricated,
        has_spray=file.has_spray,
        has_light=file.has_light,
        geared=file.geared,
        office_counts=earlier,
    )
    readings = tuple(_reading(key, entry, file, catalogue) for key, entry in file.readings.items())
    told = cause.Answers(
        file.complaint, (*file.seen, *office.seen), (*file.not_seen, *office.not_seen)
    )
    told.check(table)
    measured = cause.findings_from_readings(table, {found.key: found for found in readings})
    return Case(table, measured.outranked_by(told), readings, file.is_open)


def _office(file: CaseFile, catalogue: Catalogue) -> tuple[cause.Answers, cause.ShopCounts | None]:
    """Give the office facts as answers, and the office's earlier causes as counts."""
    asked = [row.key for row in catalogue.findings.values() if row.stage == "office"]
    _refuse_unknown(file.office, [*asked, "earlier_causes"], "office fact")
    facts = {key: fact for key, fact in file.office.items() if isinstance(fact, bool)}
    earlier = file.office.get("earlier_causes")
    for key, fact in file.office.items():
        if (key == "earlier_causes") == isinstance(fact, bool):
            wanted = "a table of causes and counts" if isinstance(fact, bool) else "true or false"
            raise InputError(f"office.{key} must be {wanted}")
    counts = None
    if isinstance(earlier, dict):
        _refuse_unknown(earlier, tuple(catalogue.causes), "cause")
        counts = cause.ShopCounts(earlier)
    answers = cause.Answers(
        seen=tuple(key for key, fact in facts.items() if fact),
        not_seen=tuple(key for key, fact in facts.items() if not fact),
    )
    return answers, counts


def _reading(key: str, entry: ReadingEntry, file: CaseFile, catalogue: Catalogue) -> Reading:
    row = catalogue.handpiece_class(file.handpiece_class)
    units = {limit.reading_key: limit.unit for limit in row.limits}
    units |= {limit.reading_key: "rpm" for limit in row.relative_limits}
    _refuse_unknown([key], tuple(units), f"reading of {row.name} with a limit")
    away = Message("cause.away_from_label") if not entry.at_label_pressure else None
    return reading(
        key,
        entry.value,
        entry.low,
        entry.high,
        units[key],
        limit=_limit(key, entry, file, catalogue),
        unproven=away,
    )


def _limit(key: str, entry: ReadingEntry, file: CaseFile, catalogue: Catalogue) -> Limit | None:
    if entry.limit_low is not None or entry.limit_high is not None:
        return Limit(entry.limit_low, entry.limit_high, "given in the file", Basis.OWN)
    relative = catalogue.relative_limits_for(file.handpiece_class).get(key)
    if relative is not None:
        label = file.label_speed_rpm
        return None if label is None else catalogue.limit_from_label(relative, label)
    return catalogue.limits_for(file.handpiece_class).get(key)


def _refuse_unknown(keys: Iterable[str], known: Iterable[str], what: str) -> None:
    listed = list(known)
    for key in keys:
        if key not in listed:
            near = get_close_matches(key, listed, n=3, cutoff=0.5)
            hint = f"near it: {', '.join(near)}" if near else f"there are {', '.join(listed)}"
            raise InputError(f"{key!r} is no {what}; {hint}")
