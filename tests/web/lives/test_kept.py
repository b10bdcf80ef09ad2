"""Answers are made once and dropped with the next write."""

from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import reverse

from tests.people import theo_the_technician
from tests.web.lives.records.shop import NOW, a_stay, records
from tests.web.lives.shops import came_back, review_office, two_offices
from turnwell.web.jobs.actions import confirm_cause
from turnwell.web.jobs.models import Job
from turnwell.web.lives import kept
from turnwell.web.lives.kept import kept_answer
from turnwell.web.lives.page import review_now
from turnwell.web.lives.records import keeping, shop_records
from turnwell.web.lives.round_page import round_page_of
from turnwell.web.offices.actions import OFFICE_FIELDS, OfficeDetails, edit_office

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _nothing_kept() -> Iterator[None]:
    keeping.forget()
    keeping.path_of_file().unlink(missing_ok=True)
    yield
    keeping.forget()
    keeping.path_of_file().unlink(missing_ok=True)


@pytest.fixture
def outside(monkeypatch: pytest.MonkeyPatch) -> None:
    """Take the test's own transaction, which is rolled back at its end, for none."""
    monkeypatch.setattr(keeping, "_may_be_rolled_back", lambda: False)


class Maker:
    def __init__(self) -> None:
        self.made = 0

    def __call__(self) -> int:
        self.made += 1
        return self.made


def test_an_answer_is_made_once_for_one_state_of_the_records():
    state, make = records(), Maker()
    assert [kept_answer(state, "same", make) for _ in range(3)] == [1, 1, 1]
    assert kept_answer(state, "another", make) == 2


def test_other_records_get_their_own_answer():
    make = Maker()
    assert kept_answer(records(), "same", make) == 1
    assert kept_answer(records(), "same", make) == 2


def test_an_answer_made_of_older_records_is_not_kept_for_newer_ones():
    older, newer = records(), records()

    def overtaken() -> str:
        assert kept_answer(newer, "same", lambda: "newer") == "newer"
        return "older"

    assert kept_answer(older, "same", overtaken) == "older"
    assert kept_answer(newer, "same", lambda: "made again") == "newer"


def test_no_more_answers_are_kept_than_fit(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(kept, "MOST_KEPT", 3)
    state, make = records(), Maker()
    for number in range(50):
        kept_answer(state, number, make)
        assert len(kept._answers.found) <= 4


@pytest.mark.usefixtures("outside")
def test_a_review_is_kept_until_something_is_written():
    worn, _ = two_offices()
    office = review_office()
    first = review_now(office, years=2, now=NOW)[1]
    assert review_now(office, years=2, now=NOW)[1] is first
    assert review_now(office, years=1, now=NOW)[1] is not first
    a_stay(worn, 400, 402)
    second = review_now(office, years=2, now=NOW)[1]
    assert (first.returns.count, second.returns.count) == (2, 3)


@pytest.mark.usefixtures("outside")
def test_a_cause_settled_by_its_action_is_seen_at_once():
    came_back("Birch Lane", [100, 200])
    came_back("Cedar Row", [150])
    office = review_office()
    assert not review_now(office, years=2, now=NOW)[1].actions
    back = Job.objects.filter(office=office).order_by("-taken_in_at")[0]
    confirm_cause(by=theo_the_technician(), job=back, cause_key="moisture_corrosion")
    assert review_now(office, years=2, now=NOW)[1].actions


@pytest.mark.usefixtures("outside", "at_now")
def test_an_office_is_shown_by_its_new_name_at_once(client: Client):
    two_offices()
    client.force_login(theo_the_technician())
    assert "Birch Lane" in client.get(reverse("round")).content.decode()
    office = review_office()
    told = {name: getattr(office, name) for name in OFFICE_FIELDS} | {"name": "Alder Way"}
    edit_office(by=theo_the_technician(), office=office, details=OfficeDetails(**told))
    page = client.get(reverse("round")).content.decode()
    assert "Alder Way" in page
    assert "Birch Lane" not in page


@pytest.mark.usefixtures("outside")
def test_the_round_is_kept_until_something_is_written():
    worn, _ = two_offices()
    first = round_page_of(years=2, zone="UTC", now=NOW)
    assert round_page_of(years=2, zone="UTC", now=NOW) is first
    a_stay(worn, 400, 402)
    assert round_page_of(years=2, zone="UTC", now=NOW) is not first


@pytest.mark.usefixtures("outside")
def test_within_a_transaction_the_next_question_reads_anew(monkeypatch: pytest.MonkeyPatch):
    worn, _ = two_offices()
    kept_before = shop_records(NOW)
    monkeypatch.setattr(keeping, "_may_be_rolled_back", lambda: True)
    a_stay(worn, 400, 402)
    assert review_now(review_office(), years=2, now=NOW)[1].returns.count == 3
    monkeypatch.undo()
    assert kept_before.returns.count == 2
