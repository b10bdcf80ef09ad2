"""Fits the law of the drag to a falling speed: which terms there are, how large, how surely.

No rate is below zero. With three rates there are seven sets of those above zero; each is fitted by
Gauss and Newton from a start that the law's integral gives, so the best of all sets is the best
that the bounds allow. The weight of a set is its Bayesian information criterion's, and the interval
of a rate is that of all sets together: a term that might as well be absent reaches down to 0.

References
----------
Least squares by active sets: [LAWSON1974]. Weights of models from the information criterion:
[RAFTERY1995].
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations
from math import erf, sqrt

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.coast.law import DragLaw

__all__ = ["TERMS", "FittedTerms", "best_law", "chances", "fit_terms", "rate_interval"]

Floats = NDArray[np.float64]
Whitening = Callable[[Floats], Floats]

TERMS = ("constant", "linear", "quadratic")
_SETS = tuple(chosen for size in (1, 2, 3) for chosen in combinations(range(3), size))
_ROUNDS = 20
_DONE = 1e-6  # of the sum of squares, whose units are variances
_SHORTEST = 0.01
_SMALL = 1e-3  # of the start speed over the time


@dataclass(frozen=True, slots=True, eq=False)
class FittedTerms:
    """One set of terms, fitted.

    Parameters
    ----------
    chosen : tuple of int
        Places of its terms among constant, linear, quadratic.
    start : float
        Speed at time 0.
    law : DragLaw
    misfit : float
        Sum of squares of the whitened residuals.
    covariance : array, shape (1 + terms, 1 + terms)
        Of the start speed and the chosen rates.
    """

    chosen: tuple[int, ...]
    start: float
    law: DragLaw
    misfit: float
    covariance: Floats

    @property
    def correlation(self) -> Floats:
        """Correlation of the start speed and the chosen rates."""
        size = np.sqrt(np.diag(self.covariance))
        return np.asarray(self.covariance / np.outer(size, size), np.float64)


def best_law(time: Floats, speed: Floats, whitening: Whitening) -> FittedTerms:
    """Give the law nearest to the points, whatever its terms.

    Parameters
    ----------
    time, speed : arrays, shape (n,)
        n >= 5, time rising from 0, speed > 0.
    whitening : function
        Makes values at the points, shape (n, ...), independent with variance 1.
    """
    return min(fit_terms(time, speed, whitening), key=lambda fitted: fitted.misfit)


def fit_terms(time: Floats, speed: Floats, whitening: Whitening) -> tuple[FittedTerms, ...]:
    """Fit every set of terms that lets all its rates be above zero.

    A set whose best has a rate of zero is the same as the smaller set without that term, and is
    left out. There is always one: a set of a single term.
    """
    fitted = (_fitted(time, speed, whitening, chosen) for chosen in _SETS)
    return tuple(one for one in fitted if one is not None)


def chances(fitted: tuple[FittedTerms, ...], points: int) -> Floats:
    """Give the chance of each set, of their information criteria."""
    criterion = np.array([one.misfit + len(one.chosen) * np.log(points) for one in fitted])
    chance = np.exp(-0.5 * (criterion - criterion.min()))
    return np.asarray(chance / chance.sum(), np.float64)


def rate_interval(
    fitted: tuple[FittedTerms, ...], chance: Floats, term: int, level: float = 0.95
) -> tuple[float, float]:
    """Give the interval of one rate over all sets of terms; a set without it has it at 0."""
    tail = 0.5 * (1.0 - level)
    rates = [_rates(one.law)[term] for one in fitted]
    sds = [
        sqrt(one.covariance[1 + one.chosen.index(term), 1 + one.chosen.index(term)])
        if term in one.chosen
        else 0.0
        for one in fitted
    ]

    def below(value: float) -> float:
        parts = [
            0.5 + 0.5 * erf((value - rate) / (sqrt(2.0) * sd)) if sd > 0.0 else float(value >= rate)
            for rate, sd in zip(rates, sds, strict=True)
        ]
        return float(chance @ np.array(parts))

    widest = max(rate + 10.0 * sd for rate, sd in zip(rates, sds, strict=True))
    return _quantile(below, tail, widest), _quantile(below, 1.0 - tail, widest)


def _quantile(below: Callable[[float], float], share: float, widest: float) -> float:
    """Bisect for the value that a share lies below, at least 0."""
    low, high = 0.0, widest
    if below(low) >= share:
        return 0.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if below(middle) < share else (low, middle)
    return high


def _rates(law: DragLaw) -> Floats:
    return np.array([law.constant_rad_s2, law.linear_per_s, law.quadratic_per_rad])


def _law(chosen: tuple[int, ...], rates: Floats) -> DragLaw:
    whole = np.zeros(3)
    whole[list(chosen)] = rates
    return DragLaw(*whole.tolist())


def _fitted(
    time: Floats, speed: Floats, whitening: Whitening, chosen: tuple[int, ...]
) -> FittedTerms | None:
    """Fit one set of terms; None where a rate runs to zero or below."""
    values = _begun(time, speed, whitening, chosen)
    misfit = _misfit(time, speed, whitening, chosen, values)
    jacobian = np.empty(0)
    for _ in range(_ROUNDS):
        law = _law(chosen, values[1:])
        columns = law.sensitivity(values[0], time)[[0, *(1 + term for term in chosen)]]
        jacobian = whitening(columns.T)
        rest = whitening(speed - law.speed_rad_s(values[0], time))
        step, *_ = np.linalg.lstsq(jacobian, rest, rcond=1e-12)
        share = 1.0
        while share > _SHORTEST:
            tried = np.maximum(values + share * step, 0.0)
            now = _misfit(time, speed, whitening, chosen, tried)
            if now <= misfit:
                values, misfit = tried, now
                break
            share *= 0.5
        expected = jacobian @ step
        if share <= _SHORTEST or expected @ expected < _DONE:
            break
    if np.any(values[1:] <= 0.0):
        return None
    covariance = np.asarray(np.linalg.pinv(jacobian.T @ jacobian), np.float64)
    return FittedTerms(chosen, float(values[0]), _law(chosen, values[1:]), misfit, covariance)


def _misfit(
    time: Floats, speed: Floats, whitening: Whitening, chosen: tuple[int, ...], values: Floats
) -> float:
    rest = whitening(speed - _law(chosen, values[1:]).speed_rad_s(values[0], time))
    return float(rest @ rest)


def _begun(time: Floats, speed: Floats, whitening: Whitening, chosen: tuple[int, ...]) -> Floats:
    """Give a first guess by the law's integral, which is linear in the start and the rates."""
    step = np.diff(time)
    columns = [np.ones_like(time)]
    for term in chosen:
        height = speed**term
        area = np.cumsum(0.5 * (height[1:] + height[:-1]) * step)
        columns.append(-np.concatenate([[0.0], area]))
    guess, *_ = np.linalg.lstsq(whitening(np.stack(columns, axis=1)), whitening(speed), rcond=None)
    guess[0] = speed[0] if guess[0] <= 0.0 else guess[0]
    guess[1:] = np.maximum(guess[1:], _SMALL)
    return np.asarray(guess, np.float64)
