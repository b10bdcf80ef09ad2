"""Where the flags over an order picture have room: no word under a pole, none on another."""

from collections.abc import Sequence
from dataclasses import dataclass

from turnwell.pictures.order_picture import TOP_ORDER, OrderPicture, line_name
from turnwell.pictures.order_spectra import OrderLine
from turnwell.pictures.speed_trace_labels import label_width
from turnwell.words import Message, text_of

__all__ = ["Flag", "flags_of"]

# Room for the triangle before a word, and between a pole and its word, in pixels.
MARK = 16.0
GAP = 5.0


@dataclass(frozen=True, slots=True)
class Flag:
    """The name of a line over the panels, on a pole that stands where the line is expected.

    Parameters
    ----------
    text : str
    order : float
        Where the pole stands.
    left_px : float
        Where the word begins, from the left edge of the panels.
    row : int
        0 for the lowest.
    is_of_bearing, stands_out : bool
    """

    text: str
    order: float
    left_px: float
    row: int
    is_of_bearing: bool
    stands_out: bool

    @property
    def right_px(self) -> float:
        """Where the word ends."""
        return self.left_px + _room(self.text, stands_out=self.stands_out)


def flags_of(picture: OrderPicture, width_px: float, language: str) -> list[Flag]:
    """Give the flags for panels of a width, from the right.

    Poles go down from their flags, so a word that reaches over the poles to its right must hang
    above the flags of all of them; hung so from right to left, none touches another.
    """
    px_per_order = width_px / TOP_ORDER
    flags: list[Flag] = []
    lines = sorted(_named(picture.after.lines), key=lambda one: one.order)
    poles_px = [line.order * px_per_order for line in lines]
    free_px = [0.0, *(pole_px + GAP for pole_px in poles_px[:-1])]
    for line, pole_px, since_px in reversed(list(zip(lines, poles_px, free_px, strict=False))):
        text = _text(line, width_px - since_px, language)
        left_px = min(pole_px + GAP, width_px - _room(text, stands_out=line.stands_out))
        right_px = left_px + _room(text, stands_out=line.stands_out)
        under = [
            flag.row
            for flag in flags
            if flag.order * px_per_order <= right_px + GAP or flag.left_px <= right_px + GAP
        ]
        row = max(under, default=-1) + 1
        flags.append(Flag(text, line.order, left_px, row, line.is_of_bearing, line.stands_out))
    return flags


def _named(lines: Sequence[OrderLine]) -> list[OrderLine]:
    """Keep the lines that get a flag: one of each part, and multiples that stand out."""
    return [
        line
        for line in lines
        if line.order < TOP_ORDER
        and (line.harmonic == 1 or (line.stands_out and line.is_of_bearing))
    ]


def _text(line: OrderLine, room_px: float, language: str) -> str:
    """Give the words of a flag: what stands out is said where the room is enough."""
    name = line_name(line, language)
    if not (line.stands_out and line.is_of_bearing):
        return name
    full = text_of(Message("pictures.orders.flag", {"name": name}), language)
    return full if _room(full, stands_out=True) < room_px else name


def _room(text: str, *, stands_out: bool) -> float:
    return label_width(text) + (MARK if stands_out else 0.0)
