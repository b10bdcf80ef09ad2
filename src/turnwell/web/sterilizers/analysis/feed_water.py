"""Feed-water values held against the limits of the catalogue."""

from collections.abc import Mapping

from turnwell.catalogue import FeedWaterLimit, load
from turnwell.measure import Limit, Reading, reading
from turnwell.web.sterilizers.models import FeedWater
from turnwell.words import Message

__all__ = ["USUAL_BOUND_PERCENT", "water_limits", "water_readings"]

# What a strip or a hand meter is believed to within, of its value; of pH in steps of the scale
# (common practice).
USUAL_BOUND_PERCENT = 10.0
ACIDITY, ACIDITY_BOUND = "acidity", 0.2


def water_limits() -> Mapping[str, FeedWaterLimit]:
    """Give what can be typed in and is held against a limit, in the catalogue's order."""
    return load().feed_water


def water_readings(entry: FeedWater) -> list[Reading]:
    """Hold the values of one day against the catalogue's limits; a key that is gone is left out."""
    book = load()
    return [
        _reading(row, entry.values[key], entry.bound_percent, book.source_text(row.source))
        for key, row in book.feed_water.items()
        if key in entry.values
    ]


def _reading(row: FeedWaterLimit, value: float, bound_percent: float, source: str) -> Reading:
    """Give one value with the bounds it was typed in with."""
    bound = ACIDITY_BOUND if row.key == ACIDITY else value * bound_percent / 100.0
    return reading(
        f"feed_water_{row.key}",
        value,
        max(value - bound, 0.0),
        value + bound,
        row.unit,
        limit=Limit(row.low, row.high, source, row.basis),
        name=Message("sterilizers.water.name", {"name": row.name}),
    )
