"""Simulated returns whose truth is known, for coverage, size and agreement."""

import numpy as np

from turnwell.life import Histories

__all__ = ["histories_of"]


def histories_of(
    rng: np.random.Generator,
    count: int,
    *,
    mean: float = 2.0,
    shape: float = 1.0,
    spread: float = 0.0,
    offices: int = 1,
    likeness: float = 0.0,
    cost: bool = False,
    bunch: float = 0.0,
) -> Histories:
    """Draw units watched for 100 to 800 days, half from a later day on, none beyond day 1000.

    A unit has on average ``mean * (day / 700)**shape`` returns up to a day, times a gamma factor of
    variance spread and one of variance likeness that its office shares. bunch is the mean number of
    further returns that follow one within days; with it the mean above no longer holds.
    """
    start = rng.uniform(0.0, 400.0, count) * (rng.uniform(size=count) < 0.5)
    stop = np.minimum(start + rng.uniform(100.0, 800.0, count), 1_000.0)
    office = rng.integers(0, offices, count)
    factor = np.ones(count)
    if spread:
        factor *= rng.gamma(1.0 / spread, spread, count)
    if likeness:
        factor *= rng.gamma(1.0 / likeness, likeness, offices)[office]
    first, last = ((age / 700.0) ** shape for age in (start, stop))
    unit = np.repeat(np.arange(count), rng.poisson(factor * mean * (last - first)))
    place = first[unit] + (last - first)[unit] * rng.uniform(size=unit.size)
    at = 700.0 * place ** (1.0 / shape)
    if bunch:
        more = rng.poisson(bunch, unit.size)
        unit = np.concatenate([unit, np.repeat(unit, more)])
        at = np.concatenate([at, np.repeat(at, more) + rng.exponential(20.0, more.sum())])
    kept = (at > start[unit]) & (at <= stop[unit])
    unit, at = unit[kept], at[kept]
    weight = np.round(rng.lognormal(4.0, 0.7, unit.size), 2) if cost else None
    return Histories.of(stop, unit, at, start=start, weight=weight, office=office)
