"""The shop's own settings."""

import pytest
from django.test import Client

from tests.people import bea_of_birch_lane, olga_the_owner, theo_the_technician
from turnwell.web.shop.models import Shop
from turnwell.web.shop.queries import the_shop

pytestmark = pytest.mark.django_db
GOOD = {
    "name": "Larch Bench",
    "address": "3 Larch Street",
    "phone": "",
    "email": "",
    "time_zone": "Europe/Oslo",
    "pressure_unit": "psi",
    "temperature_unit": "F",
    "length_unit": "in",
    "paper_size": "us-letter",
    "currency": "NOK",
    "tax_name": "VAT",
    "tax_percent": "8.25",
    "tax_rounding": "line",
}


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(olga_the_owner())
    return client


def test_the_settings_are_saved_and_hold(owner: Client) -> None:
    answer = owner.post("/shop/edit/", GOOD)
    assert answer["Location"] == "/shop/"
    shop = the_shop()
    assert (shop.pk, shop.name, shop.pressure_unit, str(shop.tax_percent)) == (
        1,
        "Larch Bench",
        "psi",
        "8.250",
    )
    assert "Larch Bench" in owner.get("/shop/").content.decode()
    owner.post("/shop/edit/", {**GOOD, "name": "Larch Bench again"})
    assert Shop.objects.get().name == "Larch Bench again"


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("name", "", "Fill this in"),
        ("name", "x\x00y", "NUL"),
        ("name", "x" * 121, "at most 120"),
        ("email", "nobody", "valid email"),
        ("time_zone", "Mars/Base", "not one of the available choices"),
        ("pressure_unit", "atm", "not one of the available choices"),
        ("currency", "dollars", "at most 3"),
        ("currency", "us", "three letters"),
        ("tax_percent", "101", "between 0 and 100"),
        ("tax_percent", "-1", "between 0 and 100"),
        ("tax_percent", "NaN", "is not a number"),
        ("tax_percent", "", "Fill this in"),
    ],
)
def test_a_bad_field_is_refused_and_the_rest_kept(
    owner: Client, field: str, typed: str, says: str
) -> None:
    answer = owner.post("/shop/edit/", {**GOOD, field: typed})
    page = answer.content.decode()
    assert answer.status_code == 200
    assert says in page
    assert "3 Larch Street" in page
    assert not Shop.objects.exists()


def test_two_owners_do_not_overwrite_each_other(owner: Client) -> None:
    seen = owner.get("/shop/edit/").context["seen"]
    owner.post("/shop/edit/", {**GOOD, "seen": seen})
    answer = owner.post("/shop/edit/", {**GOOD, "name": "Elm Bench", "seen": seen})
    assert "changed elsewhere" in answer.content.decode()
    assert "Elm Bench" in answer.content.decode()
    assert the_shop().name == "Larch Bench"


def test_a_technician_sees_but_does_not_change(client: Client) -> None:
    client.force_login(theo_the_technician())
    assert client.get("/shop/").status_code == 200
    assert client.get("/shop/edit/").status_code == 403
    assert client.post("/shop/edit/", GOOD).status_code == 403
    assert not Shop.objects.exists()


def test_an_office_sees_nothing_of_it(client: Client) -> None:
    client.force_login(bea_of_birch_lane())
    assert client.get("/shop/").status_code == 403


def test_the_wrong_method_is_refused(owner: Client) -> None:
    assert owner.post("/shop/", GOOD).status_code == 405
    assert owner.delete("/shop/edit/").status_code == 405
