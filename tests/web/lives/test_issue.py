"""Office reviews as papers: made once, kept byte for byte, handed to who may see the office."""

from datetime import timedelta
from io import BytesIO

import pypdf
import pytest
from django.test import Client
from django.urls import reverse

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.lives.records.shop import NOW, a_stay, tool
from tests.web.lives.shops import came_back, review_office, trained, two_offices
from turnwell.errors import NotAllowedError, StageError
from turnwell.web.evidence.models import StoredFile
from turnwell.web.lives.actions import issue_office_review
from turnwell.web.lives.models import IssuedOfficeReview
from turnwell.web.lives.page import page_of
from turnwell.web.lives.paper import review_values
from turnwell.web.offices.models import Office
from turnwell.web.shop.queries import the_shop

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]


def issued(name: str = "Birch Lane", **options: object) -> IssuedOfficeReview:
    asked = {"by": theo_the_technician(), "office": review_office(name), "years": 2, "at": NOW}
    return issue_office_review(**asked | options)


def text_of(content: bytes) -> str:
    pages = pypdf.PdfReader(BytesIO(content)).pages
    return " ".join("".join(page.extract_text() for page in pages).replace("\u200b", "").split())


def handed(client: Client, paper: IssuedOfficeReview) -> bytes:
    answer = client.get(reverse("office-review-paper", args=[paper.pk]))
    assert answer.status_code == 200
    return answer.content


def test_the_paper_says_what_the_page_says(theo: Client):
    worn, _ = two_offices()
    said = page_of(review_office(), years=2, now=NOW).in_short
    assert said.startswith("Nothing shows")
    text = text_of(handed(theo, issued()))
    assert " ".join(said.split()) in text
    assert "Birch Lane" in text
    assert worn.serial in text
    assert "250.00 EUR" in text


def test_figures_on_the_paper_are_those_of_the_review():
    worn, _ = two_offices()
    trained("Birch Lane", 720)
    page = page_of(review_office(), years=2, now=NOW)
    values = review_values(page, shop=the_shop(), by=theo_the_technician(), at=NOW)
    (often,) = values.handpieces
    assert (often.returns, often.serial, often.spent) == (2, worn.serial, 250)
    # 715 of 365.25 days at risk, in twelfths.
    assert often.watched == "23 months"
    assert values.money.spent == 250
    assert values.expected == (page.review.against,)
    assert values.holds == "1 handpiece"
    assert values.link.endswith(reverse("office-review", args=[review_office().pk]))
    # Too young a visit is told among what cannot be told, not among the trainings.
    assert values.trainings == ()
    assert any("visit of" in one.what for one in values.untold)


def test_a_paper_is_kept_as_it_was_issued(theo: Client):
    worn, _ = two_offices()
    paper = issued()
    first = handed(theo, paper)
    assert first.startswith(b"%PDF-")
    a_stay(worn, 500, 502)
    a_stay(worn, 600, 602)
    Office.objects.filter(name="Birch Lane").update(name="Alder Way")
    assert handed(theo, paper) == first
    later = issued("Alder Way")
    assert handed(theo, later) != first
    assert IssuedOfficeReview.objects.count() == 2


def test_the_same_records_make_the_same_bytes(theo: Client):
    two_offices()
    assert handed(theo, issued()) == handed(theo, issued())


def test_an_office_with_nothing_under_observation_gets_no_paper(theo: Client):
    tool("Birch Lane")
    with pytest.raises(StageError, match="no handpiece of Birch Lane is under observation yet"):
        issued()
    where = reverse("office-review-issue", args=[review_office().pk])
    page = theo.post(where, {"years": "2"}, follow=True).content.decode()
    assert "is under observation yet; hand one back" in page
    assert not IssuedOfficeReview.objects.exists()
    assert not StoredFile.objects.exists()


def test_an_office_issues_none_and_is_handed_its_own(client: Client):
    two_offices()
    with pytest.raises(NotAllowedError):
        issued(by=bea_of_birch_lane())
    mine, other = issued(), issued("Cedar Row")
    client.force_login(bea_of_birch_lane())
    assert handed(client, mine).startswith(b"%PDF-")
    assert client.get(reverse("office-review-paper", args=[other.pk])).status_code == 404


def test_a_paper_is_issued_from_the_page_with_its_period(theo: Client):
    two_offices()
    where = reverse("office-review-issue", args=[review_office().pk])
    assert theo.get(where).status_code == 405
    assert theo.post(where, {"years": "1"}).url.endswith("#papers")
    (paper,) = IssuedOfficeReview.objects.all()
    assert (paper.issued_at, paper.issued_by) == (NOW, theo_the_technician())
    page = theo.get(reverse("office-review", args=[review_office().pk])).content.decode()
    assert reverse("office-review-paper", args=[paper.pk]) in page
    # In that year nothing came back.
    assert "0 returns" in text_of(handed(theo, paper))


def test_the_newest_paper_stands_first(theo: Client):
    came_back("Birch Lane", [100])
    older = issued(at=NOW - timedelta(days=3))
    newer = issued()
    assert list(review_office().reviews.all()) == [newer, older]


def test_names_are_never_markup_on_paper(theo: Client):
    bad = "#strong[x] *y* _z_ $w$"
    came_back(bad, [100, 200], serial="*9*")
    text = text_of(handed(theo, issued(bad)))
    assert bad in text
    assert "*9*" in text
