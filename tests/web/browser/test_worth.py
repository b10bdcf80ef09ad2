"""What an option is worth changes as its price is typed; without a script a button asks."""

import re

import pytest
from playwright.sync_api import Page, Route, expect

from tests.web.browser.conftest import Opener
from tests.web.jobs.builders import a_job, bring_to
from tests.web.lives.shops import back_after
from turnwell.web.jobs.models import EstimateOption, Job, Stage

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def job() -> Job:
    back_after([100, 120, 140, 160, 180, 200])
    return bring_to(a_job(), Stage.TORN_DOWN)


def price(page: Page, parts: str) -> None:
    page.get_by_label("New bearings").check()
    page.get_by_label("Parts, before tax").fill(parts)


def test_typing_a_price_changes_what_it_is_worth(open_page: Opener, job: Job) -> None:
    page = open_page("technician", f"/jobs/{job.code}/options/new/")
    worth = page.locator("#worth")
    expect(worth).to_contain_text("Choose what is done and type its price")
    price(page, "100")
    expect(worth).to_contain_text("100.00")
    cheap = worth.inner_text()
    page.get_by_label("Parts, before tax").fill("900")
    expect(worth).to_contain_text("900.00")
    assert worth.inner_text() != cheap
    worth.get_by_text("What it rests on").click()
    expect(worth.locator(f"a[href='/jobs/{job.code}/worth/bearings/']")).to_be_visible()
    # Nothing was saved by looking.
    assert not EstimateOption.objects.filter(job=job).exists()


def test_an_answer_that_comes_late_does_not_stay(open_page: Opener, job: Job) -> None:
    page = open_page("technician", f"/jobs/{job.code}/options/new/")
    worth, late = page.locator("#worth"), []

    def hold_the_first(route: Route) -> None:
        if b"555" in (route.request.post_data_buffer or b""):
            late.append(route)
        else:
            route.continue_()

    page.route("**/worth/", hold_the_first)
    with page.expect_request("**/worth/"):
        price(page, "555")
    page.wait_for_timeout(600)
    page.get_by_label("Parts, before tax").fill("777")
    expect(worth).to_contain_text("777.00")
    with page.expect_response("**/worth/"):
        late[0].continue_()
    page.wait_for_timeout(300)
    expect(worth).to_contain_text("777.00")


def test_where_the_server_is_not_reached_it_says_so(open_page: Opener, job: Job) -> None:
    page = open_page("technician", f"/jobs/{job.code}/options/new/")
    page.route("**/worth/", lambda route: route.abort())
    price(page, "100")
    expect(page.locator("#worth")).to_contain_text("The server was not reached")


def test_without_a_script_the_button_says_what_it_is_worth(open_page: Opener, job: Job) -> None:
    page = open_page("technician", f"/jobs/{job.code}/options/new/", java_script_enabled=False)
    price(page, "100")
    page.get_by_role("button", name="What is it worth?").click()
    page.wait_for_url(re.compile(rf"/jobs/{job.code}/worth/$"))
    expect(page.get_by_role("heading", name="What the option is worth")).to_be_visible()
    expect(page.locator("main")).to_contain_text("100.00")
    assert not EstimateOption.objects.filter(job=job).exists()
    page.get_by_role("button", name="Save the option").click()
    page.wait_for_url(re.compile(rf"/jobs/{job.code}/(#.*)?$"))
    assert EstimateOption.objects.get(job=job).parts_price == 100
