"""The scale of a limit bar: how far it reaches, and where a value falls on it."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, floor, log10

from turnwell.measure import Limit, Reading
from turnwell.pictures.figures import written

__all__ = ["Scale", "level_texts", "round_levels", "scale_of"]

# Least and greatest reach of a scale beyond its limit, in parts of the limit (or of its width).
LEAST_REACH = 0.1
GREATEST_REACH = 1.5
ROOM = 1.15
# Numbers nearer to each other than this are drawn as one.
LEAST_SPAN = 1e-9


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight scale from `low` to `high`, low < high."""

    low: float
    high: float

    def part(self, number: float) -> float:
        """Give the place of a number as a part of the width; beyond the ends it is held there."""
        return min(max((number - self.low) / (self.high - self.low), 0.0), 1.0)

    def holds(self, number: float) -> bool:
        """Tell whether a number lies on the scale."""
        return self.low <= number <= self.high


def scale_of(reading: Reading, before: Reading | None = None) -> Scale | None:
    """Give the scale that shows a reading against its limit, and an earlier one with it.

    The scale is made round the limit, so that the limit is always on it; numbers far away fall off
    its ends and are marked there. None where there is nothing to draw: no limit and no number.
    """
    numbers = [*_numbers(reading), *(_numbers(before) if before is not None else ())]
    if reading.limit is None:
        return _round_numbers(numbers)
    return _round_limit(reading.limit, numbers)


def _numbers(reading: Reading) -> tuple[float, ...]:
    if reading.value is None or reading.low is None or reading.high is None:
        return ()
    return reading.low, reading.value, reading.high


def _round_limit(limit: Limit, numbers: list[float]) -> Scale:
    sides = [side for side in (limit.low, limit.high) if side is not None]
    sizes = (limit.width or 0.0, max(map(abs, sides)), max(map(abs, numbers), default=0.0))
    unit = next((size for size in sizes if size > LEAST_SPAN), 1.0)
    has_width = (limit.width or 0.0) > LEAST_SPAN
    least = 0.6 * unit if has_width else LEAST_REACH * unit
    below = _reach((sides[0] - number for number in numbers), least, unit)
    above = _reach((number - sides[-1] for number in numbers), least, unit)
    if not has_width:
        below = above = max(below, above)
    low, high = sides[0] - below, sides[-1] + above
    if min([*sides, *numbers]) >= 0.0:
        low = max(low, 0.0)
    return _nice(low, high)


def round_levels(top: float) -> list[float]:
    """Give about four round levels from 0 to the top, top > 0.

    >>> round_levels(440_000.0)
    [0.0, 100000.0, 200000.0, 300000.0, 400000.0]
    """
    power = 10.0 ** floor(log10(top))
    step = next(s * power for s in (0.2, 0.25, 0.5, 1.0, 2.0) if top / (s * power) <= 5.0)
    return [step * count for count in range(int(top / step) + 1)]


def level_texts(levels: list[float]) -> list[str]:
    """Write round levels from 0 up with the decimals their step needs.

    >>> level_texts([0.0, 0.25, 0.5]), level_texts([0.0, 2.0])
    (['0', '0.25', '0.50'], ['0', '2'])
    """
    step = levels[1] if len(levels) > 1 else 1.0
    decimals = next(n for n in range(12) if abs(step * 10.0**n - round(step * 10.0**n)) < 1e-6)
    return ["0", *(written(level, decimals) for level in levels[1:])]


def _round_numbers(numbers: list[float]) -> Scale | None:
    if not numbers:
        return None
    low, high = min(numbers), max(numbers)
    room = next((0.1 * size for size in (high - low, abs(high)) if size > LEAST_SPAN), 1.0)
    return _nice(max(low - room, 0.0) if low >= 0.0 else low - room, high + room)


def _reach(distances: Iterable[float], least: float, unit: float) -> float:
    """Give how far the scale goes on one side of the limit."""
    furthest = max(distances, default=0.0)
    return min(max(ROOM * furthest, least), GREATEST_REACH * unit)


def _nice(low: float, high: float) -> Scale:
    """Widen to ends that read well."""
    raw = (high - low) / 8.0
    power = 10.0 ** floor(log10(raw))
    step = next(nice for nice in (1.0, 2.0, 2.5, 5.0, 10.0) if nice * power >= raw * 0.999) * power
    return Scale(floor(low / step + 1e-9) * step, ceil(high / step - 1e-9) * step)
