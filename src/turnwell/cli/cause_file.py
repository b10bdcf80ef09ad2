"""Reads the file of ``turnwell cause``: one handpiece's evidence as TOML."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import msgspec

from turnwell import cause
from turnwell.catalogue import Catalogue
from turnwell.cli.strict_file import refuse_unknown, strict_file
from turnwell.errors import InputError, UnreadableFileError
from turnwell.measure import Basis, Limit, Reading, reading
from turnwell.words import Message

__all__ = ["Case", "read_case"]


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
        file = strict_file(
            path, CaseFile, {"readings": ReadingEntry, "office": bool | dict[str, int]}
        )
        return _case(file, catalogue)
    except UnreadableFileError:
        raise
    except InputError as error:
        raise InputError(f"{path}: {error}") from error


def _case(file: CaseFile, catalogue: Catalogue) -> Case:
    refuse_unknown([file.handpiece_class], tuple(catalogue.classes), "handpiece class")
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
    refuse_unknown(file.office, [*asked, "earlier_causes"], "office fact")
    facts = {key: fact for key, fact in file.office.items() if isinstance(fact, bool)}
    earlier = file.office.get("earlier_causes")
    for key, fact in file.office.items():
        if (key == "earlier_causes") == isinstance(fact, bool):
            wanted = "a table of causes and counts" if isinstance(fact, bool) else "true or false"
            raise InputError(f"office.{key} must be {wanted}")
    counts = None
    if isinstance(earlier, dict):
        refuse_unknown(earlier, tuple(catalogue.causes), "cause")
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
    refuse_unknown([key], tuple(units), f"reading of {row.name} with a limit")
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
