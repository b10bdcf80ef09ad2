"""What an option is worth, asked from its form while the price is typed, and read on the job."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from tests.people import bea_of_birch_lane
from tests.web.lives.records.shop import a_stay, tool
from tests.web.lives.shops import back_after
from turnwell.web.jobs.models import EstimateOption, Job

pytestmark = pytest.mark.django_db
PRICED = {"kind": "bearings", "parts_price": "100", "labour_price": "", "warranty_months": "6"}


def the_job(**fields: object) -> Job:
    return a_stay(tool("Birch Lane", **fields), 725, None)


def asked(client: Client, job: Job, *, part: bool = True, **typed: str) -> str:
    headers = {"X-Part": "worth"} if part else {}
    answer = client.post(reverse("job-worth", args=[job.code]), PRICED | typed, headers=headers)
    assert answer.status_code == 200
    return answer.content.decode()


def a_use(page: str) -> float:
    """Give the cost of a use as it stands on the page."""
    said = " ".join(re.sub(r"<[^>]*>", " ", page).split())
    return float(re.search(r"Cost (?:of|per|a) (?:a )?use\D*?([\d.]+)", said)[1])


def test_the_cost_of_a_use_follows_the_price_that_is_typed(theo: Client):
    back_after([100, 120, 140, 160, 180, 200])
    job = the_job()
    cheap, dear = (asked(theo, job, parts_price=price) for price in ("100", "900"))
    assert cheap != dear
    assert a_use(dear) > 2 * a_use(cheap)


def test_nothing_is_saved_by_asking(theo: Client):
    back_after([100, 120, 140, 160, 180, 200])
    job = the_job()
    before = EstimateOption.objects.count()
    asked(theo, job)
    assert EstimateOption.objects.count() == before


def test_the_part_is_a_part_and_the_page_a_page(theo: Client):
    back_after([100, 120, 140, 160, 180, 200])
    job = the_job()
    part, page = asked(theo, job), asked(theo, job, part=False)
    assert "<html" not in part
    assert page.startswith("<!doctype html>")
    # What was typed stands in the form again, to be saved or changed.
    assert 'value="100"' in page
    assert reverse("option-new", args=[job.code]) in page


@pytest.mark.parametrize(
    "typed",
    [
        {"kind": ""},
        {"kind": "polish"},
        {"parts_price": ""},
        {"parts_price": "  "},
        {"parts_price": "ten"},
        {"parts_price": "-5"},
        {"parts_price": "nan"},
        {"parts_price": "1e30"},
        {"warranty_months": "-1"},
        {"warranty_months": "x"},
    ],
)
def test_what_cannot_be_priced_yet_says_what_to_type(theo: Client, typed: dict[str, str]):
    back_after([100, 120, 140, 160, 180, 200])
    page = asked(theo, the_job(), **typed)
    assert "Choose what is done and type its price" in page


def test_a_price_with_a_decimal_comma_is_read(theo: Client):
    back_after([100, 120, 140, 160, 180, 200])
    job = the_job()
    assert asked(theo, job, parts_price="99,50") == asked(theo, job, parts_price="99.50")


def test_a_thin_class_says_how_many_jobs_are_missing_and_no_figure(theo: Client):
    page = asked(theo, the_job())
    assert "Cannot tell yet: about 13 more jobs" in page
    assert 'class="readings"' not in page


def test_the_handpieces_behind_an_option_are_listed(theo: Client):
    back_after([100, 120, 140, 160, 180, 200])
    job = the_job()
    where = reverse("job-worth-behind", args=[job.code, "bearings"])
    assert where in asked(theo, job)
    page = theo.get(where).content.decode()
    assert page.count('<th scope="row">') == 6
    # Where the kind is thin, all repairs on the class stand behind it.
    whole = theo.get(reverse("job-worth-behind", args=[job.code, "cartridge"])).content.decode()
    assert whole.count('<th scope="row">') == 12


def test_a_kind_or_job_that_is_none_is_not_found(theo: Client):
    job = the_job()
    for code, kind in ((job.code, "polish"), ("J-NONE", "bearings")):
        assert theo.get(reverse("job-worth-behind", args=[code, kind])).status_code == 404
    assert theo.post(reverse("job-worth", args=["J-NONE"]), PRICED).status_code == 404


def test_an_office_person_may_not_ask(bea: Client):
    job = the_job()
    assert bea_of_birch_lane().office == job.office
    assert bea.post(reverse("job-worth", args=[job.code]), PRICED).status_code == 403
    where = reverse("job-worth-behind", args=[job.code, "bearings"])
    assert bea.get(where).status_code == 403


def test_words_that_were_typed_are_never_markup(theo: Client):
    bad = "<script>alert(1)</script>"
    page = asked(theo, the_job(serial=bad), part=False, words=bad, parts_price=bad)
    assert bad not in page
    assert "&lt;script&gt;" in page
