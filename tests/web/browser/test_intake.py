"""Records dropped on a page: sent in goes, read in the background, the page follows by itself."""

import re
from collections.abc import Iterator

import pytest

from tests.web.browser.conftest import Opener
from tests.web.sterilizers.builders import a_record, a_sterilizer, csv_of, read_as
from turnwell.web.sterilizers import background
from turnwell.web.sterilizers.actions import intake
from turnwell.web.sterilizers.models import CycleRecord, Intake, IntakeFile

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def _read(monkeypatch: pytest.MonkeyPatch, settings, tmp_path) -> Iterator[None]:
    """Let every file be read in no time, and let the reader end before the database is emptied."""
    settings.EVIDENCE_ROOT = tmp_path / "evidence"
    monkeypatch.setattr(intake, "review_file", lambda *_file, **_known: read_as())
    yield
    for thread in background.running():
        thread.join(20.0)


def files(count: int) -> list[dict[str, object]]:
    return [
        {"name": f"run-{number:03d}.csv", "mimeType": "text/csv", "buffer": csv_of(number)}
        for number in range(count)
    ]


def test_more_files_than_one_form_holds_are_sent_and_read(open_page: Opener) -> None:
    sterilizer = a_sterilizer()
    a_record(sterilizer, number=7)
    page = open_page("technician", f"/sterilizers/{sterilizer.pk}/")
    page.set_input_files("input[type=file]", files(60))
    page.get_by_role("button", name="Send the files").click()
    page.wait_for_url(re.compile(r"/sterilizers/intakes/\d+/$"))
    page.get_by_text("All 60 files are done.").wait_for(timeout=60_000)
    assert Intake.objects.count() == 1
    assert CycleRecord.objects.count() == 60
    assert IntakeFile.objects.filter(state="duplicate").count() == 1
    # It came to its end: nothing asks again.
    assert page.locator("[data-goes-on]").count() == 0


def test_without_a_script_the_form_sends_by_itself(open_page: Opener) -> None:
    sterilizer = a_sterilizer()
    page = open_page("technician", f"/sterilizers/{sterilizer.pk}/", java_script_enabled=False)
    page.set_input_files("input[type=file]", files(3))
    page.get_by_role("button", name="Send the files").click()
    page.wait_for_url(re.compile(r"/sterilizers/intakes/\d+/$"))
    for _ in range(50):
        if page.get_by_text("All 3 are done.").count():
            break
        page.wait_for_timeout(100)
        page.reload()
    assert CycleRecord.objects.count() == 3


def test_a_refusal_says_what_came_through(open_page: Opener) -> None:
    sterilizer = a_sterilizer()
    page = open_page("technician", f"/sterilizers/{sterilizer.pk}/")
    page.route(
        "**/intakes/*/files/",
        lambda route: route.fulfill(status=507, json={"refused": "The disk is full."}),
    )
    page.set_input_files("input[type=file]", files(60))
    page.get_by_role("button", name="Send the files").click()
    said = page.locator("[data-drop-says]")
    said.get_by_text("The disk is full.").wait_for(timeout=60_000)
    assert "50 of 60 came through" in said.inner_text()
    assert IntakeFile.objects.count() == 50
