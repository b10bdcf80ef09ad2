"""The lines of a ball bearing in orders of the shaft's speed, from its geometry.

The inner ring turns with the shaft, the outer ring stands. With r = (d/D) cos α, d the diameter of
a ball, D that of the circle of their middles and α the contact angle, the cage turns
(1 - r)/2 times a turn of the shaft, a spot on the outer ring is struck Z (1 - r)/2 times, one on
the inner ring Z (1 + r)/2 times, and a ball spins (D/2d)(1 - r²) times. A spot on a ball strikes
both rings, so that its line is at twice its spin.

References
----------
[RANDALL2011], section 2: the orders, and slip of 1 to 2 % (from memory).
"""

from dataclasses import dataclass
from enum import StrEnum
from math import cos, isfinite, pi
from numbers import Integral

from turnwell.errors import InputError

__all__ = ["Bearing", "Part", "Span"]

_MOST_BALLS = 60
_STEEPEST_RAD = pi / 3.0
_SIMPLE_RATIOS = (0.5, 1.0, 2.0)


class Part(StrEnum):
    """What of a bearing may be damaged."""

    CAGE = "cage"
    OUTER_RING = "outer_ring"
    INNER_RING = "inner_ring"
    BALL = "ball"


@dataclass(frozen=True, slots=True)
class Span:
    """An order with the least and the greatest it may be."""

    value: float
    low: float
    high: float

    def holds(self, order: float) -> bool:
        """Tell whether an order lies inside."""
        return self.low <= order <= self.high


@dataclass(frozen=True, slots=True)
class Bearing:
    """Geometry of a ball bearing whose inner ring turns.

    Parameters
    ----------
    balls : int
        Number of balls Z, 3 to 60.
    ball_m, pitch_m : float
        Diameter of a ball and of the circle of the balls' middles, in metres; 0 < ball < pitch,
        and the balls fit beside one another.
    contact_rad : float
        Nominal contact angle, 0 to π/3.
    pitch_tolerance : float
        Relative error of d/D, either way; 0 to 0.2.
    contact_spread_rad : float
        Preload opens the contact angle by up to this much; front and rear bearing differ in it.
    slip : float
        Relative slip of the cage against pure rolling, either way; 0 to 0.05.

    Raises
    ------
    InputError
        If a value is out of its range.

    Examples
    --------
    The 6205 of a well-known open collection of records:

    >>> bearing = Bearing(balls=9, ball_m=7.94e-3, pitch_m=39.04e-3)
    >>> [round(bearing.order(part), 4) for part in Part]
    [0.3983, 3.5848, 5.4152, 4.7135]
    """

    balls: int
    ball_m: float
    pitch_m: float
    contact_rad: float = 0.0
    pitch_tolerance: float = 0.02
    contact_spread_rad: float = 0.2
    slip: float = 0.005

    def __post_init__(self) -> None:
        if isinstance(self.balls, bool) or not isinstance(self.balls, Integral):
            raise InputError(f"balls is {self.balls}, must be a whole number")
        ranges = (
            ("balls", self.balls, 3, _MOST_BALLS),
            ("contact_rad", self.contact_rad, 0.0, _STEEPEST_RAD),
            ("pitch_tolerance", self.pitch_tolerance, 0.0, 0.2),
            ("contact_spread_rad", self.contact_spread_rad, 0.0, 0.5),
            ("slip", self.slip, 0.0, 0.05),
        )
        for name, value, low, high in ranges:
            if not (isfinite(value) and low <= value <= high):
                raise InputError(f"{name} is {value}, must be from {low} to {high:.4g}")
        for name, value in (("ball_m", self.ball_m), ("pitch_m", self.pitch_m)):
            if not (isfinite(value) and value > 0.0):
                raise InputError(f"{name} is {value}, must be > 0")
        if self.ball_m >= self.pitch_m:
            raise InputError(
                f"the ball ({1e3 * self.ball_m:.4g} mm) is not smaller than the pitch circle "
                f"({1e3 * self.pitch_m:.4g} mm); were the two mixed up?"
            )
        if self.balls * self.ball_m >= pi * self.pitch_m:
            raise InputError(
                f"{self.balls} balls of {1e3 * self.ball_m:.4g} mm do not fit on a pitch circle of "
                f"{1e3 * self.pitch_m:.4g} mm; check the number and both diameters"
            )

    @property
    def ratio(self) -> float:
        """The ratio r = (d/D) cos α."""
        return self.ball_m / self.pitch_m * cos(self.contact_rad)

    @property
    def spin_order(self) -> float:
        """Turns of a ball about its own axis in one turn of the shaft."""
        return _ball(self.ball_m / self.pitch_m, self.ratio) / 2.0

    def order(self, part: Part) -> float:
        """Give the order of a part's line: impulses in one turn of the shaft."""
        return _order(part, self.balls, self.ball_m / self.pitch_m, self.ratio)

    def span(self, part: Part) -> Span:
        """Give the order of a part's line with the bounds set by geometry, contact angle and slip.

        Examples
        --------
        >>> span = Bearing(8, 1e-3, 4.7625e-3).span(Part.OUTER_RING)
        >>> round(span.low, 3), round(span.value, 3), round(span.high, 3)
        (3.128, 3.16, 3.209)
        """
        nominal = self.ball_m / self.pitch_m
        steepest = min(self.contact_rad + self.contact_spread_rad, _STEEPEST_RAD)
        orders = []
        for stretch in (1.0 - self.pitch_tolerance, 1.0 + self.pitch_tolerance):
            share = min(nominal * stretch, 0.999)
            for angle in (self.contact_rad, steepest):
                rolled = _order(part, self.balls, share, share * cos(angle))
                orders += [self._slipped(part, rolled, way) for way in (-self.slip, self.slip)]
        return Span(self.order(part), min(orders), max(orders))

    def _slipped(self, part: Part, order: float, slip: float) -> float:
        """Order of a part when the cage turns faster by the share `slip`."""
        if part is Part.INNER_RING:
            # The balls pass the inner ring at the speed of the shaft against the cage.
            return self.balls - (self.balls - order) * (1.0 + slip)
        return order * (1.0 + slip)

    def spans(self) -> dict[Part, Span]:
        """Give the spans of all parts; where two overlap, both end at one order between.

        It lies half-way between them, or as near to that as the overlap allows. Parts that
        `inseparable` names keep their whole spans.
        """
        spans = {part: self.span(part) for part in Part}
        tied = self.inseparable()
        for one in Part:
            for other in Part:
                a, b = spans[one], spans[other]
                if a.value < b.value and a.high > b.low and not {one, other} <= set(tied):
                    middle = min(max((a.value + b.value) / 2.0, b.low), a.high)
                    spans[one] = Span(a.value, a.low, middle)
                    spans[other] = Span(b.value, middle, b.high)
        return spans

    def inseparable(self) -> tuple[Part, ...]:
        """Give the parts that cannot be told apart by their orders; empty when all can.

        Two parts share their lines where the order of one is that of the other, its half or its
        double, within the bounds.

        Examples
        --------
        With 7 balls of 1/6 of the pitch circle the ball spins as often as balls pass the outer
        ring:

        >>> [part.value for part in Bearing(7, 0.79375e-3, 4.7625e-3).inseparable()]
        ['outer_ring', 'ball']
        """
        spans = {part: self.span(part) for part in Part}
        tied: set[Part] = set()
        for one in Part:
            for other in Part:
                if one < other and _is_tied(spans[one], spans[other]):
                    tied |= {one, other}
        return tuple(part for part in Part if part in tied)


def _is_tied(one: Span, other: Span) -> bool:
    for ratio in _SIMPLE_RATIOS:
        if one.holds(ratio * other.value) and other.holds(one.value / ratio):
            return True
    return False


def _order(part: Part, balls: int, share: float, ratio: float) -> float:
    """Order of a part's line for d/D and r."""
    if part is Part.CAGE:
        return (1.0 - ratio) / 2.0
    if part is Part.OUTER_RING:
        return balls * (1.0 - ratio) / 2.0
    if part is Part.INNER_RING:
        return balls * (1.0 + ratio) / 2.0
    return _ball(share, ratio)


def _ball(share: float, ratio: float) -> float:
    """Twice the spin of a ball."""
    return (1.0 - ratio * ratio) / share
