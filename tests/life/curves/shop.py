"""Simulated lives whose truth is known, for coverage and agreement."""

import numpy as np

from turnwell.life import Lives

__all__ = ["lives_of"]


def lives_of(
    rng: np.random.Generator,
    count: int,
    *,
    censoring: float = 1_500.0,
    entry: float = 400.0,
    offices: int = 1,
    likeness: float = 0.0,
    rounding: float = 0.0,
) -> Lives:
    """Draw lives of law exp(-(age / 1000)**1.5), half of them seen from a later age on.

    likeness is the variance of a gamma factor on the hazard that lives of one office share; the
    law above holds where it is 0. rounding is the step of the ages, for ties.
    """
    draws = 6 * count
    office = rng.integers(0, offices, draws)
    factor = rng.gamma(1.0 / likeness, likeness, offices) if likeness else np.ones(offices)
    life = 1_000.0 * (rng.exponential(1.0, draws) / factor[office]) ** (1.0 / 1.5)
    seen = rng.uniform(0.0, entry, draws) * (rng.uniform(size=draws) < 0.5)
    until = seen + rng.uniform(0.0, censoring, draws)
    if rounding:
        life, until = (rounding * np.ceil(each / rounding) for each in (life, until))
        seen = rounding * np.floor(seen / rounding)
    end = np.minimum(life, until)
    kept = np.flatnonzero(end > seen)[:count]
    cause = np.where(life <= until, rng.integers(-1, 2, draws), -1)
    return Lives.observed(
        end[kept],
        (life <= until)[kept],
        entry=seen[kept],
        cause=cause[kept],
        cause_names=["bearing", "chuck"],
        office=office[kept],
    )
