"""A value with its interval, as the rooms of the sound core hand it on."""

from dataclasses import dataclass

__all__ = ["Quantity"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with the ends of its 95 % interval.

    Examples
    --------
    >>> Quantity(2.0, 1.5, 2.5).as_dict()
    {'value': 2.0, 'low': 1.5, 'high': 2.5}
    """

    value: float
    low: float
    high: float

    def as_dict(self) -> dict[str, float]:
        """Give the three as JSON values."""
        return {"value": self.value, "low": self.low, "high": self.high}
