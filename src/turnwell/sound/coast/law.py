"""The law by which the drag slows a rotor down, solved for speed and for time.

With air friction, oil and dry friction a rotor of inertia I obeys I dω/dt = -(T + c₁ω + c₂ω²).
Sound shows ω alone, so only the three terms over the inertia can be known: a = T/I, b = c₁/I and
c = c₂/I. The law is a Riccati equation with constant coefficients; its solution is a fraction
linear in the start speed, and one pair of formulas serves all seven sub-models and every sign of
the discriminant D = b² - 4ac:

    ω(t) = ((C - b S/2) ω₀ - a S) / (C + b S/2 + c ω₀ S),     C = cosh(√D t/2),
    t(ω) = 2 artanh(√D x/2)/√D,                               S = 2 sinh(√D t/2)/√D,
    x = (ω₀ - ω) / (a + b (ω₀ + ω)/2 + c ω₀ ω).

For D < 0 they are the circular functions; at D = 0 both are smooth, C = 1 and S = t.
"""

from dataclasses import dataclass
from math import atan, atanh, inf, isfinite, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError

__all__ = ["DragLaw"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class DragLaw:
    """Rates of the drag: dω/dt = -(a + b ω + c ω²).

    Parameters
    ----------
    constant_rad_s2 : float
        a, of dry friction; >= 0.
    linear_per_s : float
        b, of what grows with the speed, as grease and oil do; >= 0.
    quadratic_per_rad : float
        c, of what grows with its square, as air does; >= 0.

    Raises
    ------
    InputError
        If a rate is not finite, or below zero.

    Examples
    --------
    >>> from turnwell.units import rad_per_s_to_rpm, rpm_to_rad_per_s
    >>> law = DragLaw(6_000.0, 0.4, 8e-6)
    >>> round(rad_per_s_to_rpm(float(law.speed_rad_s(rpm_to_rad_per_s(4e5), 1.0))), 1)
    170732.8
    >>> round(law.stop_s(rpm_to_rad_per_s(4e5)), 5)
    2.85004
    """

    constant_rad_s2: float
    linear_per_s: float
    quadratic_per_rad: float

    def __post_init__(self) -> None:
        for name in self.__dataclass_fields__:
            value = getattr(self, name)
            if not (isfinite(value) and value >= 0.0):
                raise InputError(f"{name} is {value}, must be a number >= 0")

    @property
    def terms(self) -> tuple[str, ...]:
        """Names of the terms that are there, out of constant, linear, quadratic."""
        rates = (self.constant_rad_s2, self.linear_per_s, self.quadratic_per_rad)
        names = ("constant", "linear", "quadratic")
        return tuple(name for name, rate in zip(names, rates, strict=True) if rate > 0.0)

    def deceleration_rad_s2(self, speed_rad_s: ArrayLike) -> Floats:
        """Give how fast the speed falls at a speed; 0 where the rotor stands still."""
        omega = np.asarray(speed_rad_s, np.float64)
        rising = self.linear_per_s + self.quadratic_per_rad * omega
        return np.where(omega > 0.0, self.constant_rad_s2 + rising * omega, 0.0)

    def speed_rad_s(self, start_rad_s: float, time_s: ArrayLike) -> Floats:
        """Give the speed some time after a start speed; 0 once the rotor stands still.

        Parameters
        ----------
        start_rad_s : float
            > 0.
        time_s : array_like
            Since the start; may be a little below zero, before it.
        """
        time = np.asarray(time_s, np.float64)
        a, b, c = self.constant_rad_s2, self.linear_per_s, self.quadratic_per_rad
        even, odd = self._even_and_odd(time)
        above = (even - 0.5 * b * odd) * start_rad_s - a * odd
        below = even + (0.5 * b + c * start_rad_s) * odd
        speed = np.maximum(above / below, 0.0)
        return np.asarray(np.where(time < self.stop_s(start_rad_s), speed, 0.0), np.float64)

    def time_to_s(self, start_rad_s: float, speed_rad_s: float) -> float:
        """Give the time from a start speed down to another; infinite where it is never reached.

        Parameters
        ----------
        start_rad_s, speed_rad_s : float
            start_rad_s >= speed_rad_s >= 0.
        """
        a, b, c = self.constant_rad_s2, self.linear_per_s, self.quadratic_per_rad
        fallen = start_rad_s - speed_rad_s
        mean_drag = a + 0.5 * b * (start_rad_s + speed_rad_s) + c * start_rad_s * speed_rad_s
        if mean_drag <= 0.0:
            return inf if fallen > 0.0 else 0.0
        ratio = fallen / mean_drag
        half_root = 0.5 * sqrt(abs(self._discriminant))
        if half_root * ratio < 1e-8:
            return ratio
        if self._discriminant < 0.0:
            return atan(half_root * ratio) / half_root
        return atanh(half_root * ratio) / half_root if half_root * ratio < 1.0 else inf

    def stop_s(self, start_rad_s: float) -> float:
        """Give the time from a start speed to standstill; infinite without dry friction."""
        return self.time_to_s(start_rad_s, 0.0) if self.constant_rad_s2 > 0.0 else inf

    def sensitivity(self, start_rad_s: float, time_s: ArrayLike) -> Floats:
        """Give how the speed changes with the start speed and with each rate.

        Parameters
        ----------
        start_rad_s, time_s
            As for `speed_rad_s`.

        Returns
        -------
        array, shape (4, n)
            Derivatives by ω₀, a, b and c, of the same fraction; 0 once the rotor stands still.
        """
        time = np.asarray(time_s, np.float64)
        a, b, c = self.constant_rad_s2, self.linear_per_s, self.quadratic_per_rad
        even, odd = self._even_and_odd(time)
        # Derivatives of C and S by D.
        even_d, odd_d = time * odd / 8.0, self._odd_by_discriminant(time, even, odd)
        above = (even - 0.5 * b * odd) * start_rad_s - a * odd
        below = even + (0.5 * b + c * start_rad_s) * odd
        above_d = (even_d - 0.5 * b * odd_d) * start_rad_s - a * odd_d
        below_d = even_d + (0.5 * b + c * start_rad_s) * odd_d
        above_by = np.stack(
            [
                even - 0.5 * b * odd,
                -odd - 4.0 * c * above_d,
                -0.5 * odd * start_rad_s + 2.0 * b * above_d,
                -4.0 * a * above_d,
            ]
        )
        below_by = np.stack(
            [
                c * odd,
                -4.0 * c * below_d,
                0.5 * odd + 2.0 * b * below_d,
                start_rad_s * odd - 4.0 * a * below_d,
            ]
        )
        by = (above_by - above / below * below_by) / below
        return np.asarray(np.where(time < self.stop_s(start_rad_s), by, 0.0), np.float64)

    @property
    def _discriminant(self) -> float:
        return self.linear_per_s**2 - 4.0 * self.constant_rad_s2 * self.quadratic_per_rad

    def _even_and_odd(self, time_s: Floats) -> tuple[Floats, Floats]:
        """Give C and S; for D > 0 both times exp(-√D t/2), which a fraction of them does not see.

        Without that factor a long time would overflow.
        """
        root = sqrt(abs(self._discriminant))
        if self._discriminant < 0.0:
            angle = 0.5 * root * time_s
            return np.cos(angle), time_s * np.sinc(angle / np.pi)
        falling = np.exp(-root * time_s)
        # Twice the root below the smallest normal number would divide nothing by nothing.
        odd = -np.expm1(-root * time_s) / root if root > 1e-150 else time_s
        return 0.5 * (1.0 + falling), odd

    def _odd_by_discriminant(self, time_s: Floats, even: Floats, odd: Floats) -> Floats:
        """Give dS/dD, by its series where the difference of C t and S would vanish."""
        quarter = 0.25 * self._discriminant * time_s**2
        series = time_s**3 / 4.0 * (1 / 6 + quarter / 60 + quarter**2 / 1_680 + quarter**3 / 90_720)
        if self._discriminant > 0.0:
            series = series * np.exp(-0.5 * sqrt(self._discriminant) * time_s)
        is_small = np.abs(quarter) < 0.02
        divisor = np.where(is_small, 1.0, 2.0 * self._discriminant)
        return np.where(is_small, series, (time_s * even - odd) / divisor)
