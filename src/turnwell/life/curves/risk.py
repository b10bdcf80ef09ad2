"""Who was at risk at each age at which something failed."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.life.clusters import Clusters
from turnwell.life.lives import Lives

__all__ = ["Risk", "risk_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Risk:
    """The ages at which lives ended by a failure, and who was under observation there.

    Parameters
    ----------
    lives : Lives
        Those that reached beyond `start`, their entries raised to it.
    start : float
        Age from which is counted: the first entry, or a later one that was asked for.
    end : float
        Last age at which a life was under observation.
    time : array, shape (m,)
        Distinct ages of failure, rising.
    at_risk, failures : array of float, shape (m,)
        How many were under observation just before, and how many of them failed. Failures come
        before the losses of the same age.
    exits : array, shape (n,)
        Ages at the end, rising.
    """

    lives: Lives
    start: float
    end: float
    time: NDArray[np.float64]
    at_risk: NDArray[np.float64]
    failures: NDArray[np.float64]
    exits: NDArray[np.float64]

    @property
    def survival(self) -> NDArray[np.float64]:
        """Share that runs on past each age of failure, by the product of what each leaves."""
        return np.cumprod(1.0 - self.failures / self.at_risk, dtype=np.float64)

    @property
    def step(self) -> NDArray[np.intp]:
        """Step of each failure, in the order of the lives that failed."""
        return np.searchsorted(self.time, self.lives.low[self.lives.is_failed]).astype(np.intp)

    @property
    def enter(self) -> NDArray[np.intp]:
        """First step at which each life was at risk, shape (n,)."""
        return np.searchsorted(self.time, self.lives.entry, side="right").astype(np.intp)

    @property
    def leave(self) -> NDArray[np.intp]:
        """Step after the last at which each life was at risk, shape (n,)."""
        return np.searchsorted(self.time, self.lives.low, side="right").astype(np.intp)

    def clusters(self, cluster: NDArray[np.intp]) -> Clusters:
        """Give the clusters of the lives, told by a code for each of them."""
        return Clusters(
            cluster,
            self.enter,
            self.leave,
            cluster[self.lives.is_failed],
            self.step,
            steps=self.time.size,
        )


def risk_of(lives: Lives, *, start: float | None = None) -> Risk:
    """Count who was at risk at each age of failure.

    Parameters
    ----------
    lives : Lives
        Each failure's age known.
    start : float or None
        Age to count from; lives that ended before it are left out. The first entry where None.

    Raises
    ------
    InputError
        If a failure is only known to lie between two looks, or no life reaches beyond start.
    """
    if not lives.is_exact:
        raise InputError(
            "some failures are only known to lie between two looks, and this curve needs their "
            "ages; fit a Weibull law to such lives"
        )
    first = float(lives.entry.min())
    if start is not None and start > first:
        lives, first = _beyond(lives, start), float(start)
    ages = lives.low
    time, failures = np.unique(ages[lives.is_failed], return_counts=True)
    exits = np.sort(ages)
    here = np.searchsorted(np.sort(lives.entry), time, side="left")
    gone = np.searchsorted(exits, time, side="left")
    return Risk(
        lives=lives,
        start=first,
        end=float(exits[-1]),
        time=time,
        at_risk=(here - gone).astype(np.float64),
        failures=failures.astype(np.float64),
        exits=exits,
    )


def _beyond(lives: Lives, start: float) -> Lives:
    reaches = lives.low > start
    if not reaches.any():
        raise InputError(f"no life reaches beyond start {start:g}; count from an earlier age")
    kept = lives.chosen(reaches)
    entry = np.maximum(kept.entry, start)
    return Lives(kept.low, kept.high, entry, kept.cause, kept.office, kept.cause_names, kept.clock)
