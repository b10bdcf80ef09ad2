"""The return curve of an office over that of all offices, by the life core."""

from collections.abc import Sequence
from datetime import date
from math import isfinite

import numpy as np

from turnwell.life import MeanCumulative, mean_cumulative
from turnwell.pictures import CurveSteps, OldPace, ReturnCurve
from turnwell.web.lives.analysis.changes import VisitChecked
from turnwell.web.lives.analysis.estimated import estimated
from turnwell.web.lives.records import ShopHistories, ShopRecords
from turnwell.web.visits.models import Visit

__all__ = ["curve_of"]


def curve_of(
    records: ShopRecords,
    office: int,
    *,
    first: date,
    last: date,
    from_s: int,
    to_s: int,
    visits: Sequence[Visit],
    checked: Sequence[VisitChecked],
) -> ReturnCurve | None:
    """Give the return curve of an office; None where no handpiece of it was watched.

    Parameters
    ----------
    office : int
        Primary key.
    first, last : date
        Of the picture, by the office's clock.
    from_s, to_s : int
        The same as moments.
    visits : sequence of Visit
        All of the office that stand.
    checked : sequence of VisitChecked
        Those that were looked into, for the pace before the last training.
    """
    mine = records.calendar_histories(since_s=from_s, until_s=to_s, office=office)
    if mine.histories is None or last <= first:
        return None
    everyone = records.calendar_histories(since_s=from_s, until_s=to_s)
    offices = 1 if everyone.histories is None else everyone.histories.offices
    return ReturnCurve(
        first=first,
        last=last,
        office=_steps(mine, by_office=False),
        everyone=_steps(everyone, by_office=True) if offices > 1 else None,
        offices=offices,
        trainings=tuple(visit.visited_on for visit in visits if visit.was_training),
        visits=tuple(visit.visited_on for visit in visits if not visit.was_training),
        old_pace=_old_pace(checked),
    )


def _steps(found: ShopHistories, *, by_office: bool) -> CurveSteps:
    histories = found.histories
    if histories is None:
        return CurveSteps.of([], [], [], [], handpieces=1, returns=0)
    curve = mean_cumulative(histories, by_office=by_office)
    return CurveSteps.of(
        curve.time,
        curve.value,
        *_closed(curve),
        handpieces=int(np.unique(found.handpiece).size),
        returns=histories.returns,
        most_of_none=_most_of_none(curve) if histories.returns == 0 else None,
    )


def _most_of_none(curve: MeanCumulative) -> float | None:
    """Give how many returns a handpiece could have had where none came back."""
    most = curve.at(curve.end).high
    return most if isfinite(most) else None


def _closed(curve: MeanCumulative) -> tuple[Sequence[float], Sequence[float]]:
    """Close the limits that one unit alone leaves open; no band is drawn then."""
    low = np.where(np.isfinite(curve.low), curve.low, curve.value)
    high = np.where(np.isfinite(curve.high), curve.high, curve.value)
    return low.tolist(), high.tolist()


def _old_pace(checked: Sequence[VisitChecked]) -> OldPace | None:
    """Give the pace before the newest training that could be looked into."""
    for one in checked:
        if one.visit.was_training and one.pace_before is not None:
            return OldPace(one.visit.visited_on, estimated(one.pace_before))
    return None
