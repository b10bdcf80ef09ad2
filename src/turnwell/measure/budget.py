"""The uncertainty budget of a measured value: its parts, their combination, the 95 % interval.

References
----------
[JCGM100], 4.2 (repeatability), 4.3.7 (rectangular bounds), F.2.2.1 (resolution), 5.1.2
(combination), G.4.1 (effective degrees of freedom, Welch-Satterthwaite), G.6.4 (expanded
uncertainty).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isfinite, isinf, sqrt
from statistics import stdev

from turnwell.errors import InputError

__all__ = ["Budget", "Part", "common_error", "gauge_error", "repeatability", "resolution"]


@dataclass(frozen=True, slots=True)
class Part:
    """One source of uncertainty.

    Parameters
    ----------
    key : str
        Identifier of the source, with a text under ``measure.part.<key>``.
    standard : float
        Standard uncertainty in the value's unit, >= 0.
    degrees : float
        Degrees of freedom, > 0; infinite where the bound is taken as known.
    """

    key: str
    standard: float
    degrees: float = inf

    def __post_init__(self) -> None:
        if not isfinite(self.standard) or self.standard < 0:
            raise InputError(
                f"uncertainty part {self.key} is {self.standard}, must be finite and >= 0"
            )
        if not self.degrees > 0:
            raise InputError(
                f"uncertainty part {self.key} has {self.degrees} degrees of freedom, must be > 0"
            )


def repeatability(values: Sequence[float]) -> Part:
    """Give the standard uncertainty of the mean of repeated values (type A).

    Parameters
    ----------
    values : sequence of float
        At least two, finite.

    Raises
    ------
    InputError
        If there are fewer than two, or one is not finite.

    Examples
    --------
    >>> part = repeatability([10.0, 12.0, 11.0])
    >>> round(part.standard, 4), part.degrees
    (0.5774, 2.0)
    """
    if len(values) < 2:
        raise InputError(f"repeatability needs at least 2 values, got {len(values)}; measure again")
    if not all(isfinite(value) for value in values):
        raise InputError("repeatability needs finite values")
    return Part("repeatability", stdev(values) / sqrt(len(values)), float(len(values) - 1))


def resolution(step: float) -> Part:
    """Give the standard uncertainty from the smallest step a gauge shows: step / √12.

    >>> round(resolution(1.0).standard, 4)
    0.2887
    """
    return Part("resolution", _bound(step, "resolution") / sqrt(12.0))


def gauge_error(bound: float) -> Part:
    """Give the standard uncertainty of a gauge stated to be true within ± bound: bound / √3.

    >>> round(gauge_error(3.0).standard, 4)
    1.7321
    """
    return Part("gauge_error", _bound(bound, "gauge error") / sqrt(3.0))


def common_error(bound: float, *, key: str = "common_error") -> Part:
    """Give the standard uncertainty of an error within ± bound that all samples of a record share.

    It does not shrink with more samples: a sensor's tolerance, a recorder's clock.

    >>> round(common_error(0.5).standard, 4)
    0.2887
    """
    return Part(key, _bound(bound, key.replace("_", " ")) / sqrt(3.0))


@dataclass(frozen=True, slots=True)
class Budget:
    """A value with the parts of its uncertainty.

    Parameters
    ----------
    value : float
        Best estimate.
    parts : tuple of Part
        Independent sources, each already multiplied by its sensitivity.

    Examples
    --------
    >>> values = [398.0, 401.0, 400.0, 401.0]
    >>> budget = Budget(sum(values) / 4, (repeatability(values), resolution(1.0), gauge_error(2.0)))
    >>> low, high = budget.interval()
    >>> round(low, 2), round(high, 2)
    (397.21, 402.79)
    """

    value: float
    parts: tuple[Part, ...]

    def __post_init__(self) -> None:
        if not isfinite(self.value):
            raise InputError(f"the value is {self.value}, must be a finite number")
        object.__setattr__(self, "parts", tuple(self.parts))

    @property
    def standard(self) -> float:
        """Combined standard uncertainty."""
        return sqrt(sum(part.standard**2 for part in self.parts))

    @property
    def degrees(self) -> float:
        """Effective degrees of freedom by Welch and Satterthwaite; infinite when all parts are."""
        spread = sum(
            part.standard**4 / part.degrees for part in self.parts if not isinf(part.degrees)
        )
        return self.standard**4 / spread if spread > 0 else inf

    def coverage_factor(self, level: float = 0.95) -> float:
        """Two-sided coverage factor of Student's t for the effective degrees of freedom.

        Raises
        ------
        InputError
            If level is not between 0 and 1.

        Examples
        --------
        >>> round(Budget(0.0, (Part("a", 1.0, 10.0),)).coverage_factor(), 2)
        2.23
        """
        if not 0.0 < level < 1.0:
            raise InputError(f"level is {level}, must lie between 0 and 1")
        from scipy.special import ndtri, stdtrit

        tail = 0.5 + level / 2.0
        return float(ndtri(tail) if isinf(self.degrees) else stdtrit(self.degrees, tail))

    def interval(self, level: float = 0.95) -> tuple[float, float]:
        """Give the ends of the two-sided interval of the given coverage."""
        half = self.coverage_factor(level) * self.standard
        return self.value - half, self.value + half


def _bound(value: float, what: str) -> float:
    if not isfinite(value) or value < 0:
        raise InputError(f"{what} is {value}, must be a finite number >= 0")
    return value
