"""Charts on a page: drawn before any script, alive after, under the page's content policy."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from turnwell.pictures.bundle import NAME, write

pytestmark = pytest.mark.django_db(transaction=True)
LOADED = "performance.getEntriesByType('resource').map(entry => entry.name).join(' ')"


@pytest.fixture(autouse=True)
def _chart_page(settings):
    write(settings.CHART_PROGRAM)
    settings.ROOT_URLCONF = "tests.web.browser.chart_page"


@pytest.mark.parametrize("width", [360, 820, 1440])
def test_without_scripts_the_chart_is_there_at_every_width(open_page, width):
    page = open_page("owner", "/charts/0/", width=width, java_script_enabled=False)
    shown = page.locator(".chart__at:visible")
    expect(shown).to_have_count(1)
    expect(shown.get_by_text("coast-down")).to_be_visible()
    expect(page.get_by_role("button", name="Closer")).to_be_hidden()


@pytest.mark.parametrize("width", [360, 1440])
def test_it_comes_alive_and_zooms_by_buttons(open_page, width):
    page = open_page("owner", "/charts/0/", width=width)
    expect(page.locator('[data-state="live"]')).to_have_count(1)
    figure = page.locator(".chart")
    expect(figure.get_by_text("run-up")).to_be_in_viewport()
    closer, wider = (page.get_by_role("button", name=name) for name in ("Closer", "Wider"))
    expect(wider).to_have_attribute("aria-disabled", "true")
    closer.click()
    closer.click()
    expect(wider).to_have_attribute("aria-disabled", "false")
    expect(figure.get_by_text("run-up")).not_to_be_in_viewport()
    page.get_by_role("button", name="Whole run").press("Enter")
    expect(figure.get_by_text("run-up")).to_be_in_viewport()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_it_tells_the_speed_under_the_pointer(open_page):
    page = open_page("owner", "/charts/0/")
    expect(page.locator('[data-state="live"]')).to_have_count(1)
    box = page.locator(".chart__drawing svg").bounding_box()
    page.mouse.move(box["x"] + box["width"] * 0.5, box["y"] + box["height"] * 0.6)
    # The steady part: 400,000 rpm within the last thousandths of its rise.
    expect(page.locator(".chart__drawing").get_by_text("s, 39").first).to_be_visible()


def test_the_chart_program_is_fetched_only_when_a_chart_comes_into_view(open_page):
    page = open_page("owner", "/charts/300/")
    page.wait_for_load_state("networkidle")
    assert NAME not in page.evaluate(LOADED)
    page.locator(".chart").scroll_into_view_if_needed()
    expect(page.locator('[data-state="live"]')).to_have_count(1)
    assert NAME in page.evaluate(LOADED)


def test_it_is_drawn_anew_for_another_width(open_page):
    page = open_page("owner", "/charts/0/")
    expect(page.locator('[data-state="live"]')).to_have_count(1)
    page.set_viewport_size({"width": 600, "height": 900})
    matter = page.locator(".chart__drawing").bounding_box()["width"]
    drawn = page.locator(".chart__drawing svg")
    expect(drawn).to_have_attribute("width", str(int(matter)))


@pytest.mark.parametrize("width", [360, 1440])
def test_everybody_can_use_it(open_page, width):
    page = open_page("owner", "/charts/0/", width=width)
    expect(page.locator('[data-state="live"]')).to_have_count(1)
    assert page.get_by_role("img").first.get_attribute("aria-label").startswith("Speed over time.")
    assert Axe().run(page, context="#main").response["violations"] == []
    for button in page.locator(".chart button").all():
        assert button.bounding_box()["height"] >= 44


@pytest.mark.parametrize("width", [360, 820, 1440])
def test_coast_downs_and_orders_are_drawn_at_every_width_without_scripts(open_page, width):
    page = open_page("owner", "/heard/", width=width, java_script_enabled=False)
    shown = page.locator(".chart__at:visible")
    expect(shown).to_have_count(2)
    expect(shown.get_by_text("outer ring stands out")).to_be_visible()
    expect(shown.get_by_text("before").first).to_be_visible()
    # No label leaves its picture.
    for label in page.locator(".chart__at:visible text").all():
        box = label.bounding_box()
        assert box["x"] >= 0.0
        assert box["x"] + box["width"] <= width


@pytest.mark.parametrize("width", [360, 1440])
def test_everybody_can_read_what_was_heard(open_page, width):
    page = open_page("owner", "/heard/", width=width)
    for more in page.locator("details").all():
        more.evaluate("one => one.open = true")
    names = [one.get_attribute("aria-label") for one in page.get_by_role("img").all()]
    assert any(str(name).startswith("Order picture") for name in names)
    assert Axe().run(page, context="#main").response["violations"] == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    for summary in page.locator("summary").all():
        assert summary.bounding_box()["height"] >= 44
