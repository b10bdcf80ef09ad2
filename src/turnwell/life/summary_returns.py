"""The answer to a table of returns."""

from collections.abc import Sequence
from math import log

import numpy as np

from turnwell.errors import CannotTellError, InputError
from turnwell.life.estimate import Estimate
from turnwell.life.lives import Histories
from turnwell.life.rates import rate
from turnwell.life.returns import (
    MeanCumulative,
    Trend,
    difference,
    mean_cumulative,
    power_law,
    trend,
)
from turnwell.life.summary import (
    AgePoint,
    Bound,
    GroupDifference,
    GroupSummary,
    Kind,
    Statistic,
    Summary,
)
from turnwell.life.summary_points import curve_of, reason_of, round_ages, told_by_chance
from turnwell.life.table import ReturnsTable
from turnwell.measure import Reading, cannot_tell
from turnwell.words import Message

__all__ = ["returns_summary"]

_SURE = 0.05


def returns_summary(table: ReturnsTable, *, ages: Sequence[float], level: float) -> Summary:
    """Give mean returns, their pace and its trend, and compare groups where there are any.

    Parameters
    ----------
    table : ReturnsTable
    ages : sequence of float
        At which mean returns are wanted; round ones where empty.
    level : float
        Coverage of the intervals.
    """
    histories = table.histories
    curve = mean_cumulative(histories, level=level)
    groups: tuple[GroupSummary, ...] | None = None
    differences: tuple[GroupDifference, ...] = ()
    not_compared: tuple[Message, ...] = ()
    if table.group is not None:
        parts = [histories.chosen(table.group == at) for at in range(len(table.group_names))]
        groups = tuple(
            _group(name, part, level) for name, part in zip(table.group_names, parts, strict=True)
        )
        differences, not_compared = _differences(table.group_names, parts, level)
    return Summary(
        kind=Kind.RETURNS,
        file=table.file,
        n=histories.count,
        failures=histories.returns,
        watched=histories.watched,
        clock=histories.clock,
        readings=(*_readings(histories, curve, level), *_cost(table.costs, level)),
        statistics=(_trend(histories),),
        curve=curve_of(curve, curve.value),
        points=_points(histories, curve, ages),
        groups=groups,
        differences=differences,
        bound=_bound(histories, level),
        notes=(*table.notes, *_notes(histories, curve), *not_compared),
    )


def _readings(histories: Histories, curve: MeanCumulative, level: float) -> tuple[Reading, ...]:
    where: dict[str, float | str] = {"end": curve.end, "clock": curve.clock.value}
    if histories.count == 1:
        # One unit says nothing of how units differ; the chance of its own returns is what is left.
        mean = rate(histories.returns, 1.0, level=level)
        says = Message("life_summary.returns_one_unit", where)
    else:
        mean, says = curve.at(curve.end), Message("life_summary.returns_mean", where)
    readings = [mean.reading("mean_cumulative_returns", "", why=says)]
    if histories.offices > 1:
        by_office = mean_cumulative(histories, by_office=True, level=level)
        says = Message("life_summary.returns_by_office", {**where, "offices": histories.offices})
        mean = by_office.at(by_office.end)
        readings.append(mean.reading("mean_cumulative_returns_by_office", "", why=says))
    return (*readings, *_power_law(histories, level))


def _power_law(histories: Histories, level: float) -> tuple[Reading, ...]:
    """Give the shape, and where there are several units or offices the one over these."""
    try:
        law = power_law(histories, level=level)
    except CannotTellError as error:
        return (cannot_tell("power_law_shape", "", reason_of(str(error)), level=level),)
    readings = [law.shape.reading("power_law_shape", "", why=_pace(law.shape))]
    if law.robust_shape is not None:
        over = "office" if histories.offices > 1 else "unit"
        key, why = f"power_law_shape_by_{over}", Message(f"life_summary.pace_by_{over}")
        readings.append(law.robust_shape.reading(key, "", why=why))
    return tuple(readings)


def _pace(shape: Estimate) -> Message:
    """Say whether returns come more often, or less, as units age."""
    says = "pace_not_shown"
    if shape.low > 1.0:
        says = "ever_more"
    elif shape.high < 1.0:
        says = "ever_less"
    return Message(f"life_summary.{says}")


def _cost(costs: Histories | None, level: float) -> tuple[Reading, ...]:
    """Give the mean cost of a unit's returns, in the money of the table."""
    if costs is None:
        return ()
    curve = mean_cumulative(costs, level=level)
    says = Message("life_summary.returns_cost", {"end": curve.end, "clock": curve.clock.value})
    return (curve.at(curve.end).reading("mean_cumulative_cost", "", why=says),)


def _trend(histories: Histories) -> Statistic:
    try:
        found = trend(histories)
    except CannotTellError as error:
        return Statistic("trend", None, None, reason_of(str(error)), (("laplace", None),))
    return _trend_of(found)


def _trend_of(found: Trend) -> Statistic:
    says = "trend_none"
    if found.p < _SURE:
        says = "trend_more" if found.laplace > 0.0 else "trend_less"
    return Statistic(
        "trend",
        found.laplace,
        found.laplace_p,
        Message(f"life_summary.{says}", {"p": told_by_chance(found.p)}),
        (
            ("laplace", found.laplace),
            ("robust_laplace", found.robust_laplace),
            ("robust_laplace_p", found.robust_laplace_p),
            ("chi2", found.chi2),
            ("degrees", found.degrees),
            ("chi2_p", found.chi2_p),
            ("reversals", found.reversals),
            ("reversals_p", found.reversals_p),
        ),
    )


def _points(
    histories: Histories, curve: MeanCumulative, ages: Sequence[float]
) -> tuple[AgePoint, ...]:
    points = []
    for age in ages or round_ages(curve.start, curve.end):
        at_risk = int(np.count_nonzero((histories.start < age) & (histories.stop >= age)))
        seen = curve.at(age) if curve.start <= age <= curve.end else None
        points.append(AgePoint(age, at_risk, seen, None))
    return tuple(points)


def _bound(histories: Histories, level: float) -> Bound | None:
    """Bound the rate from above where nothing came back [GARWOOD1936]."""
    if histories.returns:
        return None
    high = -log(1.0 - level) / histories.watched
    unit = histories.clock.value.removesuffix("s")
    params: dict[str, str | float] = {"high": high, "unit": unit, "percent": 100.0 * level}
    return Bound(
        "return_rate",
        high,
        f"1/{unit}",
        level,
        None,
        Message("life_summary.rate_bound", params),
    )


def _group(name: str, histories: Histories, level: float) -> GroupSummary:
    curve = mean_cumulative(histories, level=level)
    return GroupSummary(
        name=name,
        n=histories.count,
        failures=histories.returns,
        readings=_readings(histories, curve, level),
        statistics=(_trend(histories),),
        bound=_bound(histories, level),
    )


def _differences(
    names: Sequence[str], groups: Sequence[Histories], level: float
) -> tuple[tuple[GroupDifference, ...], tuple[Message, ...]]:
    """Compare each group with the first; say why where that cannot be done."""
    by_office = np.unique(np.concatenate([part.office for part in groups])).size > 1
    found, notes = [], []
    for name, part in zip(names[1:], groups[1:], strict=True):
        try:
            told = difference(groups[0], part, by_office=by_office, level=level)
        except (CannotTellError, InputError) as error:
            params = {"first": names[0], "second": name, "reason": str(error)}
            notes.append(Message("life_summary.not_compared", params))
            continue
        over = told.at(told.end)
        found.append(GroupDifference(names[0], name, told.start, told.end, over, told.p))
    return tuple(found), tuple(notes)


def _notes(histories: Histories, curve: MeanCumulative) -> tuple[Message, ...]:
    where: dict[str, str | float] = {
        "start": curve.start,
        "end": curve.end,
        "clock": curve.clock.value,
    }
    notes = []
    if curve.start > 0.0:
        notes.append(Message("life_summary.starts_late", where))
    if curve.end < float(np.max(histories.stop)):
        notes.append(Message("life_summary.returns_gap", where))
    return tuple(notes)
