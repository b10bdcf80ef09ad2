"""The office review: do its handpieces come back, why, did visits help, what to change."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from turnwell import papers
from turnwell.life import Shrunken, rate
from turnwell.measure import Basis, Interval, Limit, Reading, cannot_tell
from turnwell.pictures import ActionShown, IncidenceShown, ReturnCurve
from turnwell.web.lives.analysis.causes import CausesFound, causes_of
from turnwell.web.lives.analysis.changes import VisitChecked, checked_visits
from turnwell.web.lives.analysis.curve import curve_of
from turnwell.web.lives.analysis.effects import EffectsFound, effects_of
from turnwell.web.lives.analysis.expectation import Expectation, expectation_between
from turnwell.web.lives.analysis.handpieces import (
    OftenBack,
    Spent,
    often_back,
    returns_between,
    spent_on,
)
from turnwell.web.lives.analysis.windows import moment_of
from turnwell.web.lives.chances import in_percent
from turnwell.web.lives.kept import kept_answer
from turnwell.web.lives.records import YEAR_DAYS, Returns, ShopRecords
from turnwell.web.offices.models import Office
from turnwell.web.visits.models import Visit
from turnwell.words import Message, Param, text_of

__all__ = ["PERIODS", "OfficeReview", "Watched", "review_of"]

# Years looked back, as the page offers them.
PERIODS = (1, 2, 3, 5)


@dataclass(frozen=True, slots=True, eq=False)
class Watched:
    """The handpieces under observation, n of them.

    Parameters
    ----------
    handpiece, returns : array of int, shape (n,)
        Primary keys, and how often each came back.
    years : array, shape (n,)
        At risk.
    """

    handpiece: NDArray[np.int64]
    returns: NDArray[np.int64]
    years: NDArray[np.float64]

    @property
    def count(self) -> int:
        """How many."""
        return int(self.handpiece.size)


@dataclass(frozen=True, slots=True, eq=False)
class OfficeReview:
    """What the records say of an office's returns in a period.

    Parameters
    ----------
    office : Office
    first, last : date
        By the office's clock.
    watched : Watched
        Handpieces under observation in the period.
    a_year, against : Reading
        Returns a handpiece and year; over those expected.
    curve : ReturnCurve or None
    visits : tuple of VisitChecked
    causes : CausesFound or None
    often : tuple of OftenBack
    spent : Spent
    avoidable : Reading or None
        Money a year that the first action would save.
    effects : EffectsFound
    returns : Returns
        Behind it all.
    """

    office: Office
    first: date
    last: date
    watched: Watched
    a_year: Reading
    against: Reading
    curve: ReturnCurve | None
    visits: tuple[VisitChecked, ...]
    causes: CausesFound | None
    often: tuple[OftenBack, ...]
    spent: Spent
    avoidable: Reading | None
    effects: EffectsFound
    returns: Returns

    @property
    def handpieces(self) -> int:
        """How many were under observation."""
        return self.watched.count

    @property
    def years(self) -> float:
        """Years all of them were at risk together."""
        return float(self.watched.years.sum())

    @property
    def actions(self) -> tuple[ActionShown, ...]:
        """In order of expected effect."""
        return self.effects.actions

    @property
    def incidence(self) -> IncidenceShown | None:
        """The causes as they are drawn."""
        return None if self.causes is None else self.causes.shown

    @property
    def money(self) -> papers.MoneyShown | None:
        """What the returns cost and what could be saved; None where no price is known."""
        if not self.spent.priced:
            return None
        params: dict[str, Param] = {"priced": self.spent.priced, "returns": self.spent.returns}
        return papers.MoneyShown(
            currency=self.spent.currency,
            spent=self.spent.amount,
            jobs=self.spent.priced,
            avoidable=self.avoidable,
            note=text_of(Message("lives.money.rests_on", params)),
        )


def review_of(records: ShopRecords, office: Office, *, today: date, years: int) -> OfficeReview:
    """Review an office.

    Parameters
    ----------
    today : date
        By the office's clock; the last day.
    years : int
        How far to look back.
    """
    first = today - timedelta(days=round(years * YEAR_DAYS))
    first = max(first, _first_watched(records, office, first))
    from_s, to_s = moment_of(first, office), records.now_s
    expectation = kept_answer(
        records,
        ("expectation", from_s, to_s),
        partial(expectation_between, records, from_s, to_s),
    )
    shrunken = kept_answer(records, ("shrunken", from_s, to_s), expectation.shrunken)
    visits = list(Visit.objects.standing().filter(office=office, visited_on__lte=today))
    checked = checked_visits(records, office, visits, today)
    returns = returns_between(records, office.pk, from_s, to_s)
    spent = spent_on(records, returns)
    effects = effects_of(
        records, expectation, shrunken, office.pk, returns, costs=spent.costs, today=today
    )
    trained = next((one.span.day for one in checked if one.visit.was_training and one.told), None)
    mine = expectation.of(office.pk)
    watched = Watched(
        expectation.handpiece[mine], expectation.counts[mine], expectation.years[mine]
    )
    return OfficeReview(
        office=office,
        first=first,
        last=today,
        watched=watched,
        a_year=_rate(returns.count, float(watched.years.sum())),
        against=_against(expectation, shrunken, office.pk),
        curve=curve_of(
            records,
            office.pk,
            first=first,
            last=today,
            from_s=from_s,
            to_s=to_s,
            visits=visits,
            checked=checked,
        ),
        visits=checked,
        causes=causes_of(
            records, office.pk, trained_s=None if trained is None else moment_of(trained, office)
        ),
        often=often_back(records, expectation, office.pk, returns),
        spent=spent,
        avoidable=_avoidable(effects, spent.currency),
        effects=effects,
        returns=returns,
    )


def _first_watched(records: ShopRecords, office: Office, least: date) -> date:
    """Give the first day any handpiece of the office was watched, not before another day."""
    mine = records.stretches.office == records.office_place(office.pk)
    if not mine.any():
        return least
    first_s = int(records.stretches.start_s[mine].min())
    return max(datetime.fromtimestamp(first_s, ZoneInfo(office.time_zone)).date(), least)


def _rate(count: int, years: float) -> Reading:
    params: dict[str, Param] = {"returns": count, "years": years}
    if years <= 0.0:
        return cannot_tell("returns_a_year", "a year", Message("lives.nothing_watched"))
    return rate(count, years).reading(
        "returns_a_year", "a year", why=Message("lives.counted", params)
    )


def _against(expectation: Expectation, shrunken: Shrunken | None, office: int) -> Reading:
    """Hold the office's shrunken ratio against 1, what its classes bring in all offices."""
    limit = Limit(low=None, high=1.0, source=text_of("lives.limit.all_offices"), basis=Basis.OWN)
    place = expectation.place_of(office)
    if shrunken is None or place is None:
        return cannot_tell(
            "against_expectation", "times", Message("lives.nothing_watched"), limit=limit
        )
    if expectation.offices.size < 2:
        return cannot_tell(
            "against_expectation", "times", Message("lives.only_office"), limit=limit
        )
    mine = expectation.of(office)
    params: dict[str, Param] = {
        "returns": int(expectation.counts[mine].sum()),
        "expected": float(expectation.expected[mine].sum()),
        "chance": in_percent(float(shrunken.above(1.0)[place])),
    }
    return shrunken.office(place).reading(
        "against_expectation",
        "times",
        limit=limit,
        interval=Interval.CREDIBLE,
        why=Message("lives.against", params),
    )


def _avoidable(effects: EffectsFound, currency: str) -> Reading | None:
    if effects.best is None or effects.best.money is None:
        return None
    return effects.best.money.reading(
        "avoidable_a_year",
        f"{currency} a year",
        interval=Interval.CREDIBLE,
        why=Message("lives.money.avoidable"),
    )
