"""Instruments and their checks."""

from datetime import date, timedelta

import pytest
from django.test import Client

from tests.people import bea_of_birch_lane, theo_the_technician
from turnwell.errors import NotAllowedError
from turnwell.web.shop import actions
from turnwell.web.shop.models import Instrument, InstrumentCheck
from turnwell.web.shop.queries import instrument_lines

pytestmark = pytest.mark.django_db
GAUGE = {
    "name": "Dial 2",
    "kind": "pressure_gauge",
    "serial": "77",
    "unit": "kPa",
    "resolution": "2",
    "stated_error": "4",
}


@pytest.fixture
def theo(client: Client) -> Client:
    client.force_login(theo_the_technician())
    return client


@pytest.fixture
def gauge() -> Instrument:
    details = actions.InstrumentDetails("Dial 1", "pressure_gauge", unit="kPa", stated_error=4.0)
    return actions.add_instrument(by=theo_the_technician(), details=details)


def test_an_instrument_is_added(theo: Client) -> None:
    answer = theo.post("/shop/instruments/new/", GAUGE)
    row = Instrument.objects.get()
    assert answer["Location"] == f"/shop/instruments/{row.pk}/"
    assert (row.resolution, row.stated_error) == (2.0, 4.0)
    assert "Dial 2" in theo.get("/shop/instruments/").content.decode()


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("name", "", "Fill this in"),
        ("name", "DIAL 1", "on the bench already"),
        ("kind", "rod", "not one of the available choices"),
        ("resolution", "-2", "between 0 and"),
        ("stated_error", "inf", "is not a number"),
        ("unit", "", "Give the unit"),
        ("serial", "7\x007", "NUL"),
    ],
)
def test_a_bad_field_is_refused(
    theo: Client, gauge: Instrument, field: str, typed: str, says: str
) -> None:
    answer = theo.post("/shop/instruments/new/", {**GAUGE, field: typed})
    assert says in answer.content.decode()
    assert Instrument.objects.count() == 1


def test_a_change_made_meanwhile_is_not_overwritten(theo: Client, gauge: Instrument) -> None:
    address = f"/shop/instruments/{gauge.pk}/"
    seen = theo.get(address).context["seen"]
    theo.post(address, {**GAUGE, "seen": seen})
    answer = theo.post(address, {**GAUGE, "name": "Dial 3", "seen": seen})
    page = answer.content.decode()
    assert "changed elsewhere" in page
    assert "Dial 3" in page
    gauge.refresh_from_db()
    assert gauge.name == "Dial 2"


def test_a_check_makes_it_due_and_overdue(theo: Client, gauge: Instrument) -> None:
    day = date(2025, 5, 5)
    answer = theo.post(
        f"/shop/instruments/{gauge.pk}/checks/",
        {"checked_on": day.isoformat(), "due_on": "2026-05-05", "note": "deadweight"},
    )
    assert answer.status_code == 302
    on_the_day, after = (instrument_lines(date(2026, 5, 5) + timedelta(n))[0] for n in (0, 1))
    assert not on_the_day.is_overdue
    assert after.is_overdue
    assert "deadweight" in theo.get(f"/shop/instruments/{gauge.pk}/").content.decode()


@pytest.mark.parametrize(
    ("checked_on", "due_on", "says"),
    [
        ("", "", "Fill this in"),
        ("2999-01-01", "", "in the future"),
        ("2025-05-05", "2025-05-05", "after this one"),
        ("2025-05-05", "9999-05-05", "check the year"),
        ("2025-05-05", "soon", "not a date"),
        ("5 May", "", "not a date"),
    ],
)
def test_a_bad_check_is_refused(
    theo: Client, gauge: Instrument, checked_on: str, due_on: str, says: str
) -> None:
    answer = theo.post(
        f"/shop/instruments/{gauge.pk}/checks/",
        {"checked_on": checked_on, "due_on": due_on, "note": "kept words"},
    )
    page = answer.content.decode()
    assert says in page
    assert "kept words" in page
    assert not InstrumentCheck.objects.exists()


def test_a_check_taken_back_stays_on_file(theo: Client, gauge: Instrument) -> None:
    first, wrong = (
        actions.check_instrument(
            by=theo_the_technician(), instrument=gauge, checked_on=date(year, 1, 1)
        )
        for year in (2024, 2025)
    )
    answer = theo.post(f"/shop/checks/{wrong.pk}/take-back/", {"reason": "the other gauge"})
    assert answer.status_code == 302
    assert instrument_lines(date(2026, 1, 1))[0].last == first
    assert "the other gauge" in theo.get(f"/shop/instruments/{gauge.pk}/").content.decode()
    assert theo.post(f"/shop/checks/{wrong.pk}/take-back/", {"reason": "x"}).status_code == 404


def test_taking_back_needs_a_reason(theo: Client, gauge: Instrument) -> None:
    check = actions.check_instrument(
        by=theo_the_technician(), instrument=gauge, checked_on=date(2025, 1, 1)
    )
    answer = theo.post(f"/shop/checks/{check.pk}/take-back/", {"reason": " "})
    assert "Fill this in" in answer.content.decode()
    assert InstrumentCheck.objects.count() == 1


def test_an_office_may_not(client: Client, gauge: Instrument) -> None:
    bea = bea_of_birch_lane()
    client.force_login(bea)
    for path in ("", "new/", f"{gauge.pk}/"):
        assert client.get(f"/shop/instruments/{path}").status_code == 403
    with pytest.raises(NotAllowedError):
        actions.add_instrument(by=bea, details=actions.InstrumentDetails("x", "timer"))
    with pytest.raises(NotAllowedError):
        actions.check_instrument(by=bea, instrument=gauge, checked_on=date(2025, 1, 1))


def test_the_wrong_method_is_refused(theo: Client, gauge: Instrument) -> None:
    assert theo.get(f"/shop/instruments/{gauge.pk}/checks/").status_code == 405
    assert theo.post("/shop/instruments/").status_code == 405
