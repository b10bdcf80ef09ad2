"""What an interval is asked for: shape, a quantile of the life, its mean, survival to an age.

Each is a number psi; the other direction, along which the likelihood is maximised while psi stays,
is lambda. A target says where (ln shape, ln scale) lies for a psi and a lambda, and how it moves.
"""

from dataclasses import dataclass
from math import exp, lgamma
from typing import NamedTuple, Protocol

__all__ = ["MeanTarget", "Place", "QuantileTarget", "ShapeTarget", "SurvivalTarget", "Target"]


class Place(NamedTuple):
    """A point of the plane and how it moves.

    `a`, `m`: ln shape and ln scale. `along_a`, `along_m`: their change with lambda, `bend_m` the
    second change of m (that of a is 0). `across_a`, `across_m`: their change with psi.
    """

    a: float
    m: float
    along_a: float
    along_m: float
    bend_m: float
    across_a: float
    across_m: float

    @property
    def stretch(self) -> float:
        """Area of the plane for a unit of psi and lambda."""
        return abs(self.across_a * self.along_m - self.across_m * self.along_a)


class Target(Protocol):
    """One number of a life."""

    @property
    def is_shape(self) -> bool:
        """True for ln shape, where lambda is ln scale; else lambda is ln shape."""
        ...

    def of(self, a: float, m: float) -> float:
        """Give psi at a point."""
        ...

    def place(self, psi: float, other: float) -> Place:
        """Give the point of psi and lambda."""
        ...


@dataclass(frozen=True, slots=True)
class ShapeTarget:
    """Ln shape."""

    @property
    def is_shape(self) -> bool:
        """True."""
        return True

    def of(self, a: float, m: float) -> float:  # noqa: ARG002  # as every target
        """Give ln shape."""
        return a

    def place(self, psi: float, other: float) -> Place:
        """Give the point."""
        return Place(psi, other, 0.0, 1.0, 0.0, 1.0, 0.0)


@dataclass(frozen=True, slots=True)
class QuantileTarget:
    """Ln of the age that a life passes with the chance exp(-exp(height)); height 0: the scale."""

    height: float

    @property
    def is_shape(self) -> bool:
        """False."""
        return False

    def of(self, a: float, m: float) -> float:
        """Give ln of the quantile."""
        return m + self.height * exp(-a)

    def place(self, psi: float, other: float) -> Place:
        """Give the point."""
        drop = self.height * exp(-other)
        return Place(other, psi - drop, 1.0, drop, -drop, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class SurvivalTarget:
    """Ln of the cumulative hazard at an age, whose ln is `log_age`."""

    log_age: float

    @property
    def is_shape(self) -> bool:
        """False."""
        return False

    def of(self, a: float, m: float) -> float:
        """Give ln of the cumulative hazard."""
        return exp(a) * (self.log_age - m)

    def place(self, psi: float, other: float) -> Place:
        """Give the point."""
        spread = exp(-other)
        drop = psi * spread
        return Place(other, self.log_age - drop, 1.0, drop, -drop, 0.0, -spread)


@dataclass(frozen=True, slots=True)
class MeanTarget:
    """Ln of the mean life, scale times gamma(1 + 1/shape)."""

    @property
    def is_shape(self) -> bool:
        """False."""
        return False

    def of(self, a: float, m: float) -> float:
        """Give ln of the mean."""
        return m + lgamma(1.0 + exp(-a))

    def place(self, psi: float, other: float) -> Place:
        """Give the point."""
        from scipy.special import digamma, polygamma

        spread = exp(-other)
        first = float(digamma(1.0 + spread))
        second = float(polygamma(1, 1.0 + spread))
        turn = spread * first
        bend = -turn - spread * spread * second
        return Place(other, psi - lgamma(1.0 + spread), 1.0, turn, bend, 0.0, 1.0)
