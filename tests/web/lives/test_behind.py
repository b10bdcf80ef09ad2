"""The lists behind the figures: which handpieces, since when, how long, and what was left out."""

import re
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from tests.web.lives.records.shop import a_stay, agree, records, tool
from tests.web.lives.shops import back_after, came_back, review_office, trained, two_offices
from turnwell.web.lives.behind import LINES_A_PAGE, lives_behind, returns_behind
from turnwell.web.visits.models import Visit

pytestmark = pytest.mark.django_db
TURBINE = "air_turbine_4_hole"


def behind(figure: str = "returns", name: str = "Birch Lane") -> str:
    return reverse("office-review-behind", args=[review_office(name).pk, figure])


def test_each_return_stands_with_its_days_and_cause():
    worn, _ = two_offices()
    found = records()
    lines = returns_behind(found, found.returns, None)["page"].object_list
    # The newest first; both after a hundred days.
    assert [line.lasted for line in lines] == ["100", "100"]
    assert [line.ended.taken_in_at.month for line in lines] == [8, 4]
    assert {line.says for line in lines} == {"Moisture and rust"}
    assert {line.handpiece for line in lines} == {worn}
    assert all(line.began.ended_at < line.ended.taken_in_at for line in lines)


def test_a_return_after_a_count_at_a_visit_has_no_hand_back_before_it():
    one = tool(known_cycles=100, known_cycles_on=date(2024, 3, 1))
    a_stay(one, 200, 202)
    found = records()
    (line,) = returns_behind(found, found.returns, None)["page"].object_list
    assert (line.began, line.since, line.lasted) == (None, "the count of its cycles", "")


def test_each_life_stands_with_how_it_ended():
    came_back("Birch Lane", [100])
    shown = lives_behind(records().repair_lives(), None)
    told = {line.says: line.lasted for line in shown["page"].object_list}
    # Back on day 100; handed back on day 101 and running on day 731.
    assert told == {"came back, cause not settled": "100", "still running when last known": "630"}
    assert shown["lasted_says"] == "Lasted, days"


def test_lives_that_ended_last_stand_first():
    came_back("Birch Lane", [100, 300, 420])
    lines = lives_behind(records().repair_lives(), None)["page"].object_list
    assert [line.lasted for line in lines] == ["119", "199", "100", "310"]


def test_counted_lives_are_listed_in_cycles():
    for number in range(3):
        one, days = tool(), 100 + 10 * number
        a_stay(one, -1, 0, cycles=50)
        a_stay(one, days, days + 1, cycles=50 + 3 * days, unrepaired=True)
    shown = lives_behind(records().repair_lives(), None)
    assert shown["lasted_says"] == "Lasted, cycles"
    assert sorted(line.lasted for line in shown["page"].object_list) == ["300", "330", "360"]


def test_handpieces_left_out_are_counted():
    for number in range(2):
        came_back("Birch Lane", [100 + number])
    (left,) = lives_behind(records().first_lives(), None)["left_out"]
    assert "unknown age" in left
    assert re.findall(r"\d+", left) == ["2"]


def test_long_lists_are_paged(theo: Client):
    days = range(20, 720, 12)
    came_back("Birch Lane", days)
    count = len(days)
    first, second = (theo.get(f"{behind()}?page={page}") for page in (1, 2))
    assert first.content.decode().count('<th scope="row">') == LINES_A_PAGE
    assert second.content.decode().count('<th scope="row">') == count - LINES_A_PAGE
    assert f"{count}, newest first." in first.content.decode()
    assert "years=2&amp;page=2" in first.content.decode()


@pytest.mark.parametrize("page", ["0", "-1", "99", "x", "9" * 300])
def test_a_page_that_is_none_shows_one_that_is(theo: Client, page: str):
    two_offices()
    assert theo.get(f"{behind()}?page={page}").status_code == 200


@pytest.mark.parametrize("figure", ["", "money", "returns2", "RETURNS"])
def test_a_figure_that_is_none_is_not_found(theo: Client, figure: str):
    two_offices()
    where = behind("x").replace("/x/", f"/{figure}/")
    assert theo.get(where).status_code == 404


def test_causes_of_an_office_never_seen_are_not_found(theo: Client):
    tool("Elm Row")
    assert theo.get(behind("causes", "Elm Row")).status_code == 404


def test_the_returns_listed_are_those_of_the_page(theo: Client):
    two_offices()
    for years, count in ((1, 0), (2, 2)):
        review = theo.get(f"{reverse('office-review', args=[review_office().pk])}?years={years}")
        said = re.search(r"(\d+) returns?(?:<[^>]*>)? of", review.content.decode())
        listed = theo.get(f"{behind()}?years={years}").content.decode()
        assert int(said[1]) == listed.count('<th scope="row">') == count


def test_the_lives_behind_a_repair_of_the_round_are_listed(theo: Client):
    back_after([100, 120, 140])
    page = theo.get(reverse("round-behind", args=[TURBINE, "bearings"])).content.decode()
    assert page.count('<th scope="row">') == 3
    assert all(f">{days}<" in page for days in (100, 120, 140))


def test_a_repair_or_class_that_is_none_is_not_found(theo: Client):
    back_after([100])
    for class_key, kind in ((TURBINE, "polish"), ("kettle", "bearings")):
        assert theo.get(reverse("round-behind", args=[class_key, kind])).status_code == 404


def test_every_handpiece_under_observation_is_listed_the_most_often_back_first(theo: Client):
    came_back("Birch Lane", [500])
    came_back("Birch Lane", [450, 550])
    came_back("Cedar Row", [400])
    page = theo.get(behind("watched")).content.decode()
    assert page.count('<th scope="row">') == 2
    assert page.index("came back 2 times") < page.index("came back once")
    assert "most often back first" in page


def test_the_returns_around_a_visit_are_listed_and_no_others(theo: Client):
    came_back("Birch Lane", [100, 300, 500])
    came_back("Cedar Row", [200])
    trained("Birch Lane", 381)
    visit = Visit.objects.get()
    address = reverse("office-review-visit", args=[review_office().pk, visit.pk])
    assert theo.get(address).content.decode().count('<th scope="row">') == 3
    elsewhere = reverse("office-review-visit", args=[review_office("Cedar Row").pk, visit.pk])
    assert theo.get(elsewhere).status_code == 404


def test_handpieces_under_warranty_are_listed_the_longest_cover_first(theo: Client):
    for months in (6, 24):
        one = tool("Birch Lane", serial=f"M-{months}")
        agree(a_stay(one, 700, 701), warranty_months=months)
    page = theo.get(reverse("round-warranty")).content.decode()
    assert page.count('<th scope="row">') == 2
    assert page.index("M-24") < page.index("M-6<")
    assert "of warranty left" in page
