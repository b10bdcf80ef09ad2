"""The log-rank test: whether groups fail at the same rate at every age.

References
----------
[MANTEL1966]; for late entry and strata [KLEINMOESCHBERGER2003], 7.3 to 7.5. Variance over offices:
[LIANG1986]; its reference distribution for few offices: [HOTELLING1931].
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import CannotTellError, InputError
from turnwell.life.curves.risk import Risk, risk_of
from turnwell.life.lives import Lives

__all__ = ["LogRank", "log_rank"]


@dataclass(frozen=True, slots=True, eq=False)
class LogRank:
    """What was seen in each group beside what would be if all failed alike.

    Parameters
    ----------
    chi2 : float
        Statistic; 0 where nothing tells the groups apart.
    degrees : int
        Groups less one, or fewer where some were never at risk together.
    p : float
        Of a statistic as large when all lives are independent.
    observed, expected : array, shape (g,)
        Failures of each group, and those expected of it.
    strata : int
        How many strata were compared within; 1 without.
    offices : int
    over_offices_p : float or None
        The same for lives of which those of one office may be alike; None where there are not more
        offices than groups.
    """

    chi2: float
    degrees: int
    p: float
    observed: NDArray[np.float64]
    expected: NDArray[np.float64]
    strata: int
    offices: int
    over_offices_p: float | None

    @property
    def safe_p(self) -> float:
        """The p to act on: the larger one where there is one over offices."""
        return self.p if self.over_offices_p is None else max(self.p, self.over_offices_p)


@dataclass(frozen=True, slots=True, eq=False)
class _Scores:
    """Sums of one stratum: by group, the variance of their difference, and by life."""

    observed: NDArray[np.float64]
    expected: NDArray[np.float64]
    variance: NDArray[np.float64]
    each: NDArray[np.float64]


def log_rank(groups: Sequence[Lives], *, strata: Sequence[ArrayLike] | None = None) -> LogRank:
    """Test whether groups of lives fail at the same rate at every age.

    Parameters
    ----------
    groups : sequence of Lives
        Two at least; offices carry the same numbers in all of them.
    strata : sequence of array of int, or None
        For each group the stratum of each life; groups are compared within strata only. Give
        ``[lives.office for lives in groups]`` to compare within offices. Where a group is a group
        of whole offices that leaves nothing to compare: go without strata then and read
        `LogRank.over_offices_p`.

    Raises
    ------
    CannotTellError
        If nothing failed while two groups were at risk together.
    InputError
        If there is one group only, clocks differ, a failure lies between two looks, or strata do
        not fit the groups.

    Examples
    --------
    >>> first = Lives.observed([4, 5, 7], [1, 1, 1])
    >>> second = Lives.observed([8, 9, 9], [1, 0, 0])
    >>> round(log_rank([first, second]).p, 3)
    0.025
    """
    if len(groups) < 2:
        raise InputError(f"{len(groups)} group was given; a comparison needs two")
    if len({lives.clock for lives in groups}) > 1:
        raise InputError("groups count in different clocks; compare cycles with cycles")
    lives, group = _joined(groups)
    stratum = _strata(strata, groups)
    scores = [
        _scores(risk_of(lives.chosen(rows)), group[rows], len(groups)) for rows in _rows_by(stratum)
    ]
    observed = np.sum([one.observed for one in scores], axis=0)
    expected = np.sum([one.expected for one in scores], axis=0)
    # The last group's difference is minus the sum of the others'.
    told = (observed - expected)[:-1]
    variance = np.sum([one.variance for one in scores], axis=0)[:-1, :-1]
    chi2, degrees = _quadratic(told, variance)
    if degrees == 0:
        raise CannotTellError(
            "nothing failed while lives of two groups were at risk together; there is nothing to "
            "compare"
        )
    each = np.zeros((lives.count, len(groups)))
    for rows, one in zip(_rows_by(stratum), scores, strict=True):
        each[rows] = one.each
    return LogRank(
        chi2=chi2,
        degrees=degrees,
        p=_chi2_tail(chi2, degrees),
        observed=observed,
        expected=expected,
        strata=len(scores),
        offices=lives.offices,
        over_offices_p=_over_offices(told, each[:, :-1], lives.office, degrees),
    )


def _joined(groups: Sequence[Lives]) -> tuple[Lives, NDArray[np.intp]]:
    none = np.full(sum(lives.count for lives in groups), -1, dtype=np.intp)
    joined = Lives(
        np.concatenate([lives.low for lives in groups]),
        np.concatenate([lives.high for lives in groups]),
        np.concatenate([lives.entry for lives in groups]),
        none,
        np.concatenate([lives.office for lives in groups]),
        clock=groups[0].clock,
    )
    return joined, np.repeat(np.arange(len(groups)), [lives.count for lives in groups])


def _strata(strata: Sequence[ArrayLike] | None, groups: Sequence[Lives]) -> NDArray[np.intp]:
    if strata is None:
        return np.zeros(sum(lives.count for lives in groups), dtype=np.intp)
    codes = [np.asarray(one) for one in strata]
    if [one.shape for one in codes] != [(lives.count,) for lives in groups]:
        raise InputError("strata must give one code for each life of each group")
    return np.unique(np.concatenate(codes), return_inverse=True)[1].astype(np.intp)


def _rows_by(stratum: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    order = np.argsort(stratum, kind="stable")
    return np.split(order, np.flatnonzero(np.diff(stratum[order])) + 1)


def _scores(risk: Risk, group: NDArray[np.intp], groups: int) -> _Scores:
    """Give one stratum's sums; group is the one of each life of the risk."""
    steps, enter, leave = risk.time.size, risk.enter, risk.leave
    failed, step = risk.lives.is_failed, risk.step
    cells = groups * (steps + 1)
    flat = group * (steps + 1)
    here = np.bincount(flat + enter, minlength=cells) - np.bincount(flat + leave, minlength=cells)
    at_risk = np.cumsum(here.reshape(groups, steps + 1)[:, :steps], axis=1)
    share = at_risk / risk.at_risk
    hazard = risk.failures / risk.at_risk
    observed = np.bincount(group[failed], minlength=groups).astype(np.float64)
    left = (risk.at_risk - risk.failures) / np.maximum(risk.at_risk - 1.0, 1.0)
    weight = risk.failures * left
    variance = np.diag(share @ weight) - (share * weight) @ share.T
    # Of a life of group k at step j: (1{own} - share) (failed - hazard), summed while at risk.
    own = _summed(hazard)
    others = np.apply_along_axis(_summed, 1, share * hazard)
    each = (others[:, leave] - others[:, enter]).T
    rows = np.arange(group.size)
    each[rows, group] -= own[leave] - own[enter]
    each[failed] -= share[:, step].T
    each[rows[failed], group[failed]] += 1.0
    return _Scores(observed, share @ risk.failures, variance, each)


def _summed(values: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.concatenate([[0.0], np.cumsum(values)])


def _quadratic(told: NDArray[np.float64], variance: NDArray[np.float64]) -> tuple[float, int]:
    """Give the statistic and its degrees of freedom."""
    inverse = np.linalg.pinv(variance, hermitian=True)
    degrees = int(np.linalg.matrix_rank(variance, hermitian=True))
    return max(float(told @ inverse @ told), 0.0), degrees


def _over_offices(
    told: NDArray[np.float64], each: NDArray[np.float64], office: NDArray[np.intp], degrees: int
) -> float | None:
    """Give the p of the same differences when offices, not lives, are independent."""
    place = np.unique(office, return_inverse=True)[1]
    offices = int(place.max()) + 1
    if offices <= degrees + 1:
        return None
    sums = np.array([np.bincount(place, column, minlength=offices) for column in each.T])
    # Spread about their mean: about 0 a difference between the groups would hide itself.
    sums -= sums.mean(axis=1, keepdims=True)
    statistic, rank = _quadratic(told, sums @ sums.T * offices / (offices - 1.0))
    if rank < degrees:
        return None
    return _hotelling_tail(statistic, degrees, offices)


def _chi2_tail(chi2: float, degrees: int) -> float:
    from scipy.special import chdtrc

    return float(chdtrc(degrees, chi2))


def _hotelling_tail(statistic: float, degrees: int, offices: int) -> float:
    from scipy.special import fdtrc

    free = offices - degrees
    return float(fdtrc(degrees, free, statistic * free / (degrees * (offices - 1.0))))
