"""Recordings of a test: kept, listened to, listened to again."""

import errno
import io
import os
import threading

import pytest
from django.db import connection

from tests.people import bea_of_birch_lane, olga_the_owner, theo_the_technician
from tests.web.evidence.files import m4a_with_place, silent_video, tone, wav, zip_of_text
from tests.web.jobs.builders import a_blank_test, a_handpiece, a_job, a_model, bring_to
from tests.web.jobs.runs import ALL_OFF, RUN, RUN_HZ, RUN_RPM, everything_kept, keep
from turnwell.errors import InputError, NotAllowedError, StageError
from turnwell.measure import Verdict
from turnwell.web.evidence import bounded, storage
from turnwell.web.evidence.actions import erase_file, store_file
from turnwell.web.evidence.models import StoredFile
from turnwell.web.jobs.actions import Correction, add_test
from turnwell.web.jobs.actions.recordings import add_recording, analyse_again
from turnwell.web.jobs.models import Recording, Stage, StoredReading, Test
from turnwell.words import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_data_folder(settings, tmp_path):
    settings.EVIDENCE_ROOT = tmp_path / "evidence"


@pytest.fixture
def test():
    return a_blank_test(a_job(a_handpiece(model=a_model())))


def the_speed(recording):
    return recording.readings.get(key="free_running_speed").reading


@pytest.mark.parametrize("make", [wav, m4a_with_place])
def test_the_speed_of_a_known_tone_is_found(test, make):
    recording = keep(test, make(tone(RUN_HZ, 3.0)))
    speed = the_speed(recording)
    assert speed.value == pytest.approx(RUN_RPM, rel=0.005)
    assert speed.low < RUN_RPM < speed.high
    assert speed.verdict is Verdict.WITHIN  # label 400,000 rpm at 240 kPa, tested at 240 kPa
    assert recording.listening["schema"] == "turnwell.listen/2"
    assert recording.listening["recording"]["sha256"] == recording.file.sha256
    row = recording.readings.get(key="free_running_speed")
    assert (row.test, row.core, row.core_version) == (test, "sound", recording.core_version)
    assert recording.core_version
    assert recording.analysed_at is not None


def test_the_track_is_kept_thin_enough_to_draw(test):
    track = keep(test, wav(tone(RUN_HZ, 90.0))).listening["track"]
    assert 1_000 < len(track["time_s"]) <= 4_000
    assert len(track["time_s"]) == len(track["speed_rpm"]) == len(track["sd_rpm"])
    assert track["time_s"][-1] > 85.0


def test_a_label_speed_away_from_the_label_pressure_is_not_proven():
    test = a_blank_test(a_job(a_handpiece(model=a_model())), drive_pressure_kpa=180.0)
    speed = the_speed(keep(test))
    assert speed.value is not None
    assert speed.verdict is Verdict.NOT_PROVEN


def test_a_recording_that_cannot_answer_is_kept_with_its_reason(test):
    quiet = keep(test, wav(tone(RUN_HZ, 3.0) * 0.0))
    speed = the_speed(quiet)
    assert (speed.value, speed.verdict) == (None, Verdict.CANNOT_TELL)
    assert str(speed)
    assert StoredFile.objects.count() == 1
    assert quiet.refused_because == ""


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("run.wav", zip_of_text(), "run.wav” cannot be read as a sound recording"),
        ("run.mp4", silent_video(), "run.mp4” is a video without sound"),
        ("run.wav", b"", "run.wav” is empty"),
        ("run.wav", b"RIFF" + bytes(100), "run.wav” cannot be read as a sound recording"),
        ("<i>run</i>.wav", b"plain words", "i>.wav” cannot be read"),
        ("ru\0n.wav", b"plain words", "run.wav” cannot be read"),
    ],
)
def test_what_cannot_be_read_leaves_nothing(test, name, content, says):
    with pytest.raises(InputError, match=says):
        keep(test, content, name=name)
    assert everything_kept() == []
    assert not Recording.objects.exists()
    assert not StoredFile.objects.exists()


def test_a_full_disk_leaves_nothing(test, monkeypatch):
    def no_space(descriptor):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", no_space)
    with pytest.raises(storage.CannotKeepError, match="is full"):
        keep(test)
    assert everything_kept() == []
    assert not Recording.objects.exists()


def test_a_worker_that_takes_too_long_is_ended_and_the_recording_kept(test, monkeypatch):
    ask = bounded.run

    def hurried(task, *, seconds, **arguments):
        return ask(task, seconds=1e-4 if task == "listen" else seconds, **arguments)

    monkeypatch.setattr("turnwell.web.jobs.analysis.sound.bounded.run", hurried)
    recording = keep(test)
    assert "could not be read within" in recording.refused_because
    assert recording.listening is None
    assert not recording.readings.exists()
    monkeypatch.undo()
    again = analyse_again(by=theo_the_technician(), recording=recording)
    assert again.refused_because == ""
    assert the_speed(again).value == pytest.approx(RUN_RPM, rel=0.005)


def test_what_breaks_off_while_listening_is_there_to_be_listened_to_again(test, monkeypatch):
    def killed(*args, **kwargs):
        raise KeyboardInterrupt

    monkeypatch.setattr("turnwell.web.jobs.actions.recordings.listen", killed)
    with pytest.raises(KeyboardInterrupt):
        keep(test)
    recording = Recording.objects.get()
    assert (recording.analysed_at, recording.file.is_erased) == (None, False)
    monkeypatch.undo()
    assert the_speed(analyse_again(by=theo_the_technician(), recording=recording)).value


@pytest.mark.parametrize(
    ("source", "said", "is_processed"),
    [
        ("browser", ALL_OFF, False),
        ("browser", ALL_OFF | {"noiseSuppression": True}, True),
        ("browser", {}, True),
        ("file", {}, False),
    ],
)
def test_a_take_that_the_browser_changed_is_marked(test, source, said, is_processed):
    recording = keep(test, source=source, browser_settings=said)
    assert recording.is_processed is is_processed
    assert recording.browser_settings == said


def test_listening_again_replaces_the_readings(test):
    recording = keep(test)
    count = StoredReading.objects.count()
    StoredReading.objects.update(core_version="old")
    analyse_again(by=theo_the_technician(), recording=recording)
    assert StoredReading.objects.count() == count
    assert not StoredReading.objects.filter(core_version="old").exists()


@pytest.mark.django_db(transaction=True)
def test_a_corrected_set_up_is_listened_to_with(test):
    recording = keep(test)
    assert the_speed(recording).verdict is Verdict.WITHIN
    for pressure_kpa in (200.0, 180.0):
        test = add_test(
            by=theo_the_technician(),
            job=test.job,
            when=Test.When.AS_RECEIVED,
            drive_pressure_kpa=pressure_kpa,
            pressure_gauge=None,
            mounted=Test.Mounted.BLANK,
            correction=Correction(of=test, reason="misread the gauge"),
        )
    speed = the_speed(recording)
    assert speed.verdict is Verdict.NOT_PROVEN
    assert "180" in text_of(speed.why)
    assert recording.readings.get(key="free_running_speed").test == test


@pytest.mark.django_db(transaction=True)
def test_an_erased_recording_keeps_its_readings_and_is_not_listened_to_again(test):
    recording = keep(test)
    erase_file(by=olga_the_owner(), file=recording.file, why="A voice can be heard")
    recording.refresh_from_db()
    with pytest.raises(InputError, match="was erased; its readings stay"):
        analyse_again(by=theo_the_technician(), recording=recording)
    assert the_speed(recording).value


def test_who_and_when_may_record(test):
    with pytest.raises(NotAllowedError):
        keep(test, by=bea_of_birch_lane())
    bring_to(test.job, Stage.TORN_DOWN)
    with pytest.raises(StageError, match="recording"):
        keep(test)
    assert everything_kept() == []


def test_only_a_stored_recording_is_hung_on_a_test(test):
    by = theo_the_technician()
    paper = store_file(
        by=by,
        kind=StoredFile.Kind.PAPER,
        content=io.BytesIO(b"%PDF-1.7"),
        original_name="paper.pdf",
    )
    with pytest.raises(InputError, match="not a recording"):
        add_recording(by=by, test=test, file=paper, source="file")
    sound = store_file(
        by=by, kind=StoredFile.Kind.RECORDING, content=io.BytesIO(RUN), original_name="run.wav"
    )
    assert the_speed(add_recording(by=by, test=test, file=sound, source="file")).value


@pytest.mark.django_db(transaction=True)
def test_recordings_sent_at_once_are_all_kept(test):
    failures, by = [], theo_the_technician()

    def send(number):
        try:
            keep(Test.objects.get(pk=test.pk), wav(tone(RUN_HZ + number, 2.0)), by=by)
        except Exception as error:
            failures.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=send, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert Recording.objects.count() == 4
    assert Recording.objects.filter(analysed_at__isnull=False, refused_because="").count() == 4
