"""The load of a run in plain values, and how long a damp pouch of it goes on rusting."""

from collections.abc import Mapping
from typing import Any

from turnwell.catalogue import LoadPiece
from turnwell.catalogue import load as catalogue
from turnwell.measure import Reading
from turnwell.steam.humid_air import RoomAir
from turnwell.steam.load.counter import DampPouch, Wetness, wetness_of
from turnwell.web.sterilizers.models import Load

__all__ = ["counter_wetness", "load_values"]

ROOM_C, ROOM_HUMIDITY = 22.0, 0.5


def load_values(load: Load) -> dict[str, Any]:
    """Give a load as JSON values: each kind of thing with its mass and heat capacity.

    A class weighs what its group does; a pouch is counted as one wherever it is said, else one for
    each handpiece that is usually pouched.
    """
    book = catalogue()
    items, usually_pouched = [], 0
    for key, count in load.counts.items():
        known = book.classes.get(key)
        if known is None:
            continue
        piece = book.load_pieces[known.group]
        items.append(_item(known.name, count, piece))
        usually_pouched += count if piece.is_pouched else 0
    pouches = usually_pouched if load.pouches is None else load.pouches
    for key, count in (("pouch", pouches), ("tray", load.trays or 0)):
        piece = book.load_pieces[key]
        items.append(_item(piece.name, count, piece))
    return {"items": items, "pouches": pouches, "water_before_g": load.water_before_g}


def _item(name: str, count: int, piece: LoadPiece) -> dict[str, Any]:
    return {
        "name": name,
        "count": count,
        "mass_g": piece.mass_g,
        "heat_capacity_j_gk": piece.heat_capacity_j_gk,
        "is_metal": piece.is_metal,
    }


def counter_wetness(
    review: Mapping[str, Any], load: Load | None, left: Reading | None
) -> Wetness | None:
    """Say how long a damp pouch of a load goes on rusting what is in it; None where not known.

    The water left is shared out among the pouches; room air at 22 °C and 50 % (common practice).
    """
    if load is None or left is None or not left.value:
        return None
    pouches = load_values(load)["pouches"]
    if not pouches:
        return None
    room = RoomAir(ROOM_C, ROOM_HUMIDITY, review["record"]["atmosphere_kpa"])
    return wetness_of(DampPouch(left.value / pouches), room)
