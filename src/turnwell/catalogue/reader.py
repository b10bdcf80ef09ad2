"""Reads the catalogue's files strictly: one bad entry refuses the whole, naming file and key."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from types import MappingProxyType
from typing import Any, TypeVar, get_args

import msgspec

from turnwell.catalogue.book import Catalogue
from turnwell.catalogue.checks import check
from turnwell.catalogue.rows import (
    Bearing,
    CareStep,
    Cause,
    Complaint,
    Effect,
    Evidence,
    FeedWaterLimit,
    Finding,
    Group,
    HandpieceClass,
    Level,
    LoadPiece,
    Pace,
    Row,
    Source,
    SteamCycle,
)
from turnwell.errors import CatalogueError

__all__ = ["load", "read"]

RowT = TypeVar("RowT", bound=Row)
LEVELS: tuple[Level, ...] = get_args(Level)


@cache
def load() -> Catalogue:
    """Give the catalogue that comes with this package; read once in a process.

    Raises
    ------
    CatalogueError
        If an entry cannot be used.

    Examples
    --------
    >>> load().classes["air_turbine_4_hole"].group
    'turbine'
    """
    return read(resources.files("turnwell.catalogue").joinpath("data"))


def read(folder: Traversable) -> Catalogue:
    """Read and check the catalogue of a folder.

    Parameters
    ----------
    folder : path
        Holds all of the catalogue's files.

    Raises
    ------
    CatalogueError
        If a file is missing or no TOML, an entry has a wrong or unknown key, or entries do not fit
        each other.
    """
    catalogue = Catalogue(
        classes=_rows(folder, "classes.toml", HandpieceClass),
        bearings=_rows(folder, "bearings.toml", Bearing),
        complaints=_rows(folder, "complaints.toml", Complaint),
        findings=_rows(folder, "findings.toml", Finding),
        causes=_rows(folder, "causes.toml", Cause),
        care_steps=tuple(_rows(folder, "care.toml", CareStep).values()),
        sources=_rows(folder, "sources.toml", Source),
        evidence=_evidence(folder),
        complaint_links=_complaint_links(folder),
        groups=_rows(folder, "groups.toml", Group),
        shares=_shares(folder),
        levels=_levels(folder),
        cycles=_rows(folder, "cycles.toml", SteamCycle),
        load_pieces=_rows(folder, "load_pieces.toml", LoadPiece),
        feed_water=_rows(folder, "feed_water.toml", FeedWaterLimit),
        effects=_rows(folder, "effects.toml", Effect),
        paces=_rows(folder, "paces.toml", Pace),
    )
    check(catalogue)
    return catalogue


def _table(folder: Traversable, name: str) -> dict[str, Any]:
    try:
        return tomllib.loads(folder.joinpath(name).read_text(encoding="utf-8"))
    except OSError as error:
        raise CatalogueError(f"{name} cannot be read: {error}") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise CatalogueError(f"{name} is not TOML: {error}") from error


def _rows(folder: Traversable, name: str, kind: type[RowT]) -> Mapping[str, RowT]:
    rows: dict[str, RowT] = {}
    for key, entry in _table(folder, name).items():
        if not isinstance(entry, dict):
            raise CatalogueError(f"{name}: {key} must be a table")
        if "key" in entry:
            raise CatalogueError(f"{name}: {key}: its key is its heading; leave the line 'key' out")
        rows[key] = _converted(entry | {"key": key}, kind, f"{name}: {key}")
    return MappingProxyType(rows)


def _evidence(folder: Traversable) -> Mapping[str, Evidence]:
    name = "evidence.toml"
    rows: dict[str, Evidence] = {}
    for finding, entry in _table(folder, name).items():
        where = f"{name}: {finding}"
        levels: dict[str, Level] = {}
        sources: dict[str, tuple[str, ...]] = {}
        for level, links in _levelled(entry, where).items():
            by_cause = _converted(links, dict[str, tuple[str, ...]], f"{where}.{level}")
            _refuse_twice(levels, by_cause, where)
            levels |= dict.fromkeys(by_cause, level)
            sources |= by_cause
        rows[finding] = Evidence(
            finding=finding,
            background=_background(entry, where),
            levels=MappingProxyType(levels),
            sources=MappingProxyType(sources),
        )
    return MappingProxyType(rows)


def _complaint_links(folder: Traversable) -> Mapping[str, Mapping[str, Level]]:
    """Give the level of every complaint under every cause, the background filled in."""
    name = "complaint_links.toml"
    complaints = tuple(_table(folder, "complaints.toml"))
    rows: dict[str, Mapping[str, Level]] = {}
    for cause, entry in _table(folder, name).items():
        where = f"{name}: {cause}"
        named: dict[str, Level] = {}
        for level, links in _levelled(entry, where).items():
            keys = _converted(links, tuple[str, ...], f"{where}.{level}")
            _refuse_twice(named, keys, where)
            named |= dict.fromkeys(keys, level)
        unknown = [key for key in named if key not in complaints]
        if unknown:
            raise CatalogueError(f"{where}: {unknown[0]} is no complaint of complaints.toml")
        rows[cause] = MappingProxyType(dict.fromkeys(complaints, _background(entry, where)) | named)
    return MappingProxyType(rows)


def _levelled(entry: Any, where: str) -> dict[Level, Any]:
    """Give an entry's links by level; refuse a word that is no level."""
    if not isinstance(entry, dict):
        raise CatalogueError(f"{where} must be a table")
    unknown = [key for key in entry if key not in LEVELS and key != "background"]
    if unknown:
        raise CatalogueError(f"{where}: {unknown[0]!r} is no level; levels are {', '.join(LEVELS)}")
    return {level: entry[level] for level in LEVELS if level in entry}


def _background(entry: Mapping[str, Any], where: str) -> Level:
    level: Level = _converted(entry.get("background"), Level, f"{where}.background")
    return level


def _refuse_twice(before: Mapping[str, Level], now: Any, where: str) -> None:
    twice = [key for key in now if key in before]
    if twice:
        raise CatalogueError(f"{where}: {twice[0]} stands under two levels")


def _shares(folder: Traversable) -> Mapping[str, Mapping[str, float]]:
    name = "shares.toml"
    return MappingProxyType(
        {
            group: MappingProxyType(_converted(entry, dict[str, float], f"{name}: {group}"))
            for group, entry in _table(folder, name).items()
        }
    )


def _levels(folder: Traversable) -> Mapping[str, float]:
    return MappingProxyType(
        _converted(_table(folder, "levels.toml"), dict[str, float], "levels.toml")
    )


def _converted(entry: Any, kind: Any, where: str) -> Any:
    try:
        return msgspec.convert(entry, kind, strict=True)
    except msgspec.ValidationError as error:
        raise CatalogueError(f"{where}: {error}") from error
