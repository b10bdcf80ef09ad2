"""The page of the round."""

import pytest
from django.test import Client
from django.urls import reverse

from tests.web.lives.records.shop import a_stay, agree, tool
from tests.web.lives.shops import back_after, came_back, two_offices

pytestmark = pytest.mark.django_db


def read(client: Client, years: str = "") -> str:
    answer = client.get(reverse("round") + (f"?years={years}" if years else ""))
    assert answer.status_code == 200
    return answer.content.decode()


def a_bad_office() -> None:
    for number in range(6):
        came_back("Birch Lane", range(30 + number, 720, 50))
        for other in ("Cedar Row", "Elm Row", "Fir Road", "Gate Yard"):
            came_back(other, [300 + 10 * number])


def test_an_empty_book_says_that_it_cannot_tell(theo: Client):
    page = read(theo)
    assert "Cannot tell yet: nothing has come back since observation began." in page
    assert "No part was written down in the last twelve months." in page


def test_offices_that_are_surely_above_are_named(theo: Client):
    a_bad_office()
    page = read(theo)
    assert "More returns than expected, chance allowed for: Birch Lane." in page
    assert "over 99 %" in page
    # Those most surely above stand first in the table.
    assert page.index(">Birch Lane</a>") < page.index(">Cedar Row</a>")


def test_two_returns_make_no_office_one_to_call_on(theo: Client):
    two_offices()
    page = read(theo)
    assert "chance allowed for" not in page
    assert "2 offices" in page


def test_more_offices_than_stand_open_unfold(theo: Client):
    for number in range(15):
        came_back(f"Office {number:02d}", [100 + 10 * number])
    assert "Further offices: 3" in read(theo)


@pytest.mark.parametrize("years", ["4", "x", "-2", "9" * 300])
def test_other_periods_fall_back_on_two_years(theo: Client, years: str):
    two_offices()
    assert '<b class="period" aria-current="true">2 years</b>' in read(theo, years)


def test_a_repair_that_does_not_last_is_marked_and_leads_to_its_lives(theo: Client):
    back_after([100] * 6 + [400] * 4, "bearings")
    back_after([100] + [400] * 9, "cartridge")
    page = read(theo)
    assert page.count("lasts less than others") == 1
    assert page.index("New bearings</a>") < page.index("New cartridge</a>")
    assert reverse("round-behind", args=["air_turbine_4_hole", "bearings"]) in page


def test_handpieces_under_warranty_are_counted(theo: Client):
    for _ in range(3):
        agree(a_stay(tool(), 690, 700), price=80, warranty_months=12)
    page = read(theo)
    assert "3 handpieces under warranty." in page


def test_an_office_person_may_not_open_the_round(bea: Client):
    two_offices()
    assert bea.get(reverse("round")).status_code == 403
    where = reverse("round-behind", args=["air_turbine_4_hole", "bearings"])
    assert bea.get(where).status_code == 403
