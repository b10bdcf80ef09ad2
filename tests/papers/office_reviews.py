"""Office reviews with invented values: a full one, a bare one, one with long names."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import numpy as np

from turnwell import papers
from turnwell.measure import Basis, Limit, Reading, cannot_tell, reading
from turnwell.pictures import (
    ActionShown,
    CurveSteps,
    Estimated,
    IncidenceRow,
    IncidenceShown,
    OldPace,
    ReturnCurve,
    RowKind,
)
from turnwell.words import Message

__all__ = [
    "a_bare_review",
    "a_curve",
    "a_long_review",
    "a_training",
    "an_office_review",
    "some_causes",
    "some_handpieces",
]

ISSUED = datetime(2026, 5, 16, 8, 0, tzinfo=UTC)
FIRST, LAST = date(2025, 1, 1), date(2026, 5, 15)
TRAINED = date(2025, 10, 14)
AGREED = Limit(None, 1.0, "agreed on 14 October 2025", Basis.OWN)
FEWER = Limit(None, 1.0, "below 1 is fewer than before", Basis.OWN)


def a_rate(value: float, low: float, high: float, limit: Limit | None = AGREED) -> Reading:
    """Give returns per handpiece and year, or a ratio of them."""
    return reading("free_running_speed", value, low, high, "a year", limit=limit)


def a_curve() -> ReturnCurve:
    """Give a curve that flattens after a training."""
    early = np.linspace(9.0, 280.0, 20)
    days = np.concatenate([early, [330.0, 420.0, 480.0]])
    value = np.arange(1, 24) / 14.0
    spread = np.exp(1.3 / np.sqrt(np.arange(1, 24)))
    office = CurveSteps.of(days, value, value / spread, value * spread, handpieces=14, returns=23)
    shop_days = np.linspace(2.0, 498.0, 141)
    shop = np.arange(1, 142) / 131.0
    wide = np.exp(2.2 / np.sqrt(np.arange(1, 142)))
    everyone = CurveSteps.of(shop_days, shop, shop / wide, shop * wide, handpieces=131, returns=141)
    return ReturnCurve(
        FIRST,
        LAST,
        office,
        everyone,
        offices=9,
        trainings=(TRAINED,),
        visits=(TRAINED, date(2026, 2, 3)),
        old_pace=OldPace(TRAINED, Estimated(1.8, 1.1, 2.78)),
    )


def a_training(**fields: Any) -> papers.TrainingChecked:
    """Give a training after a bad spell; its fields as given."""
    checked = papers.TrainingChecked(
        on=TRAINED,
        says="Fewer handpieces come back since; about half of the drop is the bad spell ending.",
        before=a_rate(1.8, 1.1, 2.78),
        after=a_rate(0.37, 0.08, 1.08),
        plain=a_rate(0.21, 0.04, 0.69, FEWER),
        shrunken=a_rate(0.54, 0.27, 1.02, FEWER),
    )
    return replace(checked, **fields)


def some_causes() -> IncidenceShown:
    """Give causes before and after the training."""
    return IncidenceShown(
        "one year after hand-back",
        (
            IncidenceRow(
                "Too little lubricant",
                Estimated(0.09, 0.02, 0.22),
                3,
                Estimated(0.38, 0.26, 0.5),
                20,
            ),
            IncidenceRow("Dropped", Estimated(0.0, 0.0, 0.06), 0, Estimated(0.02, 0.0, 0.08), 1),
            IncidenceRow(
                "",
                Estimated(0.05, 0.01, 0.15),
                1,
                Estimated(0.12, 0.06, 0.2),
                8,
                kind=RowKind.NOT_SETTLED,
            ),
            IncidenceRow(
                "",
                Estimated(0.86, 0.7, 0.95),
                18,
                Estimated(0.48, 0.37, 0.6),
                12,
                kind=RowKind.STILL_RUNNING,
            ),
        ),
        lives=21,
        lives_before=53,
    )


def some_actions() -> tuple[ActionShown, ...]:
    """Give four actions; the third cannot be told, the fourth is not printed."""
    return (
        ActionShown(
            "Let the drying of sterilizer 2 run to its end on Fridays.",
            "The dental assistant who closes. Costs 9 minutes a load.",
            Estimated(4.3, 1.9, 6.8),
            "Moisture behind 5 of 23 settled returns; effectiveness: common practice.",
        ),
        ActionShown(
            "Lubricate before every cycle, not once a day.",
            "Everyone who bags. Costs 30 seconds a handpiece.",
            Estimated(3.1, 1.2, 5.2),
        ),
        ActionShown(
            "Lower the drive air of chair 2 to its label pressure.",
            why="No return with this cause is settled; settle the causes of 8 open jobs.",
        ),
        ActionShown("Purge for 30 seconds.", fewer=Estimated(0.2, 0.0, 0.6)),
    )


def some_handpieces(count: int = 3) -> tuple[papers.HandpieceBack, ...]:
    """Give handpieces that came back, so many."""
    return tuple(
        papers.HandpieceBack(
            f"Turbine {n + 1}",
            returns=4 - n % 3,
            watched="16 months",
            serial=f"T-{4412 + n}",
            chair=f"Chair {1 + n % 4}",
            causes="too little lubricant 3, not settled 1",
            spent=Decimal("412.50"),
        )
        for n in range(count)
    )


def an_office_review(**fields: Any) -> papers.OfficeReviewPaper:
    """Give a full review; its fields as given."""
    review = papers.OfficeReviewPaper(
        shop=papers.ShopHead("Bench and Bearing", "4 Mill Row\nFernmark", "555 0100"),
        office="Fernmark Dental",
        first=FIRST,
        last=LAST,
        link="https://bench.example/offices/3/review/",
        issued_at=ISSUED,
        issued_by="R. Technician",
        in_short="Since the training fewer handpieces come back; Friday's drying is the largest"
        " change still to make.",
        holds="4 chairs, 14 handpieces, 2 sterilizers",
        says=("23 returns of 14 handpieces in 16 months.",),
        curve=a_curve(),
        expected=(
            reading("run_out", 1.42, 1.04, 1.9, "times", limit=FEWER),
            reading("coast_down_time", 98.0, 95.0, 99.0, "%"),
        ),
        trainings=(a_training(),),
        causes=some_causes(),
        handpieces=some_handpieces(),
        money=papers.MoneyShown(
            "USD",
            Decimal("4120.00"),
            23,
            reading("free_running_speed", 1900.0, 800.0, 3000.0, "USD"),
            "Price of an average return times those that the actions are expected to prevent.",
        ),
        actions=some_actions(),
        untold=(
            papers.Untold(
                "Whether chair 4 alone got better.", "Two more returns there, or 14 months without."
            ),
            papers.Untold("Why 9 came back.", "Settle the causes at their job pages."),
        ),
        counted=(
            ("Clock", "Days; cycles are counted at 3 of 14 handpieces, too few to go by."),
            ("Return", "A later stay for a fault, counted from the first hand-back on."),
            ("Behind it", "14 handpieces, 23 returns; all offices: 131 handpieces, 141 returns."),
        ),
    )
    return replace(review, **fields)


def a_bare_review() -> papers.OfficeReviewPaper:
    """Give the review of an office of which nothing can be told yet."""
    return an_office_review(
        in_short="Nothing can be told yet: no handpiece of this office was handed back.",
        holds="",
        says=(),
        curve=None,
        trainings=(),
        causes=None,
        handpieces=(),
        money=None,
        actions=(),
        untold=(),
        counted=(),
    )


def a_long_review() -> papers.OfficeReviewPaper:
    """Give a review with long names, many handpieces and a training that cannot be compared."""
    long = "Kiefernwald Dental Practice, Oral Surgery and Partners of the Lower Valley"
    untold = cannot_tell("free_running_speed", "a year", Message("measure.not_measured"))
    return an_office_review(
        office=long,
        holds="12 chairs, 48 handpieces of 9 kinds, 3 sterilizers, 2 washing places",
        trainings=(
            a_training(after_a_bad_spell=False),
            a_training(
                on=date(2025, 3, 3),
                says="Cannot be told yet.",
                before=untold,
                after=untold,
                plain=untold,
                shrunken=None,
                why_not_shrunken="Fewer than three offices are watched; two more would do.",
            ),
        ),
        handpieces=tuple(
            replace(
                one,
                name="Surgical rear-exhaust air turbine with a long neck, second of the pair",
                causes="moisture left after the sterilizer 2, wrong bur shank 1, not settled 4",
            )
            for one in some_handpieces(11)
        ),
    )
