"""Reads the file of ``--load``: what went into the sterilizer, as TOML."""

from collections.abc import Iterator
from pathlib import Path

import msgspec

from turnwell.catalogue import Catalogue, load
from turnwell.cli.strict_file import refuse_unknown, strict_file
from turnwell.errors import InputError, UnreadableFileError
from turnwell.steam.load.items import Load, LoadItem

__all__ = ["read_load"]

_POUCH, _TRAY = "pouch", "tray"


class LoadFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What the file holds.

    Parameters
    ----------
    pouches : int
        Pouches among the load; 0 says that it lay there unwrapped.
    trays : int
    counts, mass_g : mapping
        Handpieces by class or kind, and what one of them weighs where it was weighed.
    water_before_g : float or None
        Water left in and on them before the cycle.
    """

    pouches: int
    trays: int = 0
    counts: dict[str, int] = {}
    mass_g: dict[str, float] = {}
    water_before_g: float | None = None


def read_load(path: Path) -> Load:
    """Read and check the file of a load.

    Parameters
    ----------
    path : Path
        A TOML file of at most 1 MB.

    Raises
    ------
    InputError
        If it cannot be read, or holds a key or value that does not belong; the sentence names the
        file, the key, and keys near to it.
    """
    try:
        file = strict_file(path, LoadFile, {"counts": int, "mass_g": float})
        return _load(file, load())
    except UnreadableFileError:
        raise
    except InputError as error:
        raise InputError(f"{path}: {error}") from error


def _load(file: LoadFile, catalogue: Catalogue) -> Load:
    kinds = [key for key in catalogue.load_pieces if key not in {_POUCH, _TRAY}]
    refuse_unknown(file.counts, [*kinds, *catalogue.classes], "handpiece class or kind")
    refuse_unknown(file.mass_g, [*file.counts, _POUCH, _TRAY], "thing that is counted in it")
    return Load(
        tuple(_items(file, catalogue)),
        pouches=file.pouches,
        water_before_g=file.water_before_g,
    )


def _items(file: LoadFile, catalogue: Catalogue) -> Iterator[LoadItem]:
    """Give the things that are counted, each with the mass and material of its kind."""
    for key, count in {**file.counts, _POUCH: file.pouches, _TRAY: file.trays}.items():
        handpiece = catalogue.classes.get(key)
        piece = catalogue.load_pieces[key if handpiece is None else handpiece.group]
        yield LoadItem(
            name=piece.name if handpiece is None else handpiece.name,
            count=count,
            mass_g=file.mass_g.get(key, piece.mass_g),
            heat_capacity_j_gk=piece.heat_capacity_j_gk,
            is_metal=piece.is_metal,
        )
