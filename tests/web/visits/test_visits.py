from datetime import UTC, date, datetime

import pytest
from django.urls import reverse

from tests.people import bea_of_birch_lane, theo_the_technician
from turnwell.errors import ChangedMeanwhileError, InputError, NotAllowedError
from turnwell.web.offices.models import Office
from turnwell.web.visits.actions import VisitDetails, add_visit, correct_visit, take_back_visit
from turnwell.web.visits.models import Visit

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 5, 12, 12, 0, tzinfo=UTC)


@pytest.fixture
def office():
    return Office.objects.create(name="Elm Row")


@pytest.fixture
def theo(client):
    client.force_login(theo_the_technician())
    return client


def a_visit(office, on=date(2026, 5, 11), why="Drive air checked", **more):
    details = VisitDetails(visited_on=on, why=why, **more)
    return add_visit(by=theo_the_technician(), office=office, details=details, at=NOON)


def test_a_visit_is_written_down(office):
    visit = a_visit(office, was_training=True)
    assert (visit.visited_on, visit.was_training, visit.entered_at) == (
        date(2026, 5, 11),
        True,
        NOON,
    )


def test_today_is_the_offices_today():
    far = Office.objects.create(name="Far", time_zone="Pacific/Auckland")
    late = datetime(2026, 5, 12, 13, 0, tzinfo=UTC)  # already the 13th there
    details = VisitDetails(visited_on=date(2026, 5, 13), why="Called")
    add_visit(by=theo_the_technician(), office=far, details=details, at=late)
    later = VisitDetails(visited_on=date(2026, 5, 14), why="Called")
    with pytest.raises(InputError, match="2026-05-14 is in the future"):
        add_visit(by=theo_the_technician(), office=far, details=later, at=late)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"why": " "}, "why the visit was made"),
        ({"why": "x" * 301}, "at most 300"),
        ({"on": date(1949, 12, 31)}, "too long ago"),
        ({"on": date(2026, 5, 13)}, "in the future"),
    ],
)
def test_wrong_visits_are_refused(office, wrong, says):
    with pytest.raises(InputError, match=says):
        a_visit(office, **wrong)
    assert not Visit.objects.exists()


def test_people_of_an_office_write_none():
    bea = bea_of_birch_lane()
    with pytest.raises(NotAllowedError):
        add_visit(
            by=bea, office=bea.office, details=VisitDetails(date(2026, 5, 11), "Called"), at=NOON
        )


def test_a_correction_takes_the_place_and_the_old_entry_stays(office):
    old = a_visit(office)
    new = correct_visit(
        by=theo_the_technician(),
        visit=old,
        details=VisitDetails(date(2026, 5, 10), "Care taught", was_training=True),
        reason="wrong day",
        at=NOON,
    )
    assert list(Visit.objects.standing()) == [new]
    old.refresh_from_db()
    assert old.why == "Drive air checked"
    with pytest.raises(ChangedMeanwhileError, match="corrected already"):
        take_back_visit(by=theo_the_technician(), visit=old, reason="again", at=NOON)


def test_taking_back_leaves_no_visit_standing_and_needs_a_reason(office):
    visit = a_visit(office)
    with pytest.raises(InputError, match="what was wrong"):
        take_back_visit(by=theo_the_technician(), visit=visit, reason=" ", at=NOON)
    take_back_visit(by=theo_the_technician(), visit=visit, reason="other office", at=NOON)
    assert not Visit.objects.standing().exists()
    assert Visit.objects.count() == 2


def test_the_page_writes_one_down(theo, office):
    typed = {"visited_on": "2026-05-11", "why": "Care taught", "was_training": "on"}
    theo.post(reverse("visit-new", args=[office.pk]), typed)
    assert Visit.objects.get().was_training
    page = theo.get(reverse("office", args=[office.pk])).content.decode()
    assert "Care taught" in page
    assert "people trained" in page


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"visited_on": "2999-01-01"}, "in the future"),
        ({"visited_on": "tomorrow"}, "not a date"),
        ({"visited_on": ""}, "Fill this in"),
        ({"why": ""}, "Fill this in"),
    ],
)
def test_a_bad_form_keeps_what_was_typed(theo, office, wrong, says):
    typed = {"visited_on": "2026-05-11", "why": "Care taught", "note": "five people"} | wrong
    page = theo.post(reverse("visit-new", args=[office.pk]), typed).content.decode()
    assert says in page
    assert "five people" in page
    assert not Visit.objects.exists()


def test_the_page_corrects_and_shows_both(theo, office):
    old = a_visit(office)
    typed = {"visited_on": "2026-05-10", "why": "Care taught", "reason": "wrong day"}
    theo.post(reverse("visit", args=[old.pk]), typed)
    new = Visit.objects.standing().get()
    page = theo.get(reverse("visit", args=[new.pk])).content.decode()
    assert "<del>" in page
    assert "Drive air checked" in page
    assert "Open what stands now" in theo.get(reverse("visit", args=[old.pk])).content.decode()


def test_the_page_takes_back_with_a_reason_only(theo, office):
    visit = a_visit(office)
    address = reverse("visit-take-back", args=[visit.pk])
    assert "Fill this in" in theo.post(address, {"back-reason": ""}).content.decode()
    assert Visit.objects.standing().exists()
    theo.post(address, {"back-reason": "never made"})
    assert not Visit.objects.standing().exists()
    assert theo.get(address).status_code == 405


@pytest.mark.parametrize("name", ["visit-new", "visit", "visit-take-back"])
def test_people_of_an_office_are_refused(client, office, name):
    visit = a_visit(office)
    client.force_login(bea_of_birch_lane())
    args = [office.pk] if name == "visit-new" else [visit.pk]
    assert client.post(reverse(name, args=args), {"back-reason": "x"}).status_code == 403
