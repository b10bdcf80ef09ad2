"""Finding things with a scanner, and pages that fit every screen."""

import pytest

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.browser.conftest import Opener
from tests.web.jobs.builders import a_handpiece, a_job, a_model, bring_to
from turnwell.web.jobs.models import Job, Stage


def a_job_in_the_middle() -> Job:
    """Give a job of a handpiece with a long name in every place."""
    office = bea_of_birch_lane().office
    office.name = "The Family Dentistry and Oral Surgery at the Old Mill by the River"
    office.save()
    model = a_model("A model whose name is as long as labels get")
    handpiece = a_handpiece("SN-1234567890-ABCDEFGH", office=office, model=model)
    bring_to(a_job(handpiece), Stage.HANDED_BACK)
    return bring_to(a_job(handpiece), Stage.TORN_DOWN)


def test_a_scan_into_the_first_page_opens_the_handpiece(open_page: Opener) -> None:
    handpiece = a_handpiece("SN-1")
    page = open_page("technician", "/")
    # A scanner types into whatever has the focus, and ends with Enter.
    page.keyboard.type(handpiece.code)
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/handpieces/{handpiece.code}/")
    assert page.get_by_role("heading", level=1).inner_text() == "SN-1, 4-hole air turbine"


@pytest.mark.parametrize("width", [360, 820, 1440])
def test_no_page_is_wider_than_the_screen(open_page: Opener, width: int) -> None:
    theo_the_technician()
    job = a_job_in_the_middle()
    handpiece = job.handpiece
    page = open_page("technician", "/", width=width)
    for path in (
        "/",
        "/?group=to-estimate",
        "/search/?q=sn",
        "/search/?q=nothing+of+the+kind",
        "/offices/",
        f"/offices/{handpiece.office_id}/",
        "/offices/new/",
        "/handpieces/",
        f"/handpieces/{handpiece.code}/",
        f"/handpieces/{handpiece.code}/edit/",
        f"/models/{handpiece.model_id}/",
        "/models/new/",
        "/catalogue/air_turbine_4_hole/",
        "/catalogue/air_turbine_4_hole/limits/run_out/",
        "/catalogue/findings/",
        "/catalogue/sources/",
    ):
        page.goto(path)
        wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0, f"{path} is {wide} px too wide at {width} px"


def test_links_and_buttons_of_the_first_page_are_as_tall_as_a_glove(open_page: Opener) -> None:
    a_job_in_the_middle()
    page = open_page("technician", "/", width=360)
    heights = page.evaluate(
        "[...document.querySelectorAll('main a, main button, main input')]"
        ".map(one => [one.textContent.trim(), one.getBoundingClientRect().height])"
    )
    assert len(heights) >= 3
    assert [one for one in heights if one[1] < 44] == []
