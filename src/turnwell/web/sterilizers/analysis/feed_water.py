"""Feed-water values held against the limits of the catalogue."""

from dataclasses import dataclass

from turnwell.measure import Reading
from turnwell.web.sterilizers.models import FeedWater

__all__ = ["WaterRow", "water_keys", "water_readings", "water_rows"]


@dataclass(frozen=True, slots=True)
class WaterRow:
    """One value of feed water that can be typed in."""

    key: str
    name: str
    unit: str
    says: str


def water_rows() -> tuple[WaterRow, ...]:
    """Give the values that are held against a limit, in the catalogue's order."""
    return ()


def water_keys() -> tuple[str, ...]:
    """Give their keys."""
    return tuple(row.key for row in water_rows())


def water_readings(entry: FeedWater) -> list[Reading]:
    """Hold the values of one day against the catalogue's limits."""
    return []
