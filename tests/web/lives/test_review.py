"""The page of an office review: what it says, to whom, and where its links lead."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from tests.web.lives.records.shop import a_stay, tool
from tests.web.lives.shops import came_back, review_office, trained, two_offices
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.lives.views.review import FIGURES
from turnwell.web.offices.models import Office

pytestmark = pytest.mark.django_db

HREF = re.compile(r'href="(/[^"#]*)')


def address(name: str = "Birch Lane", view: str = "office-review", *more: object) -> str:
    return reverse(view, args=[review_office(name).pk, *more])


def read(client: Client, where: str) -> str:
    answer = client.get(where)
    assert answer.status_code == 200
    return answer.content.decode()


def words(page: str) -> str:
    return " ".join(re.sub(r"<[^>]*>", "", page).split())


def links_of(page: str) -> set[str]:
    """Give the addresses of a page's own part, beside the styles."""
    return {link for link in HREF.findall(page) if not link.startswith("/static/")}


def test_the_page_says_what_came_back_and_what_it_cost(theo: Client):
    two_offices()
    page = read(theo, address())
    assert "2 returns of 1 handpiece" in words(page)
    assert "250.00 EUR went into returns." in page
    assert "2 of 2 returns have a price." in page
    assert "W-1" in page
    assert "Moisture and rust (2 times)" in page
    assert "Nothing shows that handpieces of this office come back more" in page


def test_a_period_is_chosen_by_its_years(theo: Client):
    two_offices()
    page = read(theo, f"{address()}?years=1")
    assert "0 returns of 1 handpiece" in words(page)
    assert '<b class="period" aria-current="true">1 year</b>' in page


@pytest.mark.parametrize("years", ["4", "0", "-1", "two", "", "9" * 400, "²", "1.0"])
def test_other_periods_fall_back_on_two_years(theo: Client, years: str):
    two_offices()
    page = read(theo, f"{address()}?years={years}")
    assert '<b class="period" aria-current="true">2 years</b>' in page


def test_an_empty_office_has_a_page_and_no_paper_to_issue(theo: Client):
    Office.objects.create(name="Empty Yard")
    page = read(theo, address("Empty Yard"))
    assert "no handpiece of this office is under observation" in page
    assert "Issue the review" not in page


def test_visits_are_shown_with_what_came_of_them(theo: Client):
    came_back("Birch Lane", [100, 250, 500])
    came_back("Cedar Row", [120, 270, 520])
    trained("Birch Lane", 300, "Drying shown")
    page = read(theo, address())
    assert "Drying shown" in page
    assert "Cannot tell a change" in page


def test_an_office_sees_its_own_review_alone(bea: Client):
    two_offices()
    assert "2 returns of 1 handpiece" in words(read(bea, address()))
    assert bea.get(address("Cedar Row")).status_code == 404
    for figure in ("returns", "causes"):
        where = address("Cedar Row", "office-review-behind", figure)
        assert bea.get(where).status_code == 404


def test_an_office_is_told_no_name_of_another(bea: Client):
    two_offices()
    came_back("Cedar Row", [100, 200, 300])
    pages = [address(), *(address("Birch Lane", "office-review-behind", of) for of in FIGURES)]
    for where in pages:
        page = read(bea, where)
        assert "Cedar Row" not in page
        assert "S-1" not in page


def moved_about() -> None:
    """Let one handpiece leave Birch Lane and another come to it, each with returns in both."""
    left = came_back("Birch Lane", [60, 120, 180, 240], serial="LEFT-1")
    came = came_back("Cedar Row", [60, 120, 180, 240], serial="CAME-1")
    came_back("Birch Lane", [90, 150], serial="STAYED-1")
    cedar, birch = review_office("Cedar Row"), review_office()
    Handpiece.objects.filter(pk=left.pk).update(office=cedar)
    Handpiece.objects.filter(pk=came.pk).update(office=birch)
    a_stay(Handpiece.objects.get(pk=left.pk), 400, 402)
    a_stay(Handpiece.objects.get(pk=came.pk), 400, 402)


def test_every_link_an_office_is_shown_opens(bea: Client):
    moved_about()
    trained("Birch Lane", 300)
    pages = [address(), *(address("Birch Lane", "office-review-behind", of) for of in FIGURES)]
    followed = {link for where in pages for link in links_of(read(bea, where))}
    assert any(link.startswith("/handpieces/") for link in followed)
    assert any(link.startswith("/jobs/") for link in followed)
    closed = [link for link in sorted(followed) if bea.get(link).status_code >= 400]
    assert closed == []


def test_where_a_handpiece_went_is_not_told_to_the_office_it_left(bea: Client):
    moved_about()
    for of in FIGURES:
        assert "Cedar Row" not in read(bea, address("Birch Lane", "office-review-behind", of))
    assert "Cedar Row" not in read(bea, address())


def test_the_shop_may_open_them_all(theo: Client):
    moved_about()
    page = read(theo, address("Birch Lane", "office-review-behind", "returns"))
    assert "LEFT-1" in page
    assert all(theo.get(link).status_code < 400 for link in links_of(page))


def test_names_are_never_markup(theo: Client):
    bad = "<script>alert(1)</script>"
    for office in (f"{bad} & Sons", "Elm Row"):
        came_back(office, [100, 200, 300], serial=f"{bad}-{office[:3]}")
    trained(f"{bad} & Sons", 250, f"Care {bad}")
    for where in (
        address(f"{bad} & Sons"),
        address(f"{bad} & Sons", "office-review-behind", "returns"),
        address(f"{bad} & Sons", "office-review-behind", "causes"),
        reverse("round"),
    ):
        page = read(theo, where)
        assert bad not in page
        assert "&lt;script&gt;" in page


def test_an_office_person_may_not_issue(bea: Client):
    two_offices()
    assert "Issue the review" not in read(bea, address())
    assert bea.post(address("Birch Lane", "office-review-issue")).status_code == 403


def test_one_office_alone_is_compared_with_nobody(bea: Client):
    came_back("Birch Lane", [100, 200])
    assert "there is no other office to compare with" in read(bea, address())


def test_a_handpiece_never_seen_leaves_a_page_that_cannot_tell(theo: Client):
    tool("Birch Lane")
    page = read(theo, address())
    assert "Cannot tell yet" in page
    assert "No handpiece came back more than once." in page
