"""Times as pages show them: minutes where a sterilizer is set in minutes."""

from dataclasses import replace

from turnwell.measure import Limit, Reading
from turnwell.units import s_to_min

__all__ = ["limit_in_minutes", "long_times_in_minutes"]

LONG_S = 120.0


def long_times_in_minutes(reading: Reading) -> Reading:
    """Give a reading of many seconds in minutes, with its limit; any other as it is."""
    if reading.unit != "s":
        return reading
    limit = reading.limit
    sides = (reading.high, limit and limit.low, limit and limit.high)
    if max((abs(value) for value in sides if value), default=0.0) < LONG_S:
        return reading
    return replace(
        reading,
        value=_minutes(reading.value),
        low=_minutes(reading.low),
        high=_minutes(reading.high),
        unit="min",
        limit=limit and limit_in_minutes(limit),
    )


def limit_in_minutes(limit: Limit) -> Limit:
    """Give a limit of seconds in minutes."""
    return replace(limit, low=_minutes(limit.low), high=_minutes(limit.high))


def _minutes(duration_s: float | None) -> float | None:
    return None if duration_s is None else s_to_min(duration_s)
