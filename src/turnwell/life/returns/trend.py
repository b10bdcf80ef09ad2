"""Whether returns come faster or slower over the watch: three tests, and one that is robust.

References
----------
Laplace's test and the one of chi-square, each unit in its own window: [COXLEWIS1966],
[NISTHANDBOOK], 8.2.3.4. Reverse arrangements: [MANN1945]. What spread between units and bunches of
returns do to them, and the test over units: [LAWLESSCOOK2012].
"""

from dataclasses import dataclass
from math import sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import CannotTellError
from turnwell.life.lives import Clock, Histories
from turnwell.life.returns.reversals import reversals_of
from turnwell.life.returns.watch import refuse_open_ends

__all__ = ["Trend", "trend"]

# Clusters with a return from which on the test over them is the one to act on. Below, its few
# degrees of freedom see next to nothing.
ENOUGH_CLUSTERS = 4


@dataclass(frozen=True, slots=True, eq=False)
class Trend:
    """Tests of returns that come at a steady rate; each p two-sided, twice the smaller tail.

    Parameters
    ----------
    laplace, laplace_p : float
        Laplace's statistic, standard normal: above 0 where returns crowd late in the watch. Each
        unit has a rate of its own; its returns are independent of each other.
    robust_laplace, robust_laplace_p : float or None
        The same from the spread of units (or offices, where there is more than one) instead:
        Student's t. Holds where returns come in bunches too. None with one cluster.
    chi2, degrees, chi2_p
        Twice the sum of ln(window / time into it): small where returns crowd late, large where they
        crowd early. Degrees of freedom are twice the returns.
    reversals : int or None
        Pairs of gaps of a unit of which the later is longer. Needs no law of the gaps, but gaps
        that are alike in any order: bunches in many short watches look like a trend to it. None
        where no unit has two.
    expected_reversals : float or None
        Those expected without a trend; fewer where gaps grow shorter.
    reversals_p : float or None
        Exact for up to 12 gaps a unit and 30 units, normal beyond. Gaps as long as each other never
        speak for a trend.
    returns, units, clusters : int
        Returns used, units watched, and clusters that had a return.
    is_failure_terminated : bool
    clock : Clock
    """

    laplace: float
    laplace_p: float
    robust_laplace: float | None
    robust_laplace_p: float | None
    chi2: float
    degrees: int
    chi2_p: float
    reversals: int | None
    expected_reversals: float | None
    reversals_p: float | None
    returns: int
    units: int
    clusters: int
    is_failure_terminated: bool
    clock: Clock

    @property
    def is_robust_used(self) -> bool:
        """True where the test over units or offices is the one to act on."""
        return self.robust_laplace is not None and self.clusters >= ENOUGH_CLUSTERS

    @property
    def p(self) -> float:
        """The p to act on: over units or offices where there are four at least."""
        robust = self.robust_laplace_p
        return robust if self.is_robust_used and robust is not None else self.laplace_p


def trend(histories: Histories, *, failure_terminated: bool = False) -> Trend:
    """Test whether returns come faster or slower over the watch of each unit.

    Parameters
    ----------
    histories : Histories
        Each return counts once, whatever its weight. Time is counted from the start of each watch.
    failure_terminated : bool
        Whether the watch of each unit was ended by its last return, which then tells nothing.

    Raises
    ------
    CannotTellError
        If nothing came back that could be used.
    InputError
        If a watch said to end by a return does not.

    Examples
    --------
    >>> steady = trend(Histories.of([10.0], [0, 0, 0, 0], [2.0, 4.0, 6.0, 8.0]))
    >>> round(steady.laplace, 3), round(steady.laplace_p, 3)
    (0.0, 1.0)
    """
    unit, into, window = _windows(histories, failure_terminated)
    if unit.size == 0:
        raise CannotTellError("nothing came back that could show a trend; it takes more returns")
    off = into - window / 2.0
    laplace = float(off.sum() / sqrt(np.sum(window**2) / 12.0))
    chi2, degrees = float(2.0 * np.sum(np.log(window / into))), 2 * unit.size
    robust = _robust(histories, unit, off)
    counted = reversals_of(histories)
    return Trend(
        laplace=laplace,
        laplace_p=_normal_p(laplace),
        robust_laplace=robust.statistic,
        robust_laplace_p=robust.p,
        chi2=chi2,
        degrees=degrees,
        chi2_p=_chi2_p(chi2, degrees),
        reversals=counted.count if counted else None,
        expected_reversals=counted.expected if counted else None,
        reversals_p=counted.p if counted else None,
        returns=int(unit.size),
        units=histories.count,
        clusters=robust.clusters,
        is_failure_terminated=failure_terminated,
        clock=histories.clock,
    )


class _Windows(NamedTuple):
    """Unit, time into its window, and length of that window, of each return used."""

    unit: NDArray[np.intp]
    into: NDArray[np.float64]
    window: NDArray[np.float64]


def _windows(histories: Histories, is_failure_terminated: bool) -> _Windows:
    """Give the returns used; one that ended its watch tells nothing."""
    window = histories.stop - histories.start
    unit, at = histories.unit, histories.at
    if is_failure_terminated:
        refuse_open_ends(histories)
        kept = at < histories.stop[unit]
        unit, at = unit[kept], at[kept]
    return _Windows(unit, at - histories.start[unit], window[unit])


class _Robust(NamedTuple):
    """The number of clusters with a return, and the test of their sums where there is one."""

    clusters: int
    statistic: float | None = None
    p: float | None = None


def _robust(histories: Histories, unit: NDArray[np.intp], off: NDArray[np.float64]) -> _Robust:
    """Test the sums of units or offices."""
    from scipy.special import stdtr

    cluster = histories.office[unit] if histories.offices > 1 else unit
    sums = np.bincount(np.unique(cluster, return_inverse=True)[1], off)
    count = int(sums.size)
    spread = float(sums.std(ddof=1)) if count > 1 else 0.0
    if spread == 0.0:
        return _Robust(count)
    statistic = float(sums.mean()) / spread * sqrt(count)
    return _Robust(count, statistic, float(2.0 * stdtr(count - 1, -abs(statistic))))


def _normal_p(statistic: float) -> float:
    from scipy.special import ndtr

    return float(2.0 * ndtr(-abs(statistic)))


def _chi2_p(chi2: float, degrees: int) -> float:
    from scipy.special import chdtr, chdtrc

    return float(min(2.0 * min(chdtr(degrees, chi2), chdtrc(degrees, chi2)), 1.0))
