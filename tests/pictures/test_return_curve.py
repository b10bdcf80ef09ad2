"""The return curve: what its values refuse, where its strokes and labels stand, what it says."""

from datetime import date
from typing import Any

import pytest

from turnwell.errors import InputError
from turnwell.pictures import CurveSteps, Estimated, OldPace, ReturnCurve

FIRST = date(2025, 1, 1)
TRAINED = date(2025, 10, 14)
LAST = date(2026, 5, 15)


def steps(count: int = 20, *, handpieces: int = 14, until: float = 480.0) -> CurveSteps:
    """Give a curve of so many even steps up to a day."""
    days = [until * (n + 1) / count for n in range(count)]
    value = [(n + 1) / handpieces for n in range(count)]
    return CurveSteps.of(
        days,
        value,
        [0.6 * v for v in value],
        [1.5 * v for v in value],
        handpieces=handpieces,
        returns=count,
    )


def curve(**fields: Any) -> ReturnCurve:
    """Give a curve with a training; its fields as given."""
    made: dict[str, Any] = {
        "first": FIRST,
        "last": LAST,
        "office": steps(),
        "everyone": steps(200, handpieces=200),
        "offices": 9,
        "trainings": (TRAINED,),
        "old_pace": OldPace(TRAINED, Estimated(1.8, 1.1, 2.8)),
    }
    return ReturnCurve(**made | fields)


def test_the_curve_stands_at_nothing_before_its_first_step():
    one = CurveSteps.of([30, 90], [0.5, 1.0], [0.1, 0.4], [1.4, 2.1], handpieces=2, returns=2)
    assert one.at(29.9) == Estimated(0.0, 0.0, 0.0)
    assert one.at(30.0).value == 0.5
    assert one.at(1e6) == Estimated(1.0, 0.4, 2.1)


def test_the_old_pace_goes_on_from_the_curve_at_the_training():
    made = curve()
    start, end = made.carried_on or (0.0, 0.0)
    assert start == made.office.at((TRAINED - FIRST).days).value
    assert end - start == pytest.approx(1.8 * (LAST - TRAINED).days / 365.25)
    assert curve(old_pace=None).carried_on is None
    assert curve(old_pace=OldPace(LAST, Estimated(1.8, 1.1, 2.8))).carried_on is None


@pytest.mark.parametrize(
    ("days", "value", "says"),
    [
        ([1, 2], [0.1], "one length"),
        ([1, float("nan")], [0.1, 0.2], "not a finite number"),
        ([2, 1], [0.1, 0.2], "must rise"),
        ([-1, 1], [0.1, 0.2], "must rise"),
        ([1, 1], [0.1, 0.2], "must rise"),
        ([1, 2], [0.2, 0.1], "never falls"),
    ],
)
def test_steps_that_make_no_curve_are_refused(days: list[float], value: list[float], says: str):
    with pytest.raises(InputError, match=says):
        CurveSteps.of(days, value, value, value, handpieces=3, returns=2)


def test_a_value_outside_its_interval_and_no_handpiece_are_refused():
    with pytest.raises(InputError, match="within its interval"):
        CurveSteps.of([1], [0.5], [0.6], [0.7], handpieces=3, returns=2)
    with pytest.raises(InputError, match="one is needed"):
        CurveSteps.of([], [], [], [], handpieces=0, returns=0)


def test_days_that_do_not_fit_are_refused():
    with pytest.raises(InputError, match="must lie after"):
        curve(last=FIRST)
    with pytest.raises(InputError, match="days after the first"):
        curve(last=date(2025, 3, 1))


@pytest.mark.parametrize(
    ("handpieces", "count", "has_band"), [(1, 5, False), (14, 1, False), (2, 2, True)]
)
def test_an_interval_is_drawn_only_of_two_handpieces_and_two_returns(
    handpieces: int, count: int, has_band: bool
):
    assert steps(count, handpieces=handpieces).has_band is has_band
