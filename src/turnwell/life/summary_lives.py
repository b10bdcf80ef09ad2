"""The answer to a table of lives."""

from collections.abc import Sequence

import numpy as np

from turnwell.errors import CannotTellError, InputError
from turnwell.life.curves import SurvivalCurve, cumulative_incidence, log_rank, product_limit
from turnwell.life.estimate import Estimate
from turnwell.life.lives import NO_CAUSE, Lives
from turnwell.life.summary import (
    AgePoint,
    Bound,
    CauseShare,
    GroupSummary,
    Kind,
    Statistic,
    Summary,
)
from turnwell.life.summary_points import curve_of, reason_of, round_ages, told_by_chance
from turnwell.life.table import LivesTable
from turnwell.life.weibull import WeibullFit, scale_bound, weibull_fit
from turnwell.measure import Reading, cannot_tell
from turnwell.words import Message

__all__ = ["lives_summary"]

_SURE = 0.05


def lives_summary(
    table: LivesTable, *, ages: Sequence[float], assumed_shape: float, level: float
) -> Summary:
    """Fit the lives of a table, draw their curve, and compare groups where there are any.

    Parameters
    ----------
    table : LivesTable
    ages : sequence of float
        At which survival is wanted; round ones where empty.
    assumed_shape : float
        Weibull shape that the bound takes where nothing failed.
    level : float
        Coverage of the intervals.
    """
    lives = table.lives
    fit = _fitted(lives, level)
    curve = product_limit(lives, level=level)
    groups: tuple[GroupSummary, ...] | None = None
    statistics: tuple[Statistic, ...] = ()
    if table.group is not None:
        parts = [lives.chosen(table.group == place) for place in range(len(table.group_names))]
        groups = tuple(
            _group(name, part, assumed_shape=assumed_shape, level=level)
            for name, part in zip(table.group_names, parts, strict=True)
        )
        statistics = (_log_rank(parts),)
    return Summary(
        kind=Kind.LIVES,
        file=table.file,
        n=lives.count,
        failures=lives.failures,
        watched=float(np.sum(lives.exit - lives.entry)),
        clock=lives.clock,
        readings=_readings(lives, fit, level),
        statistics=statistics,
        curve=curve_of(curve, curve.survival),
        points=_points(lives, curve, fit, ages),
        causes=_causes(lives, level),
        groups=groups,
        bound=_bound(lives, assumed_shape),
        notes=(*table.notes, *_notes(curve)),
    )


def _fitted(lives: Lives, level: float) -> WeibullFit | Message:
    """Give the fit, or the reason why there is none."""
    if not lives.failures:
        return Message("life_summary.nothing_failed")
    try:
        return weibull_fit(lives, level=level, calibrated=False)
    except CannotTellError as error:
        return reason_of(str(error))


def _readings(lives: Lives, fit: WeibullFit | Message, level: float) -> tuple[Reading, ...]:
    units = {"weibull_shape": "", "weibull_scale": lives.clock.value}
    units["median_life"] = lives.clock.value
    if isinstance(fit, Message):
        return tuple(cannot_tell(key, unit, fit, level=level) for key, unit in units.items())
    found = {
        "weibull_shape": (fit.shape, fit.robust_shape),
        "weibull_scale": (fit.scale, fit.robust_scale),
        "median_life": (fit.median_life, fit.robust_quantile(0.5)),
    }
    says = {
        "weibull_shape": _shape_says(fit.shape, weibull_fit(lives, level=level).shape),
        "weibull_scale": Message("life_summary.scale"),
        "median_life": Message("life_summary.median"),
    }
    readings = [plain.reading(key, units[key], why=says[key]) for key, (plain, _) in found.items()]
    over = Message("life_summary.over_offices", {"offices": lives.offices})
    readings += [
        robust.reading(f"{key}_by_office", units[key], why=over)
        for key, (_, robust) in found.items()
        if robust is not None
    ]
    return tuple(readings)


def _shape_says(shape: Estimate, calibrated: Estimate) -> Message:
    """Say whether units fail more often, or less, as they age.

    The likelihood's own interval is short with few failures, and would say so too often: both must
    leave 1 out.
    """
    if min(shape.low, calibrated.low) > 1.0:
        return Message("life_summary.wears_out")
    if max(shape.high, calibrated.high) < 1.0:
        return Message("life_summary.fails_early")
    if shape.low > 1.0 or shape.high < 1.0:
        ends = {"low": calibrated.low, "high": calibrated.high}
        return Message("life_summary.age_hardly_shown", ends)
    return Message("life_summary.age_not_shown")


def _points(
    lives: Lives, curve: SurvivalCurve, fit: WeibullFit | Message, ages: Sequence[float]
) -> tuple[AgePoint, ...]:
    points = []
    for age in ages or round_ages(curve.start, curve.end):
        at_risk = int(np.count_nonzero((lives.entry < age) & (lives.exit >= age)))
        seen = curve.at(age) if curve.start <= age <= curve.end else None
        fitted = None if isinstance(fit, Message) else fit.survival(age)
        points.append(AgePoint(age, at_risk, seen, fitted))
    return tuple(points)


def _causes(lives: Lives, level: float) -> tuple[CauseShare, ...]:
    """Give the share of each cause by the end of observation, the most frequent first."""
    if not lives.cause_names or not lives.failures:
        return ()
    incidence = cumulative_incidence(lives, level=level)
    shares = [
        CauseShare(
            "" if curve.cause == NO_CAUSE else lives.cause_names[curve.cause],
            curve.failures,
            incidence.at(incidence.end, curve.cause),
        )
        for curve in incidence.curves
    ]
    return tuple(sorted(shares, key=lambda share: -share.share.value))


def _bound(lives: Lives, assumed_shape: float) -> Bound | None:
    """Bound the scale from below where nothing failed."""
    if lives.failures:
        return None
    bound = scale_bound(lives, shape=assumed_shape)
    params = {
        "low": bound.low,
        "clock": lives.clock.value,
        "shape": assumed_shape,
        "percent": 100.0 * bound.level,
    }
    return Bound(
        "weibull_scale",
        bound.low,
        lives.clock.value,
        bound.level,
        assumed_shape,
        Message("life_summary.scale_bound", params),
    )


def _group(name: str, lives: Lives, *, assumed_shape: float, level: float) -> GroupSummary:
    return GroupSummary(
        name=name,
        n=lives.count,
        failures=lives.failures,
        readings=_readings(lives, _fitted(lives, level), level),
        bound=_bound(lives, assumed_shape),
    )


def _log_rank(groups: Sequence[Lives]) -> Statistic:
    """Compare groups; within offices too where one office has lives of several groups."""
    try:
        test = log_rank(groups)
    except (CannotTellError, InputError) as error:
        details = dict.fromkeys(("chi2", "degrees", "over_offices_p"))
        return Statistic("logrank", None, None, reason_of(str(error)), tuple(details.items()))
    p = test.safe_p
    key = "differ" if p < _SURE else "not_shown"
    return Statistic(
        "logrank",
        test.chi2,
        test.p,
        Message(f"life_summary.groups_{key}", {"p": told_by_chance(p)}),
        (
            ("chi2", test.chi2),
            ("degrees", test.degrees),
            ("over_offices_p", test.over_offices_p),
            *_within_offices(groups),
        ),
    )


def _within_offices(groups: Sequence[Lives]) -> tuple[tuple[str, float | None], ...]:
    """Give the test within offices, None where none has lives of two groups at risk together."""
    offices = [set(np.unique(lives.office).tolist()) for lives in groups]
    shared = sum(map(len, offices)) > len(set.union(*offices))
    chi2, p = None, None
    if shared and len(set.union(*offices)) > 1:
        try:
            test = log_rank(groups, strata=[lives.office for lives in groups])
        except CannotTellError:
            # No office had two groups at risk together when something failed: nothing to report.
            return (("within_offices_chi2", None), ("within_offices_p", None))
        chi2, p = test.chi2, test.p
    return (("within_offices_chi2", chi2), ("within_offices_p", p))


def _notes(curve: SurvivalCurve) -> tuple[Message, ...]:
    """Say where the curve begins late, or fell to 0 while some still ran."""
    notes = []
    if curve.start > 0.0:
        notes.append(
            Message("life_summary.starts_late", {"start": curve.start, "clock": curve.clock.value})
        )
    if curve.is_cut_short:
        notes.append(
            Message(
                "life_summary.cut_short",
                {"age": curve.emptied_at or 0.0, "clock": curve.clock.value},
            )
        )
    return tuple(notes)
