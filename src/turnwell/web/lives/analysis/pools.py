"""Lives that a repair is judged by.

Those after the same kind of repair on the same class of handpiece; where these are too few, those
after any repair on that class; where these are too few as well, none.
"""

from dataclasses import dataclass
from functools import partial
from math import ceil

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import CannotTellError
from turnwell.life import WeibullGrid, weibull_grid
from turnwell.web.jobs.models import OptionKind
from turnwell.web.lives.kept import kept_answer
from turnwell.web.lives.records import ShopLives, ShopRecords

__all__ = ["FEWEST_RETURNS", "Pool", "pool_of"]

# Fewer returns than this carry no life; our choice.
FEWEST_RETURNS = 5
# Where more of the returns are of one handpiece, they tell of that one alone; our choice.
MOST_OF_ONE = 0.5
# Of jobs still to come, so many are taken to end in a return where the shop cannot say yet.
USUAL_SHARE = 0.4


@dataclass(frozen=True, slots=True, eq=False)
class Pool:
    """Lives that an option is judged by.

    Parameters
    ----------
    behind : ShopLives
    kind : OptionKind or None
        Of the repairs; None for any of the class.
    grid : WeibullGrid or None
        None where the lives are too few.
    """

    behind: ShopLives
    kind: OptionKind | None
    grid: WeibullGrid | None

    @property
    def returns(self) -> int:
        """How many of the lives ended in a return."""
        return 0 if self.behind.lives is None else self.behind.lives.failures

    @property
    def jobs_missing(self) -> int:
        """How many more such jobs it takes until something can be told, about."""
        share = self.returns / self.behind.count if self.returns else USUAL_SHARE
        missing = max(FEWEST_RETURNS - self.returns, 1)
        return ceil(missing / share)


def pool_of(records: ShopRecords, class_key: str, kind: OptionKind | None) -> Pool:
    """Give the lives an option of a kind, or one of no known kind, is judged by on a class."""
    # A new handpiece does not last as a repaired one does: nothing stands in for its lives.
    for of in (kind,) if kind is OptionKind.REPLACE else (kind, None):
        pool = kept_answer(records, ("pool", class_key, of), partial(_pool, records, class_key, of))
        if pool.grid is not None:
            break
    return pool


def _is_enough(returned: NDArray[np.int64]) -> bool:
    """Tell whether returns carry a life: enough of them, and not most of one handpiece."""
    if returned.size < FEWEST_RETURNS:
        return False
    _, counts = np.unique(returned, return_counts=True)
    return int(counts.max()) <= MOST_OF_ONE * returned.size


def _pool(records: ShopRecords, class_key: str, kind: OptionKind | None) -> Pool:
    if kind is OptionKind.REPLACE:
        behind = records.first_lives(class_key=class_key)
    else:
        behind = records.repair_lives(kind=kind, class_key=class_key)
    grid = None
    if behind.lives is not None and _is_enough(behind.handpiece[behind.lives.is_failed]):
        try:
            grid = weibull_grid(behind.lives)
        except CannotTellError:
            # Lives that no law fits carry none: the same as too few.
            grid = None
    return Pool(behind, kind, grid)
