"""Where the flags over an order picture have room: no word under a pole, none on another."""

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
    stood_out : bool
        Before, and not now.
    """

    text: str
    order: float
    left_px: float
    row: int
    is_of_bearing: bool
    stands_out: bool
    stood_out: bool = False

    @property
    def is_marked(self) -> bool:
        """True where a triangle stands before the word."""
        return self.is_of_bearing and (self.stands_out or self.stood_out)

    @property
    def right_px(self) -> float:
        """Where the word ends."""
        return self.left_px + _room(self.text, is_marked=self.is_marked)


def flags_of(picture: OrderPicture, width_px: float, language: str) -> list[Flag]:
    """Give the flags for panels of a width, from the right.

    Poles go down from their flags, so a word that reaches over the poles to its right must hang
    above the flags of all of them; hung so from right to left, none touches another.
    """
    px_per_order = width_px / TOP_ORDER
    flags: list[Flag] = []
    gone = {(line.part, line.harmonic) for line in picture.gone}
    lines = sorted(_named(picture), key=lambda one: one.order)
    poles_px = [line.order * px_per_order for line in lines]
    free_px = [0.0, *(pole_px + GAP for pole_px in poles_px[:-1])]
    for line, pole_px, since_px in reversed(list(zip(lines, poles_px, free_px, strict=False))):
        stood_out = (line.part, line.harmonic) in gone
        text = _text(line, width_px - since_px, language, stood_out=stood_out)
        is_marked = line.is_of_bearing and (line.stands_out or stood_out)
        left_px = min(pole_px + GAP, width_px - _room(text, is_marked=is_marked))
        right_px = left_px + _room(text, is_marked=is_marked)
        under = [
            flag.row
            for flag in flags
            if flag.order * px_per_order <= right_px + GAP or flag.left_px <= right_px + GAP
        ]
        row = max(under, default=-1) + 1
        flags.append(
            Flag(text, line.order, left_px, row, line.is_of_bearing, line.stands_out, stood_out)
        )
    return flags


def _named(picture: OrderPicture) -> list[OrderLine]:
    """Keep the lines that get a flag: one of each part, and multiples that stand out."""
    named = [
        line
        for line in picture.after.lines
        if line.harmonic == 1 or (line.stands_out and line.is_of_bearing)
    ]
    return [line for line in named if line.order < TOP_ORDER]


def _text(line: OrderLine, room_px: float, language: str, *, stood_out: bool) -> str:
    """Give the words of a flag: what stands out is said where the room is enough."""
    name = line_name(line, language)
    if not (line.is_of_bearing and (line.stands_out or stood_out)):
        return name
    key = "pictures.orders.flag_gone" if stood_out else "pictures.orders.flag"
    full = text_of(Message(key, {"name": name}), language)
    return full if _room(full, is_marked=True) < room_px else name


def _room(text: str, *, is_marked: bool) -> float:
    return label_width(text) + (MARK if is_marked else 0.0)
