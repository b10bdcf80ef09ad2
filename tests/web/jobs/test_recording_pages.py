"""Pages of recordings: send one, look at one, listen again."""

import errno
import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from tests.people import bea_of_birch_lane, olga_the_owner, theo_the_technician
from tests.web.evidence.files import zip_of_text
from tests.web.jobs.builders import a_blank_test, a_handpiece, a_job, a_model
from tests.web.jobs.runs import ALL_OFF, RUN, everything_kept, keep
from turnwell.web.evidence.actions import erase_file
from turnwell.web.jobs.models import Job, Recording
from turnwell.web.offices.models import Office

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_data_folder(settings, tmp_path):
    settings.EVIDENCE_ROOT = tmp_path / "evidence"


@pytest.fixture
def test():
    return a_blank_test(a_job(a_handpiece(model=a_model())))


def post(client, test, content=RUN, *, by=None, name="run.wav", part=True, **fields):
    client.force_login(by or theo_the_technician())
    return client.post(
        reverse("record", args=[test.job.code, test.pk]),
        {"file": SimpleUploadedFile(name, content, "audio/wav"), "source": "file"} | fields,
        headers={"X-Part": "answer"} if part else {},
    )


def test_the_page_answers_with_the_part_that_says_the_speed(client, test):
    said = ALL_OFF | {
        "contextRate": 48_000,
        "lostFrames": 4_800,
        "deviceId": "secret",
        "sampleRate": float("1e300"),
        "userAgent": "A browser\0" + "x" * 999,
    }
    response = post(client, test, source="browser", settings=json.dumps(said))
    assert response.status_code == 201
    assert "Free-running speed" in response.text
    assert "0.10 s of sound were lost" in response.text
    assert f'data-version="{Job.objects.get().version}"' in response.text
    kept = Recording.objects.get().browser_settings
    assert set(kept) == {*ALL_OFF, "contextRate", "lostFrames", "userAgent"}
    assert len(kept["userAgent"]) == 300


def test_a_plain_form_leads_to_the_recording(client, test):
    response = post(client, test, part=False)
    recording = Recording.objects.get()
    page = reverse("recording", args=[test.job.code, recording.pk])
    assert response["Location"] == page
    shown = client.get(page).text
    assert recording.file.sha256 in shown
    assert "Free-running speed" in shown


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("run.wav", zip_of_text(), "run.wav” cannot be read as a sound recording"),
        ("run.wav", b"", "run.wav” is empty"),
        ("<b>run</b>.wav", b"words", "cannot be read as a sound recording"),
    ],
)
def test_a_bad_file_is_one_sentence(client, test, name, content, says):
    for part in (True, False):
        response = post(client, test, content, name=name, part=part)
        assert response.status_code == 422
        assert says in (response.json()["says"] if part else response.text)
        assert "<b>run" not in response.text or part
    assert everything_kept() == []


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"file": ""}, "Choose the file"),
        ({"source": "elsewhere"}, "elsewhere"),
        ({"settings": "{"}, "settings that cannot be read"),
        ({"settings": "[1]"}, "settings that cannot be read"),
        ({"settings": "x" * 5_000}, "at most 4000"),
    ],
)
def test_a_bad_form_keeps_nothing(client, test, fields, says):
    response = post(client, test, **fields)
    assert response.status_code == 422
    assert says in response.json()["says"]
    assert not Recording.objects.exists()
    assert everything_kept() == []


def test_a_disk_that_fills_up_while_the_file_arrives_may_be_tried_again(client, test, monkeypatch):
    def no_space(self, content):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("turnwell.web.evidence.uploads.ArrivingFile.write", no_space, raising=False)
    response = post(client, test)
    assert response.status_code == 503
    assert "is full; nothing of “run.wav” was kept" in response.json()["says"]
    assert everything_kept() == []


def test_a_file_that_is_too_large_is_dropped_as_it_arrives(client, test, monkeypatch):
    monkeypatch.setattr("turnwell.web.evidence.uploads.MOST_BYTES", 100_000)
    response = post(client, test)
    assert response.status_code == 422
    assert "is larger than" in response.json()["says"]
    assert everything_kept() == []


def test_nothing_arrives_from_nobody(test, monkeypatch):
    arrived = []

    def noted(*sent):
        arrived.append(sent)
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("turnwell.web.evidence.uploads.ArrivingFile", noted)
    # The check of the form's token reads the body before anybody asks who sent it.
    stranger = Client(enforce_csrf_checks=True)
    stranger.get(reverse("sign-in"))
    fields = {"file": SimpleUploadedFile("run.wav", RUN), "source": "file"}
    address = reverse("record", args=[test.job.code, test.pk])
    assert stranger.post(address, fields).status_code in {302, 403}
    assert arrived == []


def test_an_office_looks_and_does_not_record(client, test):
    recording = keep(test, name="12 Elm Street.wav")
    bea = bea_of_birch_lane()
    assert post(client, test, by=bea).status_code == 403
    assert client.get(reverse("record", args=[test.job.code, test.pk])).status_code == 403
    page = client.get(reverse("recording", args=[test.job.code, recording.pk]))
    assert page.status_code == 200
    for hidden in ("Elm Street", recording.file.sha256, "Erase", "Save as received"):
        assert hidden not in page.text
    again = reverse("recording-again", args=[test.job.code, recording.pk])
    assert client.post(again).status_code == 403
    other, _ = Office.objects.get_or_create(name="Elm Square")
    elsewhere = keep(a_blank_test(a_job(a_handpiece(office=other))))
    foreign = reverse("recording", args=[elsewhere.test.job.code, elsewhere.pk])
    assert client.get(foreign).status_code == 404


def test_a_recording_is_found_under_its_own_job_only(client, test):
    recording = keep(test)
    other = a_job()
    client.force_login(theo_the_technician())
    assert client.get(reverse("recording", args=[other.code, recording.pk])).status_code == 404
    assert client.get(reverse("record", args=[other.code, test.pk])).status_code == 404


def test_the_page_listens_again(client, test):
    recording = keep(test)
    client.force_login(theo_the_technician())
    again = reverse("recording-again", args=[test.job.code, recording.pk])
    assert client.get(again).status_code == 405
    response = client.post(again, follow=True)
    assert "Listened to again" in response.text


@pytest.mark.django_db(transaction=True)
def test_the_page_of_an_erased_recording_says_so(client, test):
    recording = keep(test)
    erase_file(by=olga_the_owner(), file=recording.file, why="A voice can be heard")
    client.force_login(theo_the_technician())
    page = client.get(reverse("recording", args=[test.job.code, recording.pk])).text
    assert "A voice can be heard" in page
    again = reverse("recording-again", args=[test.job.code, recording.pk])
    assert "was erased; its readings stay" in client.post(again, follow=True).text
