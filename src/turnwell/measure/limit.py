"""A limit a value is held against, and where that limit comes from."""

from dataclasses import dataclass
from enum import StrEnum
from math import isfinite
from typing import Any

from turnwell.errors import InputError

__all__ = ["Basis", "Limit"]


class Basis(StrEnum):
    """How a limit or another fact of the trade is known."""

    READ = "read"
    SECONDARY = "secondary"
    MEMORY = "memory"
    COMMON_PRACTICE = "common practice"
    OWN = "own"

    @property
    def is_verified(self) -> bool:
        """True where the number was read in its source, or set by the user for their own shop."""
        return self in {Basis.READ, Basis.OWN}


@dataclass(frozen=True, slots=True)
class Limit:
    """A one- or two-sided limit; a value equal to it counts as inside.

    Parameters
    ----------
    low, high : float or None
        In the unit of the reading that is held against it; at least one is given, low <= high.
    source : str
        Where it stands, as text to show.
    basis : Basis
        How it is known; anything but `Basis.READ` and `Basis.OWN` is shown as not verified.

    Raises
    ------
    InputError
        If neither side is given, a side is not finite, or low is above high.

    Examples
    --------
    >>> Limit(low=360_000.0, high=440_000.0, source="label", basis=Basis.OWN).width
    80000.0
    """

    low: float | None
    high: float | None
    source: str
    basis: Basis

    def __post_init__(self) -> None:
        if self.low is None and self.high is None:
            raise InputError("a limit needs a low side, a high side or both")
        for side, value in (("low", self.low), ("high", self.high)):
            if value is not None and not isfinite(value):
                raise InputError(f"the {side} side of a limit is {value}, must be a finite number")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise InputError(f"the limit's low side {self.low} is above its high side {self.high}")
        object.__setattr__(self, "basis", Basis(self.basis))

    @property
    def width(self) -> float | None:
        """High minus low; None when one side is open."""
        return None if self.low is None or self.high is None else self.high - self.low

    def as_dict(self) -> dict[str, Any]:
        """Give the limit as JSON values."""
        return {
            "low": self.low,
            "high": self.high,
            "source": self.source,
            "basis": self.basis.value,
        }
