"""Why an office's handpieces come back: cumulative incidence of each cause after a hand-back."""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from turnwell.life import (
    NO_CAUSE,
    Clock,
    Estimate,
    Incidence,
    Lives,
    cumulative_incidence,
    product_limit,
)
from turnwell.pictures import IncidenceRow, IncidenceShown, RowKind
from turnwell.web.handpieces.names import cause_name
from turnwell.web.lives.analysis.estimated import estimated
from turnwell.web.lives.records import ShopLives, ShopRecords
from turnwell.words import Message, text_of

__all__ = ["CausesFound", "causes_of"]

ONE_YEAR = timedelta(days=365)
# Before and after are told apart where both sides hold so many lives, and reach so far; own choice.
FEWEST_EACH = 20
SHORTEST = timedelta(days=90)
CYCLES_STEP = 50


@dataclass(frozen=True, slots=True, eq=False)
class CausesFound:
    """Causes as they are shown, and the lives behind them.

    Parameters
    ----------
    shown : IncidenceShown
    behind : ShopLives
    unsettled : int
        Returns whose cause nobody settled.
    """

    shown: IncidenceShown
    behind: ShopLives
    unsettled: int


def causes_of(records: ShopRecords, office: int, *, trained_s: int | None) -> CausesFound | None:
    """Give the causes of an office's returns; None where nothing was handed back in order.

    Parameters
    ----------
    office : int
        Primary key.
    trained_s : int or None
        Moment of the last training that could be looked into; before and after it are told apart
        where both sides reach far enough.
    """
    behind = records.repair_lives(office=office)
    if behind.lives is None:
        return None
    pace = records.pace(office=office)
    step = pace.cycles_per_day if pace is not None else 1.0
    parts = _parts(records, behind, trained_s)
    age = _age([*parts, behind.lives], step)
    if len(parts) == 2 and age < _days_as_age(SHORTEST, behind.clock, step):
        parts = []
        age = _age([behind.lives], step)
    later = cumulative_incidence(parts[1] if parts else behind.lives)
    earlier = cumulative_incidence(parts[0]) if parts else None
    shown = IncidenceShown(
        by=_age_said(age, behind.clock),
        rows=(*_rows(later, earlier, age), _running(parts or [behind.lives], age)),
        lives=(parts[1] if parts else behind.lives).count,
        lives_before=parts[0].count if parts else 0,
    )
    return CausesFound(shown, behind, later.failures_not_settled)


def _parts(records: ShopRecords, behind: ShopLives, trained_s: int | None) -> list[Lives]:
    """Part the lives at the training, by when they began; none where one side is thin."""
    if trained_s is None or behind.lives is None:
        return []
    stays = records.stays
    order = np.argsort(stays.pk)
    place = order[np.searchsorted(stays.pk, behind.job, sorter=order)]
    is_after: NDArray[np.bool_] = stays.ended_s[place] >= trained_s
    if min(np.count_nonzero(is_after), np.count_nonzero(~is_after)) < FEWEST_EACH:
        return []
    return [behind.lives.chosen(~is_after), behind.lives.chosen(is_after)]


def _age(lives: list[Lives], pace: float) -> float:
    """Give the age that shares are told at: a year, or as far as all of the lives reach."""
    most = min(float(one.exit.max()) for one in lives)
    year = _days_as_age(ONE_YEAR, lives[0].clock, pace)
    return min(year, most)


def _days_as_age(days: timedelta, clock: Clock, pace: float) -> float:
    if clock is Clock.DAYS:
        return float(days.days)
    return max(round(days.days * pace / CYCLES_STEP) * CYCLES_STEP, CYCLES_STEP)


def _age_said(age: float, clock: Clock) -> str:
    if clock is Clock.DAYS and age == ONE_YEAR.days:
        return text_of("lives.by_a_year")
    return text_of(Message("lives.by_an_age", {"age": age, "clock": clock.value}))


def _rows(later: Incidence, earlier: Incidence | None, age: float) -> list[IncidenceRow]:
    """Give the causes by their share, then those not settled, then those still running."""
    named = [curve.cause for curve in later.curves if curve.cause != NO_CAUSE]
    named += [
        curve.cause
        for curve in (earlier.curves if earlier else ())
        if curve.cause not in {NO_CAUSE, *named}
    ]
    rows = [_row(later, earlier, age, cause) for cause in named]
    rows.sort(key=lambda row: max(row.share.value, row.before.value if row.before else 0.0))
    rows.reverse()
    rows.append(_row(later, earlier, age, NO_CAUSE))
    return rows


def _row(later: Incidence, earlier: Incidence | None, age: float, cause: int) -> IncidenceRow:
    names = later.cause_names
    return IncidenceRow(
        name="" if cause == NO_CAUSE else cause_name(names[cause]),
        share=estimated(_at(later, age, cause)),
        returns=_failures(later, cause),
        before=estimated(_at(earlier, age, cause)) if earlier else None,
        returns_before=_failures(earlier, cause) if earlier else 0,
        kind=RowKind.NOT_SETTLED if cause == NO_CAUSE else RowKind.CAUSE,
    )


def _running(parts: list[Lives], age: float) -> IncidenceRow:
    """Give the share that still runs at the age; before and after where there are two parts."""
    shares = [estimated(product_limit(part).at(age)) for part in parts]
    counts = [int(np.count_nonzero(part.exit > age)) for part in parts]
    return IncidenceRow(
        name="",
        share=shares[-1],
        returns=counts[-1],
        before=shares[0] if len(parts) == 2 else None,
        returns_before=counts[0] if len(parts) == 2 else 0,
        kind=RowKind.STILL_RUNNING,
    )


def _at(found: Incidence, age: float, cause: int) -> Estimate:
    return found.at(min(max(age, found.start), found.end), cause)


def _failures(found: Incidence, cause: int) -> int:
    return sum(curve.failures for curve in found.curves if curve.cause == cause)
