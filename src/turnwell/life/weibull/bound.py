"""The least scale that lives without a failure leave open, once a shape is assumed.

With no failure in all that was watched, the scale is at least

    (sum(exit^b - entry^b) / -ln(1 - level))^(1/b)

at a one-sided level: were it less, so long a watch without a failure would have had a chance below
1 - level. The shape is an assumption: it comes from like handpieces, never from these lives.

References
----------
[MEEKERESCOBAR1998], 8.
"""

from dataclasses import dataclass
from math import exp, inf, log, log1p

from turnwell.errors import InputError
from turnwell.life.lives import Clock, Lives
from turnwell.life.tails import checked_level
from turnwell.life.weibull.likelihood import likelihood_of

__all__ = ["ScaleBound", "scale_bound"]


@dataclass(frozen=True, slots=True)
class ScaleBound:
    """One-sided lower bound of a scale.

    Parameters
    ----------
    low : float
        The scale is at least this, in `clock`.
    shape : float
        Assumed.
    level : float
        One-sided.
    count : int
    clock : Clock
    """

    low: float
    shape: float
    level: float
    count: int
    clock: Clock

    def survival(self, age: float) -> float:
        """Give the share that passes an age, at least."""
        if not 0.0 <= age < inf:
            raise InputError(f"age is {age}, must be finite and >= 0")
        return exp(-((age / self.low) ** self.shape))


def scale_bound(lives: Lives, *, shape: float, level: float = 0.95) -> ScaleBound:
    """Bound the scale of lives of which none failed.

    Parameters
    ----------
    shape : float
        Assumed, 0.05 to 50.
    level : float
        One-sided, above 0 and below 1.

    Raises
    ------
    InputError
        If one failed (fit them instead), or an option is out of range.

    Examples
    --------
    Ten ran 1,000 cycles each; a constant hazard then allows no mean below 10,000 / 3.

    >>> bound = scale_bound(Lives.observed([1000.0] * 10, [False] * 10), shape=1.0)
    >>> round(bound.low, 1)
    3338.1
    """
    if lives.failures:
        raise InputError(f"{lives.failures} of the lives failed; fit them with weibull_fit")
    if not 0.05 <= shape <= 50.0:
        raise InputError(f"shape is {shape}, must lie between 0.05 and 50")
    likelihood = likelihood_of(lives)
    watched = likelihood.exposure(shape).total
    low = exp(likelihood.unit + log(watched / -log1p(-checked_level(level))) / shape)
    return ScaleBound(low, shape, level, lives.count, lives.clock)
