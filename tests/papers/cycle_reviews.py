"""Cycle reviews with invented values: a run, the months of a sterilizer, both."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from turnwell import papers, pictures
from turnwell.measure import Basis, Limit, cannot_tell, reading
from turnwell.words import Message

__all__ = ["a_cycle_review", "a_document", "some_months", "some_weeks", "the_months_alone"]

ISSUED = datetime(2026, 5, 9, 8, 0, tzinfo=UTC)
PLANNED = Limit(20.0, None, "as given", Basis.OWN)
SALTY = reading(
    "water_left_g", 3.2, 2.9, 3.5, "g", limit=Limit(None, 2.0, "water sheet", Basis.MEMORY)
)
VACUUM = Limit(None, 10.0, "class sheet", Basis.COMMON_PRACTICE)


def a_document() -> dict[str, Any]:
    """Give what a cycle trace reads of a document: 30 minutes, a plateau, drying cut short."""
    times = [10.0 * step for step in range(181)]
    stages = (
        ("heating", 0.0, 600.0),
        ("plateau", 600.0, 840.0),
        ("exhaust", 840.0, 900.0),
        ("drying", 900.0, 1560.0),
        ("air inlet", 1560.0, 1800.0),
    )
    return {
        "record": {"atmosphere_kpa": 101.3, "gaps": []},
        "cycle": {"set_c": 134.0, "band_k": 4.0, "dry_s": 1200.0},
        "stages": [{"kind": k, "start_s": start, "stop_s": stop} for k, start, stop in stages],
        "course": {"pulses": []},
        "readings": [],
        "faults": [],
        "trace": {
            "time_s": times,
            "temperature_c": [134.5 if 600 <= t <= 840 else 90.0 for t in times],
            "pressure_kpa": [308.0 if 600 <= t <= 840 else 20.0 for t in times],
            "saturation_difference_k": [0.3 if 600 <= t <= 840 else None for t in times],
        },
    }


def a_run(**fields: Any) -> papers.ReviewedRun:
    """Give one run in which drying was cut short."""
    run = papers.ReviewedRun(
        began=datetime(2026, 5, 8, 17, 12, tzinfo=UTC),
        held_against="Wrapped 134",
        says=("Drying ran 11.0 of 20 minutes.", "One fault: drying cut short."),
        readings=(
            reading("drying_time_s", 11.0, 10.9, 11.1, "min", limit=PLANNED),
            reading("drying_lowest_pressure_kpa", 9.0, 7.0, 11.0, "kPa", limit=VACUUM),
            cannot_tell("water_left_g", "g", Message("steam_water.no_load")),
        ),
        trace=pictures.cycle_trace(a_document()),
        faults=(
            papers.FaultFound(
                "drying_shortened", "Drying cut short", "It ended after 660 s of 1200 s.", "clear"
            ),
        ),
        questions=("Who opened the door?",),
        levers=("Dry 10 minutes longer: 1.2 g less (0 to 2.5).",),
        file_name="load-2214.csv",
        sha256="ab" * 32,
    )
    return replace(run, **fields)


def some_weeks() -> tuple[pictures.WeekPart, ...]:
    """Give two days: one that stands out, one with few runs, one half without any."""
    return (
        pictures.WeekPart(0, "until noon", 0, 30),
        pictures.WeekPart(4, "until noon", 2, 3),
        pictures.WeekPart(4, "from noon", 25, 30, stands_out=True),
    )


def some_months() -> papers.Months:
    """Give the months of a sterilizer with a picture."""
    chart = pictures.cycle_trace(a_document())
    assert chart is not None
    return papers.Months(
        says=("Drying was cut short in 27 of 63 runs.",),
        advice=(
            papers.Advice("Let the drying run to its end.", ("Drying cut short: in 27 of 60.",)),
            papers.Advice("Change the water.", ("Measured 4 May.",), (SALTY,)),
        ),
        changed=("Training of 1 Apr: whole team taught.", "No change is shown."),
        history=papers.Picture(chart, "Trends over the months.", "One point a run."),
        week=some_weeks(),
    )


def a_cycle_review(**fields: Any) -> papers.CycleReview:
    """Give the review of a run; its fields as given."""
    review = papers.CycleReview(
        shop=papers.ShopHead("Bench and Bearing", "4 Mill Row\nFernmark", "555 0100"),
        office="Fernmark Dental",
        sterilizer="2",
        kind="Steamer, 18 litres",
        link="https://bench.example/sterilizers/2/",
        issued_at=ISSUED,
        issued_by="R. Technician",
        run=a_run(),
    )
    return replace(review, **fields)


def the_months_alone() -> papers.CycleReview:
    """Give a review without a run."""
    return a_cycle_review(run=None, months=some_months())
