"""The thread that reads: woken where files wait, gone when none does, one at a time."""

import pytest

from tests.people import theo_the_technician
from tests.web.sterilizers.builders import a_sterilizer, csv_of, read_as
from tests.web.sterilizers.test_intake import an_intake
from turnwell.web.evidence.bounded import BusyError
from turnwell.web.sterilizers import background
from turnwell.web.sterilizers.actions import intake
from turnwell.web.sterilizers.models import IntakeFile

State = IntakeFile.State


def wait() -> None:
    for thread in background.running():
        thread.join(20.0)
    assert background.running() == ()


@pytest.mark.django_db(transaction=True)
def test_waiting_files_are_read_until_none_is_left(monkeypatch):
    monkeypatch.setattr(intake, "review_file", lambda *_file, **_known: read_as())
    begun = an_intake(csv_of(1), csv_of(2), csv_of(3))
    background.go_on()
    background.wake()
    assert len(background.running()) <= 1
    wait()
    assert set(begun.files.values_list("state", flat=True)) == {State.READ}


@pytest.mark.django_db(transaction=True)
def test_where_the_processes_are_busy_files_wait_for_the_next_page(monkeypatch, caplog):
    answers = [BusyError("busy")]

    def review(*_file, **_known):
        if answers:
            raise answers.pop()
        return read_as()

    monkeypatch.setattr(intake, "review_file", review)
    begun = an_intake(csv_of(1))
    background.go_on()
    wait()
    assert begun.files.get().state == State.WAITING
    assert "go on later" in caplog.text
    background.go_on()
    wait()
    assert begun.files.get().state == State.READ


@pytest.mark.django_db
def test_opening_a_sterilizer_goes_on_with_what_a_stopped_server_left(
    client, django_capture_on_commit_callbacks, monkeypatch
):
    woken = []
    monkeypatch.setattr(background, "wake", lambda: woken.append(True))
    sterilizer = a_sterilizer()
    client.force_login(theo_the_technician())
    with django_capture_on_commit_callbacks(execute=True):
        client.get(sterilizer.get_absolute_url())
    assert woken == []
    an_intake(csv_of(1), sterilizer=sterilizer)
    with django_capture_on_commit_callbacks(execute=True):
        client.get(sterilizer.get_absolute_url())
    assert woken == [True]
