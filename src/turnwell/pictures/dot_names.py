"""Names beside dots: so that none lies on another name or on a named dot, as many as have room."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from turnwell.pictures.gutters import Layout

__all__ = ["Dot", "DotName", "dot_names"]

# From the middle of a dot to its name; half the height of a name; half the width of a dot.
BESIDE = 10.0
HALF_LINE = 8.5
HALF_DOT = 6.0
# The base line of a name that stands beside, over or under its dot.
BASES = {"start": 5.0, "end": 5.0, "over": -12.0, "under": 21.0}


@dataclass(frozen=True, slots=True)
class Dot:
    """A dot that wants a name, so many parts of the width across, at a height in pixels."""

    part: float
    y: float
    name: str


@dataclass(frozen=True, slots=True)
class DotName:
    """A name with its place.

    Parameters
    ----------
    dot : Dot
    side : str
        ``"start"``: it begins right of its dot; ``"end"``: it ends left of it; ``"over"``, or
        ``"under"``: centred.
    """

    dot: Dot
    side: str

    @property
    def anchor(self) -> str:
        """Class of the text."""
        return {"start": "", "end": "end"}.get(self.side, "mid")

    @property
    def shift(self) -> float:
        """How far it begins or ends from its dot, in pixels."""
        return {"start": BESIDE, "end": -BESIDE}.get(self.side, 0.0)

    @property
    def base(self) -> float:
        """Height of its base line."""
        return self.dot.y + BASES[self.side]


@dataclass(frozen=True, slots=True)
class _Box:
    """What a name or a dot covers: pixels from a part of the width, and heights."""

    part: float
    left: float
    right: float
    top: float
    bottom: float

    def is_clear_of(self, other: "_Box", layout: Layout) -> bool:
        """Tell whether two do not touch at any width of a layout."""
        if self.bottom <= other.top or other.bottom <= self.top:
            return True
        return self._is_left_of(other, layout) or other._is_left_of(self, layout)

    def _is_left_of(self, other: "_Box", layout: Layout) -> bool:
        # Both edges move evenly with the width: clear at both ends is clear between.
        return all(
            self.part * px + self.right <= other.part * px + other.left
            for px in (layout.least_px, layout.most_px)
        )


def dot_names(dots: Sequence[Dot], layout: Layout, *, bottom: float) -> tuple[DotName, ...]:
    """Place names of dots at a layout.

    Parameters
    ----------
    dots : sequence of Dot
        The most important first: it has its choice.
    layout : Layout
    bottom : float
        Height of the axis, under which no name may stand.

    Returns
    -------
    tuple of DotName
        Those that have room.
    """
    taken = [
        _Box(dot.part, -HALF_DOT, HALF_DOT, dot.y - HALF_DOT, dot.y + HALF_DOT) for dot in dots
    ]
    own = dict(zip(map(id, dots), taken, strict=True))
    names: list[DotName] = []
    for dot in dots:
        for name in _tries(dot):
            box = _box(name, layout)
            others = (one for one in taken if one is not own[id(dot)])
            if _is_inside(box, layout, bottom) and all(box.is_clear_of(o, layout) for o in others):
                names.append(name)
                taken.append(box)
                break
    return tuple(names)


def _tries(dot: Dot) -> Iterator[DotName]:
    for side in BASES:
        yield DotName(dot, side)


def _box(name: DotName, layout: Layout) -> _Box:
    wide = layout.width(name.dot.name)
    left = {"start": BESIDE, "end": -BESIDE - wide}.get(name.side, -wide / 2.0)
    middle = name.base - 5.0
    return _Box(name.dot.part, left, left + wide, middle - HALF_LINE, middle + HALF_LINE)


def _is_inside(box: _Box, layout: Layout, bottom: float) -> bool:
    # Left and right stand figures and names. What is inside at both widths is so between.
    return (
        box.part * layout.least_px + box.left >= 0.0
        and all(box.part * px + box.right <= px for px in (layout.least_px, layout.most_px))
        and box.top >= 0.0
        and box.bottom <= bottom
    )
