"""What happened to each handpiece of the invented shop before the year that is told in full.

A handpiece comes back by a Weibull life since it was last repaired, faster by its office's habit
until the office is taught, by its own frailty, and after the cheap repair. Week by week it is drawn
whether it comes in. Nothing here is a result: lives, rates and effects are read from the book.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum, auto

import numpy as np

from turnwell.catalogue import Catalogue
from turnwell.demo.faults import Fault, fault_of
from turnwell.demo.offices import OPENED_DAYS_AGO, OfficeStory, story_of
from turnwell.demo.repairs import repair_of
from turnwell.demo.shop import DemoShop
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import Job, OptionKind
from turnwell.web.shared.times import today_in_zone

__all__ = ["Card", "End", "earlier_years"]

TOLD_IN_FULL_DAYS = 366
BEFORE_TODAY_DAYS = 12
WEEK_DAYS = 7
LIFE_SHAPE = 1.5
FRAILTY_SPREAD = 0.25
SLOW_SHARE = 0.5
SPELL_RETURNS = 3.0
ADJUSTED_RETURNS = 2.2
TEST_ONLY_A_WEEK = 0.001
SERVICE_AFTER_DAYS, SERVICE_A_WEEK = 330, 0.15
OLD_DAYS = 1500
SCRAPPED_SHARE, DECLINED_SHARE, ADJUSTED_SHARE = 0.10, 0.05, 0.25
NOT_SETTLED_SHARE = 0.12
LONGEST_DAYS = 10


class End(Enum):
    """How a stay ended."""

    REPAIRED = auto()
    ADJUSTED = auto()
    DECLINED = auto()
    SCRAPPED = auto()
    SERVED = auto()
    TESTED = auto()


@dataclass(frozen=True, slots=True)
class Card:
    """One stay as its job card has it: no recording, no gauge.

    Parameters
    ----------
    start : datetime
        When it was taken in.
    days : float
        How long it stayed.
    fault : Fault or None
        What ailed it; None for a planned service or a test.
    is_settled : bool
        True where somebody named the cause.
    """

    handpiece: Handpiece
    start: datetime
    days: float
    end: End
    fault: Fault | None = None
    is_settled: bool = True

    @property
    def reason(self) -> Job.Reason:
        """Why it came."""
        if self.fault is not None:
            return Job.Reason.FAULT
        return Job.Reason.PLANNED if self.end is End.SERVED else Job.Reason.TEST_ONLY


def earlier_years(
    shop: DemoShop, catalogue: Catalogue, rng: np.random.Generator, now: datetime
) -> list[Card]:
    """Draw the stays of all handpieces since the book was opened, in order of time.

    Those of offices that are told in full end before their last year.
    """
    cards = [
        card for piece in shop.handpieces for card in _Life(piece, catalogue, rng, now).cards()
    ]
    return sorted(cards, key=lambda card: card.start)


class _Life:
    """The weeks of one handpiece."""

    def __init__(
        self, piece: Handpiece, catalogue: Catalogue, rng: np.random.Generator, now: datetime
    ) -> None:
        self.piece, self.catalogue, self.rng, self.now = piece, catalogue, rng, now
        self.story: OfficeStory = story_of(piece.office.name)
        today = today_in_zone(piece.office.time_zone, now)
        self.age_days = (today - (piece.in_service_since or today)).days
        self.factor = float(rng.gamma(1.0 / FRAILTY_SPREAD, FRAILTY_SPREAD))
        if "turbine" not in piece.class_key:
            self.factor *= SLOW_SHARE
        self.repair_factor = 1.0

    def cards(self) -> Iterator[Card]:
        """Give its stays in order of time."""
        first = min(self.age_days, OPENED_DAYS_AGO)
        last = max(
            TOLD_IN_FULL_DAYS if self.story.is_told_in_full else BEFORE_TODAY_DAYS,
            self.story.left_days_ago,
        )
        # It had been repaired at some time before the book was opened, or was new.
        fresh_days = float(self.rng.uniform(0.0, min(self.age_days - first, 700)))
        back_days_ago = first
        for days_ago in range(first, last + LONGEST_DAYS, -WEEK_DAYS):
            fresh_days += WEEK_DAYS
            is_away = days_ago > back_days_ago
            card = None if is_away else self._week(days_ago, fresh_days)
            if card is None:
                continue
            yield card
            if card.end is End.SCRAPPED:
                return
            back_days_ago = days_ago - LONGEST_DAYS
            if card.end not in {End.DECLINED, End.TESTED}:
                fresh_days = -card.days
                self.repair_factor = ADJUSTED_RETURNS if card.end is End.ADJUSTED else 1.0

    def _week(self, days_ago: int, fresh_days: float) -> Card | None:
        """Draw whether it comes in this week, and why."""
        rng = self.rng
        failed, served, tested = rng.random(3)
        if failed < -np.expm1(-WEEK_DAYS * self._hazard_a_day(days_ago, fresh_days)):
            trained = self.story.is_trained(days_ago)
            fault = fault_of(self.piece, self.catalogue, rng, trained=trained)
            is_settled = bool(rng.random() >= NOT_SETTLED_SHARE)
            return self._card(days_ago, self._end(fault, days_ago), fault, is_settled=is_settled)
        is_due = self.story.has_yearly_service and fresh_days > SERVICE_AFTER_DAYS
        if is_due and served < SERVICE_A_WEEK:
            return self._card(days_ago, End.SERVED)
        return self._card(days_ago, End.TESTED) if tested < TEST_ONLY_A_WEEK else None

    def _hazard_a_day(self, days_ago: int, fresh_days: float) -> float:
        story = self.story
        scale_days = 365.25 / story.returns_a_year
        factor = self.factor * self.repair_factor
        if not story.is_trained(days_ago):
            factor *= story.habit_returns
        spell_from, spell_to = story.spell_days_ago
        if spell_from > days_ago > spell_to:
            factor *= SPELL_RETURNS
        aged = max(fresh_days, 0.0) / scale_days
        return float(factor * LIFE_SHAPE / scale_days * aged ** (LIFE_SHAPE - 1.0))

    def _end(self, fault: Fault, days_ago: int) -> End:
        drawn, cheap = self.rng.random(2)
        is_old = self.age_days - days_ago > OLD_DAYS
        # The year told in full takes its stays from all handpieces of its offices.
        if drawn < SCRAPPED_SHARE and is_old and not self.story.is_told_in_full:
            return End.SCRAPPED
        if drawn > 1.0 - DECLINED_SHARE:
            return End.DECLINED
        could_adjust = repair_of(fault.cause).kind is not OptionKind.ADJUST
        return End.ADJUSTED if could_adjust and cheap < ADJUSTED_SHARE else End.REPAIRED

    def _card(
        self, days_ago: int, end: End, fault: Fault | None = None, *, is_settled: bool = True
    ) -> Card:
        rng = self.rng
        start = self.now - timedelta(days=days_ago, hours=float(rng.uniform(-3.0, 4.0)))
        days = float(rng.uniform(3.0, LONGEST_DAYS - 1.0))
        return Card(self.piece, start, days, end, fault, is_settled)
