"""Mean life within a stretch ahead, for known shapes and scales."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["mean_ahead", "survival_ahead"]

# Beyond this cumulative hazard the rest of a life is that at a constant hazard, to 1e-15.
_LONG_PAST = 600.0


def survival_ahead(
    shape: ArrayLike, scale: ArrayLike, *, stretch: ArrayLike, age: float = 0.0
) -> NDArray[np.float64]:
    """Give the share of those at an age that pass a further stretch.

    Examples
    --------
    >>> round(float(survival_ahead(1.0, 100.0, stretch=100.0, age=50.0)), 4)
    0.3679
    """
    b, eta = np.asarray(shape, dtype=np.float64), np.asarray(scale, dtype=np.float64)
    with np.errstate(over="ignore"):
        spent = (age / eta) ** b
        gained = ((age + np.asarray(stretch, dtype=np.float64)) / eta) ** b - spent
    return np.exp(-np.where(np.isfinite(spent), gained, np.inf))


def mean_ahead(
    shape: ArrayLike, scale: ArrayLike, *, stretch: ArrayLike, age: float = 0.0
) -> NDArray[np.float64]:
    """Give the mean life of those at an age within a further stretch.

    The area under survival from the age to the stretch's end, over survival to the age:
    ``scale / shape * gamma(1/shape)`` times a difference of incomplete gamma functions.

    Parameters
    ----------
    shape, scale : array
        > 0; broadcast with `stretch`.
    stretch : array
        >= 0, in the clock of the scale; infinite for the whole rest.
    age : float
        >= 0.

    Examples
    --------
    A constant hazard forgets its age: mean 100, of which 63.2 % within a stretch of 100.

    >>> round(float(mean_ahead(1.0, 100.0, stretch=100.0, age=50.0)), 2)
    63.21
    """
    from scipy.special import gamma, gammainc, gammaincc

    b, eta = np.asarray(shape, dtype=np.float64), np.asarray(scale, dtype=np.float64)
    with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
        spent = np.minimum((age / eta) ** b, _LONG_PAST)
        end = ((age + np.asarray(stretch, dtype=np.float64)) / eta) ** b
        power = 1.0 / b
        whole = eta * power * gamma(power)
        if age == 0.0:
            return np.asarray(whole * gammainc(power, end), dtype=np.float64)
        # From either side, whichever does not take near-ones from one another.
        lower = gammainc(power, end) - gammainc(power, spent)
        upper = gammaincc(power, spent) - gammaincc(power, end)
        share = np.where(spent < power, lower, upper)
        ahead = whole * share * np.exp(spent)
    return np.asarray(np.clip(ahead, 0.0, stretch), dtype=np.float64)
