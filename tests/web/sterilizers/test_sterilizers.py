"""Writes of sterilizers, their cycles and clocks."""

from datetime import UTC, date, datetime

import pytest

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.sterilizers.builders import a_plan, a_record, a_sterilizer
from turnwell.errors import ChangedMeanwhileError, InputError, NotAllowedError
from turnwell.web.offices.models import Office
from turnwell.web.shared.rows import snapshot_of
from turnwell.web.sterilizers import actions
from turnwell.web.sterilizers.actions import PlanDetails, SterilizerDetails
from turnwell.web.sterilizers.clock import moment_of
from turnwell.web.sterilizers.models import ClockSetting, Plan, Sterilizer

pytestmark = pytest.mark.django_db


def test_a_sterilizer_is_once_an_office_whatever_the_case():
    first = a_sterilizer("Left  one")
    assert first.name == "Left one"
    with pytest.raises(InputError, match="already a sterilizer called LEFT ONE"):
        a_sterilizer("LEFT ONE")
    assert a_sterilizer("Left one", office=Office.objects.create(name="Elm Row")).pk != first.pk


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"capacity_l": 0.0}, "capacity is 0 litres"),
        ({"temperature_bound_k": 21.0}, "21 K"),
        ({"pressure_bound_kpa": 0.0}, "0 kPa"),
        ({"air_removal": "magic"}, "magic"),
    ],
)
def test_what_cannot_be_is_refused(wrong, says):
    with pytest.raises(InputError, match=says):
        a_sterilizer(**wrong)
    assert not Sterilizer.objects.exists()


def test_people_of_an_office_write_nothing():
    sterilizer = a_sterilizer()
    bea = bea_of_birch_lane()
    with pytest.raises(NotAllowedError):
        actions.add_sterilizer(
            by=bea, office=sterilizer.office, details=SterilizerDetails("another")
        )
    with pytest.raises(NotAllowedError):
        actions.add_plan(by=bea, sterilizer=sterilizer, details=PlanDetails("x"))
    with pytest.raises(NotAllowedError):
        actions.set_clock(
            by=bea, sterilizer=sterilizer, minutes_ahead=1.0, from_day=date(2026, 1, 1)
        )
    assert not Plan.objects.exists()


def test_the_second_of_two_tabs_is_told():
    sterilizer = a_sterilizer()
    seen = snapshot_of(sterilizer, actions.STERILIZER_FIELDS)
    theo = theo_the_technician()
    actions.edit_sterilizer(by=theo, sterilizer=sterilizer, details=SterilizerDetails("3"))
    with pytest.raises(ChangedMeanwhileError, match="name is “3”"):
        actions.edit_sterilizer(
            by=theo, sterilizer=sterilizer, details=SterilizerDetails("4"), seen=seen
        )


def test_one_cycle_is_the_usual_one():
    sterilizer = a_sterilizer()
    first = a_plan(sterilizer, "Wrapped")
    second = a_plan(sterilizer, "Short")
    first.refresh_from_db()
    assert (first.is_usual, second.is_usual) == (False, True)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"set_c": 99.0}, "99 °C"),
        ({"dry_s": 20_000.0}, "drying time is 20000 s"),
        ({"pulses": 21}, "21"),
        ({"name": " "}, "needs a name"),
    ],
)
def test_a_cycle_out_of_range_is_refused(wrong, says):
    sterilizer = a_sterilizer()
    with pytest.raises(InputError, match=says):
        a_plan(sterilizer, **wrong)
    assert not Plan.objects.exists()


def test_the_clock_moves_the_records_from_its_day_on():
    sterilizer = a_sterilizer(office=Office.objects.create(name="Oak", time_zone="America/Chicago"))
    old = a_record(sterilizer, number=1, began=datetime(2026, 4, 30, 23, 50))  # noqa: DTZ001
    new = a_record(sterilizer, number=2, began=datetime(2026, 5, 8, 17, 12))  # noqa: DTZ001
    assert new.started_at == datetime(2026, 5, 8, 22, 12, tzinfo=UTC)
    actions.set_clock(
        by=theo_the_technician(),
        sterilizer=sterilizer,
        minutes_ahead=62.0,
        from_day=date(2026, 5, 1),
    )
    old.refresh_from_db()
    new.refresh_from_db()
    assert new.started_at == datetime(2026, 5, 8, 21, 10, tzinfo=UTC)
    assert old.started_at == datetime(2026, 5, 1, 4, 50, tzinfo=UTC)


def test_a_setting_of_the_same_day_corrects_the_one_before():
    sterilizer = a_sterilizer()
    for minutes in (10.0, -5.0):
        actions.set_clock(
            by=theo_the_technician(),
            sterilizer=sterilizer,
            minutes_ahead=minutes,
            from_day=date(2026, 5, 1),
        )
    (standing,) = ClockSetting.objects.standing()
    assert standing.minutes_ahead == -5.0
    assert ClockSetting.objects.count() == 2


@pytest.mark.parametrize("minutes", [float("nan"), float("inf"), 2e6])
def test_no_clock_is_off_by_that(minutes):
    with pytest.raises(InputError, match="cannot be"):
        actions.set_clock(
            by=theo_the_technician(),
            sterilizer=a_sterilizer(),
            minutes_ahead=minutes,
            from_day=date(2026, 5, 1),
        )


def test_the_repeated_hour_of_autumn_is_taken_at_its_first_passing():
    # In Chicago, 1 November 2026 has 01:30 twice; summer time is UTC - 5.
    moment = moment_of("2026-11-01T01:30:00", "America/Chicago", [])
    assert moment.astimezone(UTC) == datetime(2026, 11, 1, 6, 30, tzinfo=UTC)


def test_a_record_without_a_clock_has_no_moment():
    assert a_record(began=None).started_at is None
