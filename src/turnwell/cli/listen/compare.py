"""``turnwell listen --compare``: the recording before a repair and the one after, side by side."""

from collections.abc import Iterator

from turnwell.pictures.figures import decimals_for, written
from turnwell.sound.condition.change import Change
from turnwell.sound.condition.comparison import Comparison
from turnwell.sound.quantity import Quantity
from turnwell.words import text_of

__all__ = ["comparison_lines"]

_NAME = 32
_CELL = 10
_NOTHING = "-"


def comparison_lines(comparison: Comparison) -> Iterator[str]:
    """Write a table of the changes, then a sentence on each and what they do not say."""
    heads = "".join(f"{head:>{_CELL}}" for head in ("before", "after", "change"))
    yield f"{'':<{_NAME}}{heads}"
    for change in comparison.changes:
        yield from _row(change)
    yield ""
    yield from (text_of(change.why) for change in comparison.changes)
    yield ""
    yield from (f"note: {text_of(caveat)}" for caveat in comparison.caveats)


def _row(change: Change) -> Iterator[str]:
    """Write one change; a name too long for its column has a line of its own."""
    name = text_of(change.name)
    if change.unit and change.after is not None:
        name = f"{name}, {change.unit}"
    if len(name) > _NAME:
        yield name
        name = ""
    cells = "".join(f"{cell:>{_CELL}}" for cell in _cells(change))
    yield f"{name:<{_NAME}}{cells}  {change.verdict.value}"


def _cells(change: Change) -> tuple[str, str, str]:
    """Write before, after and change with as many digits as their intervals deserve."""
    shown = [_figure(quantity) for quantity in (change.before, change.after, change.change)]
    rose = change.change is not None and change.change.value > 0.0
    return shown[0], shown[1], f"+{shown[2]}" if rose else shown[2]


def _figure(quantity: Quantity | None) -> str:
    if quantity is None:
        return _NOTHING
    half_width = (quantity.high - quantity.low) / 2.0
    if half_width <= 0.0:
        return f"{quantity.value:.4g}"
    return written(quantity.value, decimals_for(half_width))
