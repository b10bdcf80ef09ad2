"""The funnel picture: offices by the returns expected of them and those that came.

Across, how many returns an office of its handpieces would be expected to have; up, how many it had
over that. Chance spreads small offices widely and large ones little: the limits close like a
funnel. They are drawn as chance alone would have them, and widened by how offices differ anyway.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError

__all__ = ["Beyond", "FunnelLimits", "FunnelOffice", "FunnelPicture"]

# The scale reaches to the highest office, at least and at most so many times the target; offices
# beyond a limit may take it further.
LEAST_REACH = 2.5
REACH = 4.0
FURTHEST = 8.0
ROOM = 1.08


class Beyond(StrEnum):
    """Which of the limits an office lies beyond, on either side."""

    NEITHER = "neither"
    OF_95 = "95 %"
    OF_998 = "99.8 %"


@dataclass(frozen=True, slots=True)
class FunnelOffice:
    """One office of the funnel.

    Parameters
    ----------
    name : str
    observed : int
        Returns, >= 0.
    expected : float
        Returns expected of its handpieces, > 0.
    beyond : Beyond
        By the widened limits where there are such.
    """

    name: str
    observed: int
    expected: float
    beyond: Beyond = Beyond.NEITHER

    def __post_init__(self) -> None:
        if self.observed < 0 or not 0.0 < self.expected < np.inf:
            raise InputError(
                f"{self.name}: {self.observed} returns of {self.expected} expected cannot be;"
                " an office without an expected return has no place in the funnel"
            )

    @property
    def ratio(self) -> float:
        """Returns observed over expected."""
        return self.observed / self.expected


@dataclass(frozen=True, slots=True, eq=False)
class FunnelLimits:
    """Limits of observed over expected, at rising expected counts; made by `of`.

    Parameters
    ----------
    expected : array, shape (n,)
        > 0, rising; two at least.
    low_95, high_95, low_998, high_998 : array, shape (n,)
    """

    expected: NDArray[np.float64]
    low_95: NDArray[np.float64]
    high_95: NDArray[np.float64]
    low_998: NDArray[np.float64]
    high_998: NDArray[np.float64]

    @classmethod
    def of(
        cls,
        expected: ArrayLike,
        low_95: ArrayLike,
        high_95: ArrayLike,
        low_998: ArrayLike,
        high_998: ArrayLike,
    ) -> "FunnelLimits":
        """Take limits.

        Raises
        ------
        InputError
            If lengths differ, a number is not finite, expected counts do not rise from above 0, or
            the limits of 95 % do not lie within those of 99.8 %.
        """
        rows = [np.asarray(r, dtype=np.float64) for r in (expected, low_95, high_95, low_998)]
        rows.append(np.asarray(high_998, dtype=np.float64))
        at = rows[0]
        if at.ndim != 1 or at.size < 2 or any(row.shape != at.shape for row in rows):
            raise InputError("limits of a funnel must be rows of one length, two values at least")
        if not all(bool(np.all(np.isfinite(row))) for row in rows):
            raise InputError("a limit of the funnel is not a finite number; leave that count out")
        if at[0] <= 0.0 or np.any(np.diff(at) <= 0.0):
            raise InputError("expected counts of a funnel must rise from above 0; sort them")
        if np.any((rows[3] > rows[1]) | (rows[1] > rows[2]) | (rows[2] > rows[4])):
            raise InputError("the limits of 95 % must lie within those of 99.8 %; exchange them")
        return cls(rows[0], rows[1], rows[2], rows[3], rows[4])


@dataclass(frozen=True, slots=True)
class FunnelPicture:
    """A funnel ready to be drawn.

    Parameters
    ----------
    offices : tuple of FunnelOffice
        One at least.
    limits : FunnelLimits
        As chance alone would have them.
    widened : FunnelLimits or None
        Widened by how offices differ anyway; None where they differ no more than by chance.
    target : float
        Observed over expected that the limits are drawn round, > 0.
    by : str
        What the counts are of, with their period: ``"returns, June 2024 to May 2026"``.

    Raises
    ------
    InputError
        If there is no office.
    """

    offices: tuple[FunnelOffice, ...]
    limits: FunnelLimits
    widened: FunnelLimits | None = None
    target: float = 1.0
    by: str = ""

    def __post_init__(self) -> None:
        if not self.offices:
            raise InputError("a funnel needs one office at least")
        if not 0.0 < self.target < np.inf:
            raise InputError(f"target is {self.target}, must be finite and > 0")

    @property
    def top(self) -> float:
        """Ratio at the picture's upper edge; offices above it are marked there."""
        highest = max(office.ratio for office in self.offices)
        beyond = (one.ratio for one in self.offices if one.beyond is not Beyond.NEITHER)
        reach = max(LEAST_REACH * self.target, min(ROOM * highest, REACH * self.target))
        return max(reach, min(ROOM * max(beyond, default=0.0), FURTHEST * self.target))
