"""Rates of returns and the ratio of two, exact for Poisson counts.

References
----------
Limits of one rate: [GARWOOD1936]. Two rates given their sum: [PRZYBOROWSKI1940]; limits of its
share: [CLOPPER1934]. Why the central p-value: it alone agrees with these limits, [FAY2010].
"""

from dataclasses import dataclass
from math import inf, isfinite

from turnwell.errors import CannotTellError, InputError
from turnwell.life.estimate import Estimate
from turnwell.life.tails import tail_of

__all__ = ["RateRatio", "rate", "rate_p", "rate_ratio"]


@dataclass(frozen=True, slots=True)
class RateRatio:
    """One rate over another, and how well they agree with a stated ratio.

    Parameters
    ----------
    ratio : Estimate
        The first rate over the second; high infinite where the second had no event.
    p : float
        Central two-sided p-value of `null`: twice the smaller tail, 1 at most. Below 1 - level
        exactly where the interval leaves `null` out.
    null : float
        The ratio that `p` speaks of.
    """

    ratio: Estimate
    p: float
    null: float


def rate(count: int, exposure: float, *, level: float = 0.95) -> Estimate:
    """Give events per unit of exposure with the exact interval.

    Parameters
    ----------
    count : int
        Events, >= 0.
    exposure : float
        Time at risk, or the expected count (the rate is then observed over expected), > 0.
    level : float
        Coverage, at least; an exact interval of counts covers a little more.

    Raises
    ------
    InputError
        If the count is no whole number >= 0 or the exposure is not finite and > 0.

    Notes
    -----
    Assumes a Poisson count: events independent of one another. Returns of handpieces that differ
    vary more; `turnwell.life.shrink` allows for that.

    Examples
    --------
    >>> print(rate(10, 1.0))
    10 (4.79539 to 18.3904)
    >>> print(rate(0, 1.0))
    0 (0 to 3.68888)
    """
    from scipy.special import gammaincinv

    events, over = _count(count, "count"), _exposure(exposure, "exposure")
    tail = tail_of(level)
    low = float(gammaincinv(events, tail)) if events else 0.0
    high = float(gammaincinv(events + 1, 1.0 - tail))
    return Estimate(events / over, low / over, high / over, level)


def rate_p(count: int, expected: float) -> float:
    """Give the central two-sided p-value of an expected count.

    Parameters
    ----------
    count : int
        Events seen, >= 0.
    expected : float
        Events expected, > 0.

    Examples
    --------
    >>> round(rate_p(15, 20.0), 9)
    0.313026269
    """
    from scipy.special import pdtr, pdtrc

    events, mean = _count(count, "count"), _exposure(expected, "expected")
    at_most = float(pdtr(events, mean))
    at_least = float(pdtrc(events - 1, mean)) if events else 1.0
    return min(1.0, 2.0 * min(at_most, at_least))


def rate_ratio(
    count: int,
    exposure: float,
    base_count: int,
    base_exposure: float,
    *,
    null: float = 1.0,
    level: float = 0.95,
) -> RateRatio:
    """Give one rate over another with the exact interval and its matching p-value.

    Parameters
    ----------
    count, exposure : int, float
        Events and time at risk of the rate above the line.
    base_count, base_exposure : int, float
        Those of the rate below the line.
    null : float
        Ratio that the p-value tests, > 0.
    level : float
        Coverage, at least.

    Raises
    ------
    CannotTellError
        If neither side had an event: any ratio would agree with that.
    InputError
        If a count is no whole number >= 0, or an exposure, `null` or `level` is out of range.

    Notes
    -----
    Valid for two Poisson counts whose windows were fixed beforehand. Where an office was chosen for
    its bad spell, this ratio falls by itself; `turnwell.life.change` does not.

    Examples
    --------
    >>> found = rate_ratio(11, 800.0, 21, 3011.0)
    >>> print(found.ratio, round(found.p, 4))
    1.97149 (0.858426 to 4.27727) 0.112
    """
    from scipy.special import betaincinv

    events, base = _count(count, "count"), _count(base_count, "base_count")
    over, base_over = _exposure(exposure, "exposure"), _exposure(base_exposure, "base_exposure")
    asked = _exposure(null, "null")
    tail = tail_of(level)
    if events + base == 0:
        raise CannotTellError(
            "neither side had a return, so that any ratio would agree; wait for the first"
        )
    scale = base_over / over
    # The share's odds, not the share: 1 - share loses its digits where the ratio is extreme.
    low = 0.0 if events == 0 else _odds(betaincinv(events, base + 1, tail))
    high = inf if base == 0 else 1.0 / _odds(betaincinv(base, events + 1, tail))
    value = inf if base == 0 else events / base
    return RateRatio(
        Estimate(value * scale, low * scale, high * scale, level),
        _share_p(events, base, asked / scale),
        asked,
    )


def _odds(share: float) -> float:
    return float(share / (1.0 - share)) if share < 1.0 else inf


def _share_p(events: int, base: int, odds: float) -> float:
    """Give the central p-value of the odds that an event falls on the first side."""
    from scipy.special import betainc

    share = odds / (1.0 + odds)
    at_least = float(betainc(events, base + 1, share)) if events else 1.0
    at_most = float(betainc(base, events + 1, 1.0 - share)) if base else 1.0
    return min(1.0, 2.0 * min(at_least, at_most))


def _count(given: int, name: str) -> int:
    if not isfinite(given) or given < 0 or given != int(given):
        raise InputError(f"{name} is {given}, must be a whole number >= 0")
    return int(given)


def _exposure(given: float, name: str) -> float:
    if not 0.0 < given < inf:
        raise InputError(f"{name} is {given}, must be finite and > 0")
    return float(given)
