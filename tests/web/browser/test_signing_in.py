"""Coming in, as a person does it."""

from playwright.sync_api import expect

from tests.people import theo_the_technician
from tests.web.browser.conftest import Opener


def test_name_and_password_let_a_person_in(open_page: Opener) -> None:
    theo_the_technician()
    page = open_page("anonymous", "/own-password/")
    page.get_by_label("Name").fill("theo")
    page.get_by_label("Password").fill("a wrong one")
    page.get_by_role("button", name="Sign in").click()
    assert "do not belong together" in page.get_by_role("alert").inner_text()
    page.get_by_label("Password").fill("a long enough word")
    page.keyboard.press("Enter")
    # The address waited at before had the same end, so wait for the page itself.
    expect(page.get_by_role("heading", level=1)).to_have_text("Your password")


def test_the_shipped_face_is_the_one_drawn(open_page: Opener) -> None:
    page = open_page("anonymous", "/sign-in/")
    page.evaluate("document.fonts.ready")
    drawn = "[...document.fonts].filter(face => face.status == 'loaded').map(face => face.weight)"
    assert {"400", "600"} <= set(page.evaluate(drawn))
