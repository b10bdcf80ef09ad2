"""An estimated value with the ends of its interval, as bars with a whisker show it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from turnwell.errors import InputError
from turnwell.pictures.figures import decimals_for, written

__all__ = ["Estimated", "decimals_of"]

# A number shown beside others gets no more decimals than these.
MOST_DECIMALS = 3


@dataclass(frozen=True, slots=True)
class Estimated:
    """A value and the ends of its 95 % interval, all finite.

    Parameters
    ----------
    value, low, high : float
        low <= value <= high.

    Raises
    ------
    InputError
        If one is not finite or they do not rise.

    Examples
    --------
    >>> shown = Estimated(0.3117, 0.1402, 0.4833)
    >>> shown.says(), shown.ends()
    ('0.31', ('0.14', '0.48'))
    """

    value: float
    low: float
    high: float

    def __post_init__(self) -> None:
        numbers = (self.low, self.value, self.high)
        if not all(map(isfinite, numbers)) or not self.low <= self.value <= self.high:
            raise InputError(
                f"{self.low}, {self.value}, {self.high} must be finite and rise; exchange the ends"
            )

    @property
    def decimals(self) -> int:
        """Decimals that its interval deserves."""
        return decimals_of([self])

    def times(self, factor: float) -> "Estimated":
        """Give it in another unit; factor > 0."""
        return Estimated(self.value * factor, self.low * factor, self.high * factor)

    def says(self, decimals: int | None = None) -> str:
        """Write the value."""
        return written(self.value, self.decimals if decimals is None else decimals)

    def ends(self, decimals: int | None = None) -> tuple[str, str]:
        """Write the ends of the interval."""
        shown = self.decimals if decimals is None else decimals
        return written(self.low, shown), written(self.high, shown)


def decimals_of(shown: Sequence[Estimated]) -> int:
    """Give the decimals that the closest of some intervals deserves; they stand in one column.

    >>> decimals_of([Estimated(0.31, 0.14, 0.48), Estimated(3.0, 1.0, 6.0)])
    2
    """
    halves = [(one.high - one.low) / 2.0 for one in shown if one.high > one.low]
    return min(decimals_for(min(halves)), MOST_DECIMALS) if halves else 2
