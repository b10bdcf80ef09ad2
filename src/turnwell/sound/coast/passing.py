"""When a falling speed passes given levels, how steeply, and how surely.

The level itself may be uncertain: a share of a free speed that was measured too. An error e of the
curve and ε of the level move a passing by (ε - e)/f', and the slope there by f'' as much again;
every figure is a sum of such errors, so that its variance follows from one covariance.
"""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.coast.departure import Curve

__all__ = ["Estimate", "Passings", "passings_of"]

Floats = NDArray[np.float64]

_GRID = 241


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its standard uncertainty."""

    value: float
    sd: float


@dataclass(frozen=True, slots=True, eq=False)
class Passings:
    """Passings of a curve, in the curve's units.

    Parameters
    ----------
    instants : array, shape (n,)
        Not a number where a level is not passed.
    slopes : array, shape (n,)
        Of the speed there.
    errors : array, shape (2 n, sources)
        Change of each instant, then of each slope, with each source of error.
    covariance : array, shape (sources, sources)
    """

    instants: Floats
    slopes: Floats
    errors: Floats
    covariance: Floats

    def instant(self, level: int) -> Estimate | None:
        """Give the instant at which a level, by its place, is passed."""
        return self._estimate(float(self.instants[level]), self.errors[level])

    def between(self, first: int, last: int) -> Estimate | None:
        """Give the time from one passing to another."""
        value = float(self.instants[last] - self.instants[first])
        return self._estimate(value, self.errors[last] - self.errors[first])

    def deceleration(self, level: int) -> Estimate | None:
        """Give how fast the speed falls where it passes a level."""
        row = self.errors[self.instants.size + level]
        return self._estimate(-float(self.slopes[level]), row)

    def _estimate(self, value: float, row: Floats) -> Estimate | None:
        if not np.isfinite(value):
            return None
        variance = float(row @ self.covariance @ row)
        return Estimate(value, sqrt(max(variance, 0.0)))


def passings_of(
    curve: Curve, levels: Floats, by: Floats, source_sd: Floats, *, from_time: float
) -> Passings:
    """Find where a curve passes levels.

    Parameters
    ----------
    curve : Curve
    levels : array, shape (n,)
    by : array, shape (n, sources)
        Change of each level with each source of its error.
    source_sd : array, shape (sources,)
        Standard deviation of those sources, independent of each other and of the curve.
    from_time : float
        Where to begin, before the first point; a level above the speed there is not passed.
    """
    grid = np.linspace(from_time, float(curve.time[-1]), _GRID)
    falling = np.minimum.accumulate(curve.speed_at(grid))
    instants = np.interp(-levels, -falling, grid, left=np.nan, right=np.nan)
    passed = np.isfinite(instants)
    stand = curve.at(np.where(passed, instants, 0.0))
    # A curve that does not fall where it is passed is too rough to be read there.
    passed &= stand.slope < 0.0
    slope = np.where(passed, stand.slope, np.nan)
    own, sources = stand.value.size, source_sd.size
    moved = np.concatenate([-np.eye(levels.size, own), by], axis=1) / slope[:, None]
    steeper = np.eye(levels.size, own + sources, levels.size)
    bends = -(curve.law.linear_per_s + 2.0 * curve.law.quadratic_per_rad * stand.speed) * slope
    covariance = np.zeros((own + sources, own + sources))
    covariance[:own, :own] = stand.covariance
    covariance[own:, own:] = np.diag(source_sd**2)
    errors = np.concatenate([moved, steeper + bends[:, None] * moved])
    return Passings(np.where(passed, instants, np.nan), slope, errors, covariance)
