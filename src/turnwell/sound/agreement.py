"""How well one microphone and stand agree with a tachometer, and what that says of a speed.

Pairs of readings of the same run, one heard and one by a tachometer, are compared by their relative
differences. Their mean is the bias, and mean -+ 1.96 standard deviations are the limits within
which 95 % of such differences lie. The intervals of the limits are exact: a limit of agreement is a
quantile of a normal distribution, whose interval comes from the noncentral t distribution.

Agreement is not truth: a tachometer may be the worse of the two. So a bias is never taken off a
speed. It stands in the budget of the speed together with the spread and the tachometer's own error,
in place of what was only supposed of the recorder's clock.

References
----------
Bias and limits: [BLAND1986]. Exact intervals of the limits: [CARKEET2015]. Outliers: the
generalized extreme Studentized deviate, [ROSNER1983]. Degrees of freedom: [JCGM100], G.4.1.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isfinite, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.measure import Part
from turnwell.sound.quantity import Quantity
from turnwell.words import Message

__all__ = [
    "FEWEST_PAIRS",
    "Agreement",
    "Limits",
    "Quantity",
    "SpeedPair",
    "agreement_of",
    "check_sentence",
    "limits_of",
    "outliers_of",
    "own_check_part",
]

Floats = NDArray[np.float64]

FEWEST_PAIRS = 10
_NORMAL = 1.959963984540054
_PPM = 1e6
# Rosner's test is accurate where few of many are outliers.
_MOST_OUTLIERS = 5
_RISK = 0.05
# Means that differ by less tell nothing of how a difference changes with speed.
_LEAST_SPREAD = 0.02


@dataclass(frozen=True, slots=True)
class SpeedPair:
    """One speed as it was heard and as a tachometer gave it, both of the same shaft.

    Parameters
    ----------
    heard_rpm, tachometer_rpm : float
        > 0.
    tachometer_error_rpm : float or None
        The tachometer is stated to be true within ± this; None where nothing is stated.

    Raises
    ------
    InputError
        If a speed is not above zero or the error is negative.
    """

    heard_rpm: float
    tachometer_rpm: float
    tachometer_error_rpm: float | None = None

    def __post_init__(self) -> None:
        for name in ("heard_rpm", "tachometer_rpm"):
            value = getattr(self, name)
            if not (isfinite(value) and value > 0.0):
                raise InputError(f"{name} is {value}, must be a number > 0")
        error = self.tachometer_error_rpm
        if error is not None and not (isfinite(error) and error >= 0.0):
            raise InputError(f"tachometer_error_rpm is {error}, must be >= 0")

    @property
    def mean_rpm(self) -> float:
        """Mean of the two."""
        return 0.5 * (self.heard_rpm + self.tachometer_rpm)

    @property
    def difference_ppm(self) -> float:
        """Heard less tachometer, in parts per million of their mean."""
        return _PPM * (self.heard_rpm - self.tachometer_rpm) / self.mean_rpm


@dataclass(frozen=True, slots=True)
class Limits:
    """Bias and limits of agreement of a set of differences, in their unit.

    Parameters
    ----------
    count : int
    bias : Quantity
        Mean of the differences.
    sd : float
        Their standard deviation.
    lower, upper : Quantity
        Bias -+ 1.96 sd, with exact intervals.
    """

    count: int
    bias: Quantity
    sd: float
    lower: Quantity
    upper: Quantity


@dataclass(frozen=True, slots=True)
class Agreement:
    """How one microphone and stand agree with a tachometer.

    Parameters
    ----------
    pairs : tuple of SpeedPair
        As given.
    limits : Limits
        Of the relative differences, in parts per million.
    slope : Quantity or None
        Change of the difference with speed, ppm for each 100,000 rpm; None where all speeds are
        nearly alike.
    outliers : tuple of int
        Numbers of the pairs that do not fit in with the others; they are counted all the same.
    tachometer_ppm : float or None
        The tachometer is true within ± this; None where a pair does not say.
    """

    pairs: tuple[SpeedPair, ...]
    limits: Limits
    slope: Quantity | None
    outliers: tuple[int, ...]
    tachometer_ppm: float | None

    @property
    def changes_with_speed(self) -> bool:
        """True where the interval of the slope leaves out zero."""
        return self.slope is not None and self.slope.low * self.slope.high > 0.0

    @property
    def standard_ppm(self) -> float | None:
        """Standard uncertainty of a speed by this check; None where it cannot be used.

        The bias is left in the speed and so counts in full. The spread counts for one more reading
        and for the mean it is held against; the tachometer's error is shared by all pairs.
        """
        if self.tachometer_ppm is None:
            return None
        shared = self.tachometer_ppm / sqrt(3.0)
        return sqrt(self.limits.bias.value**2 + self._spread_ppm**2 + shared**2)

    @property
    def degrees(self) -> float:
        """Effective degrees of freedom of `standard_ppm`; only the spread is estimated."""
        standard_ppm, spread_ppm = self.standard_ppm, self._spread_ppm
        if standard_ppm is None or spread_ppm <= 0.0:
            return inf
        return (self.limits.count - 1) * (standard_ppm / spread_ppm) ** 4

    @property
    def _spread_ppm(self) -> float:
        """Of one more difference about the mean of those there are."""
        return self.limits.sd * sqrt(1.0 + 1.0 / self.limits.count)

    def as_dict(self) -> dict[str, Any]:
        """Give the agreement as JSON values; differences in parts per million."""
        return {
            "count": self.limits.count,
            "bias_ppm": self.limits.bias.as_dict(),
            "sd_ppm": self.limits.sd,
            "lower_ppm": self.limits.lower.as_dict(),
            "upper_ppm": self.limits.upper.as_dict(),
            "slope_ppm_per_100000_rpm": None if self.slope is None else self.slope.as_dict(),
            "outliers": list(self.outliers),
            "tachometer_ppm": self.tachometer_ppm,
            "standard_ppm": self.standard_ppm,
        }


def agreement_of(pairs: Sequence[SpeedPair]) -> Agreement | None:
    """Give the agreement that pairs of one microphone and stand show; None below ten pairs.

    Parameters
    ----------
    pairs : sequence of SpeedPair
        Each of another run; two readings of one run are no two pairs.

    Examples
    --------
    >>> pairs = [SpeedPair(400_000.0 + 20.0 * (n % 3), 400_000.0, 40.0) for n in range(12)]
    >>> round(agreement_of(pairs).limits.bias.value, 1)
    50.0
    >>> agreement_of(pairs[:9]) is None
    True
    """
    if len(pairs) < FEWEST_PAIRS:
        return None
    differences = np.array([pair.difference_ppm for pair in pairs])
    errors = [
        None if p.tachometer_error_rpm is None else _PPM * p.tachometer_error_rpm / p.tachometer_rpm
        for p in pairs
    ]
    known = [error for error in errors if error is not None]
    return Agreement(
        pairs=tuple(pairs),
        limits=limits_of(differences),
        slope=_slope(np.array([pair.mean_rpm for pair in pairs]), differences),
        outliers=outliers_of(differences),
        tachometer_ppm=max(known) if len(known) == len(errors) else None,
    )


def limits_of(differences: Sequence[float] | Floats) -> Limits:
    """Give bias and limits of agreement of differences, with 95 % intervals.

    Parameters
    ----------
    differences : sequence of float, shape (n,)
        At least three, finite, of independent pairs.

    Raises
    ------
    InputError
        If there are fewer than three or one is not finite.

    Examples
    --------
    >>> found = limits_of([-1.0, 0.0, 1.0, 0.0])
    >>> found.bias.value, round(found.upper.value, 2)
    (0.0, 1.6)
    """
    from scipy.special import nctdtrit, stdtrit

    values = np.asarray(differences, dtype=np.float64)
    if values.ndim != 1 or values.size < 3 or not np.isfinite(values).all():
        raise InputError("limits of agreement need at least 3 finite differences")
    count = values.size
    mean, sd = float(values.mean()), float(values.std(ddof=1))
    step = sd / sqrt(count)
    half = float(stdtrit(count - 1, 0.975)) * step
    shift = _NORMAL * sqrt(count)
    near, far = (float(nctdtrit(count - 1, shift, tail)) * step for tail in (0.025, 0.975))
    return Limits(
        count=count,
        bias=Quantity(mean, mean - half, mean + half),
        sd=sd,
        lower=Quantity(mean - _NORMAL * sd, mean - far, mean - near),
        upper=Quantity(mean + _NORMAL * sd, mean + near, mean + far),
    )


def outliers_of(values: Sequence[float] | Floats) -> tuple[int, ...]:
    """Give the numbers of the values that do not fit in with the others, at a risk of 5 % in all.

    Up to five, and at most a fifth of the values, are looked for. The farthest value is taken out
    again and again; the last whose distance is too large for its number makes all before it
    outliers too, so that two of them cannot hide each other.

    Parameters
    ----------
    values : sequence of float, shape (n,)
        Normal but for the outliers; none are named among fewer than ten.

    Examples
    --------
    >>> outliers_of([1.0, 2.0, 3.0, 2.0, 1.0, 2.0, 3.0, 2.0, 1.0, 2.0, 60.0, 2.0])
    (10,)
    """
    from scipy.special import stdtrit

    left = list(enumerate(np.asarray(values, dtype=np.float64).tolist()))
    if len(left) < FEWEST_PAIRS:
        return ()
    taken: list[int] = []
    named = 0
    for _ in range(min(_MOST_OUTLIERS, len(left) // 5)):
        count = len(left)
        rest = np.array([value for _, value in left])
        sd = float(rest.std(ddof=1))
        if sd <= 0.0:
            break
        far = int(np.argmax(np.abs(rest - rest.mean())))
        t = float(stdtrit(count - 2, 1.0 - _RISK / (2.0 * count)))
        bound = (count - 1) * t / sqrt((count - 2 + t * t) * count)
        taken.append(left[far][0])
        if abs(rest[far] - rest.mean()) / sd > bound:
            named = len(taken)
        del left[far]
    return tuple(sorted(taken[:named]))


def own_check_part(agreement: Agreement | None, value_rpm: float) -> Part | None:
    """Give the part of a speed's uncertainty that the shop's own check shows.

    Parameters
    ----------
    agreement : Agreement or None
        None where there are not enough pairs.
    value_rpm : float
        The speed, as heard.

    Returns
    -------
    Part or None
        ``own_check``, in rpm, to take the place of the clock's part; None where no check can.
    """
    if agreement is None or (standard_ppm := agreement.standard_ppm) is None:
        return None
    standard = value_rpm * standard_ppm / _PPM
    return Part("own_check", standard, agreement.degrees)


def check_sentence(agreement: Agreement | None, clock_ppm: float) -> Message:
    """Say in one sentence what the interval of a speed owes to the shop's own check.

    Parameters
    ----------
    agreement : Agreement or None
    clock_ppm : float
        Bound of the clock's error that stands in for a check.
    """
    if agreement is None:
        return Message("agreement.unchecked", {"clock_ppm": clock_ppm})
    if (standard_ppm := agreement.standard_ppm) is None:
        return Message("agreement.no_error", {"clock_ppm": clock_ppm})
    return Message(
        "agreement.checked",
        {
            "count": agreement.limits.count,
            "bias_percent": agreement.limits.bias.value / 1e4,
            "lower_percent": agreement.limits.lower.value / 1e4,
            "upper_percent": agreement.limits.upper.value / 1e4,
            "standard_percent": standard_ppm / 1e4,
        },
    )


def _slope(means_rpm: Floats, differences: Floats) -> Quantity | None:
    """Give the slope of the differences on the speed by least squares, with its interval."""
    from scipy.special import stdtrit

    if np.ptp(means_rpm) < _LEAST_SPREAD * means_rpm.mean():
        return None
    speed = (means_rpm - means_rpm.mean()) / 1e5
    square = float(speed @ speed)
    slope = float(speed @ differences) / square
    misfit = differences - differences.mean() - slope * speed
    freedom = differences.size - 2
    sd = sqrt(float(misfit @ misfit) / freedom / square)
    half = float(stdtrit(freedom, 0.975)) * sd
    return Quantity(slope, slope - half, slope + half)
