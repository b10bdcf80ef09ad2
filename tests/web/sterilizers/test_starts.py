"""Runs whose record shows no day: given one by a person, they stand on the time line."""

from datetime import UTC, datetime

import pytest
from django.urls import reverse

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.sterilizers.builders import a_record, a_sterilizer, read_as
from turnwell.errors import InputError, NotAllowedError
from turnwell.web.sterilizers import actions
from turnwell.web.sterilizers.actions import records
from turnwell.web.sterilizers.models import StartEntry

pytestmark = pytest.mark.django_db

WALL = datetime(2026, 5, 8, 17, 12)  # noqa: DTZ001  (the office's wall clock)


@pytest.fixture
def theo(client):
    client.force_login(theo_the_technician())
    return client


@pytest.fixture
def undated():
    sterilizer = a_sterilizer()
    sterilizer.office.time_zone = "Europe/Berlin"
    sterilizer.office.save()
    return a_record(sterilizer, began=None)


def test_a_run_is_given_its_day_by_the_offices_clock(theo, undated):
    page = theo.get(undated.sterilizer.get_absolute_url()).content.decode()
    assert "One more record shows no day and is counted in no share" in page
    assert "When did it run?" in theo.get(undated.get_absolute_url()).content.decode()
    typed = {"start-day": "2026-05-08", "start-time": "17:12"}
    answer = theo.post(reverse("cycle-record-start", args=[undated.pk]), typed)
    assert answer.url == undated.get_absolute_url()
    undated.refresh_from_db()
    assert undated.started_at == datetime(2026, 5, 8, 15, 12, tzinfo=UTC)
    page = theo.get(undated.get_absolute_url()).content.decode()
    assert "written down by theo" in page.casefold()
    assert "When did it run?" not in page
    page = theo.get(undated.sterilizer.get_absolute_url())
    assert page.context["page"].history.count == 1
    assert "shows no day" not in page.content.decode()


def test_a_wrong_day_is_corrected_and_stays_on_record(undated):
    theo = theo_the_technician()
    first = actions.write_start(by=theo, record=undated, wall=WALL)
    second = actions.write_start(by=theo, record=undated, wall=WALL.replace(day=9))
    assert second.corrects == first
    assert undated.starts.standing().get() == second
    undated.refresh_from_db()
    assert undated.started_at == second.began_at


def test_a_written_day_outlives_another_review(undated, monkeypatch):
    theo = theo_the_technician()
    entry = actions.write_start(by=theo, record=undated, wall=WALL)
    monkeypatch.setattr(records, "review_file", lambda *_file, **_known: read_as(began=None))
    assert actions.review_again(by=theo, record=undated).started_at == entry.began_at


def test_a_record_with_a_clock_of_its_own_takes_none():
    with pytest.raises(InputError, match="shows its own day and time"):
        actions.write_start(by=theo_the_technician(), record=a_record(), wall=WALL)


@pytest.mark.parametrize(
    ("wall", "says"), [(WALL.replace(year=2999), "future"), (WALL.replace(year=1899), "long ago")]
)
def test_a_day_that_cannot_be_is_refused(undated, wall, says):
    with pytest.raises(InputError, match=says):
        actions.write_start(by=theo_the_technician(), record=undated, wall=wall)
    assert not StartEntry.objects.exists()


def test_a_bad_day_is_said_on_the_page(theo, undated):
    answer = theo.post(
        reverse("cycle-record-start", args=[undated.pk]), {"start-day": "soon", "start-time": "x"}
    )
    assert answer.status_code == 400
    assert "This is not a date" in answer.content.decode()
    assert "This is not a time" in answer.content.decode()


def test_an_office_writes_no_day(undated):
    with pytest.raises(NotAllowedError):
        actions.write_start(by=bea_of_birch_lane(), record=undated, wall=WALL)
