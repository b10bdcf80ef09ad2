"""A value with its interval, as the rooms of this core hand it to one another."""

from dataclasses import dataclass
from math import inf, isfinite, isnan

from turnwell.errors import InputError
from turnwell.life.tails import checked_level
from turnwell.measure import Interval, Limit, Reading, cannot_tell, reading
from turnwell.words import Message

__all__ = ["Estimate"]


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with the ends of its interval.

    Parameters
    ----------
    value : float
        Finite, or infinite where the evidence names no end (a ratio over nothing).
    low, high : float
        Ends of the interval; -inf or inf where that side is open.
    level : float
        Coverage, above 0 and below 1.

    Raises
    ------
    InputError
        If a number is not one, or the interval does not hold the value.

    Examples
    --------
    >>> print(Estimate(606.5, 437.6, 1118.9))
    606.5 (437.6 to 1118.9)
    """

    value: float
    low: float
    high: float
    level: float = 0.95

    def __post_init__(self) -> None:
        if isnan(self.value) or not self.low <= self.value <= self.high:
            raise InputError(
                f"{self.value} does not lie in its interval {self.low} to {self.high}; this is "
                "no estimate"
            )
        checked_level(self.level)

    @property
    def is_bounded(self) -> bool:
        """True where value and both ends are finite."""
        return isfinite(self.value) and isfinite(self.low) and isfinite(self.high)

    def times(self, factor: float) -> "Estimate":
        """Give the estimate in another unit, or per another amount; factor > 0.

        >>> print(Estimate(2.0, 1.0, 4.0).times(0.5))
        1 (0.5 to 2)
        """
        if not 0.0 < factor < inf:
            raise InputError(f"factor is {factor}, must be finite and > 0")
        return Estimate(self.value * factor, self.low * factor, self.high * factor, self.level)

    def reading(
        self,
        key: str,
        unit: str,
        *,
        limit: Limit | None = None,
        interval: Interval = Interval.CONFIDENCE,
        name: Message | None = None,
        why: Message | None = None,
        unproven: Message | None = None,
        open_end: Message | None = None,
    ) -> Reading:
        """Give the estimate as a reading, held against a limit.

        Parameters
        ----------
        open_end : Message or None
            The reason to print where an end of the interval is open, which a reading cannot show;
            "cannot tell" then. Without one, ``life.open_end`` with the closed end.
        key, unit, limit, interval, name, why, unproven
            As for `turnwell.measure.reading`.
        """
        if not self.is_bounded:
            reason = open_end or Message("life.open_end", {"unit": unit})
            return cannot_tell(
                key, unit, reason, limit=limit, interval=interval, level=self.level, name=name
            )
        return reading(
            key,
            self.value,
            self.low,
            self.high,
            unit,
            limit=limit,
            interval=interval,
            level=self.level,
            name=name,
            why=why,
            unproven=unproven,
        )

    def as_dict(self) -> dict[str, float | None]:
        """Give the estimate as JSON values; an open end is null."""
        ends = {"value": self.value, "low": self.low, "high": self.high}
        closed = {name: end if isfinite(end) else None for name, end in ends.items()}
        return closed | {"level": self.level}

    def __str__(self) -> str:
        """Write the value and, in brackets, the ends of its interval."""
        return f"{self.value:.6g} ({self.low:.6g} to {self.high:.6g})"
