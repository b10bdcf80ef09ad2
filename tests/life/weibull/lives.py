"""Simulated lives whose truth is known."""

from enum import Enum, auto

import numpy as np

from turnwell.life import Lives

__all__ = ["SCALE", "Watch", "simulated"]

SCALE = 1000.0


class Watch(Enum):
    """How watching ends and begins; about 30 % are seen to fail."""

    ONE_AGE = auto()
    RANDOM = auto()
    LATE = auto()


# Longest time watched, uniform from 0, that sees 30 % fail, by shape; found by bisection.
_RANDOM = {1.0: 761.4, 2.0: 1124.6, 3.5: 1266.9}
_LATE = {1.0: 756.8, 2.0: 849.0, 3.5: 903.4}


def simulated(watch: Watch, count: int, rng: np.random.Generator, *, shape: float = 2.0) -> Lives:
    """Draw lives of scale 1,000 with a share of about 0.3 failed.

    Late: 70 % enter at an age uniform to 700, those that had failed before are never seen.
    """
    life = SCALE * rng.weibull(shape, 8 * count)
    entry = np.zeros(8 * count)
    if watch is Watch.LATE:
        entry = np.where(rng.random(8 * count) < 0.3, 0.0, rng.uniform(0.0, 700.0, 8 * count))
    seen = np.flatnonzero(life > entry)[:count]
    life, entry = life[seen], entry[seen]
    if watch is Watch.ONE_AGE:
        end = np.full(count, SCALE * (-np.log(0.7)) ** (1.0 / shape))
    else:
        longest = (_RANDOM if watch is Watch.RANDOM else _LATE)[shape]
        end = entry + rng.uniform(0.0, longest, count)
    return Lives.observed(np.minimum(life, end), life <= end, entry=entry)
