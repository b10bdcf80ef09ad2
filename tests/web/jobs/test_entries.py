"""Notes, parts, running in; taking back; two people at once."""

import threading
from decimal import Decimal

import pytest
from django.db import connection

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import a_handpiece, a_job, bring_to
from turnwell.errors import ChangedMeanwhileError, InputError, NotAllowedError, StageError
from turnwell.web.jobs import actions
from turnwell.web.jobs.models import Job, JobNote, PartUsed, RunIn, Stage


@pytest.mark.django_db
def test_a_note_is_kept_and_counts_the_version_up() -> None:
    job = a_job()
    note = actions.write_note(by=theo_the_technician(), job=job, text=" “quoted” <b>\n ok ")

    assert note.text == "“quoted” <b>\n ok"
    assert job.version == 2
    assert Job.objects.get(pk=job.pk).version == 2


@pytest.mark.django_db
@pytest.mark.parametrize("text", ["", "  ", "a\x00b", "x" * 4001])
def test_it_refuses_bad_notes(text: str) -> None:
    job = a_job()
    with pytest.raises(InputError):
        actions.write_note(by=theo_the_technician(), job=job, text=text)
    assert not JobNote.objects.exists()
    job.refresh_from_db()
    assert job.version == 1


@pytest.mark.django_db
def test_people_of_an_office_write_nothing() -> None:
    job = bring_to(a_job(), Stage.REBUILT)
    bea = bea_of_birch_lane()
    for write in (
        lambda: actions.write_note(by=bea, job=job, text="x"),
        lambda: actions.use_part(by=bea, job=job, name="x"),
        lambda: actions.write_run_in(by=bea, job=job, minutes=5.0),
        lambda: actions.take_back(by=bea, entry=job.parts.get(), reason="x"),
        lambda: actions.wait_for(by=bea, job=job, what="parts", owner="x"),
        lambda: actions.stop_waiting(by=bea, job=job),
    ):
        with pytest.raises(NotAllowedError):
            write()


@pytest.mark.django_db
@pytest.mark.parametrize(
    "fields",
    [
        {"name": " "},
        {"quantity": Decimal(0)},
        {"quantity": Decimal(-1)},
        {"quantity": Decimal("NaN")},
        {"quantity": Decimal(10**9)},
        {"note": "x" * 301},
    ],
)
def test_it_refuses_bad_parts(fields: dict[str, object]) -> None:
    job = bring_to(a_job(), Stage.AGREED)
    with pytest.raises(InputError):
        actions.use_part(**{"by": theo_the_technician(), "job": job, "name": "ring"} | fields)
    assert not PartUsed.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(
    "fields",
    [{"minutes": 0.0}, {"minutes": float("nan")}, {"minutes": 1e9}, {"drive_pressure_kpa": -1.0}],
)
def test_it_refuses_bad_running_in(fields: dict[str, object]) -> None:
    job = bring_to(a_job(), Stage.REBUILT)
    with pytest.raises(InputError):
        actions.write_run_in(**{"by": theo_the_technician(), "job": job, "minutes": 5.0} | fields)
    assert not RunIn.objects.exists()


@pytest.mark.django_db
def test_parts_and_running_in_belong_to_the_rebuild() -> None:
    job = a_job()
    with pytest.raises(StageError):
        actions.use_part(by=theo_the_technician(), job=job, name="ring")
    with pytest.raises(StageError):
        actions.write_run_in(by=theo_the_technician(), job=job, minutes=5.0)


@pytest.mark.django_db
def test_what_is_taken_back_no_longer_holds_and_stays_on_record() -> None:
    job = bring_to(a_job(), Stage.REBUILT)
    part = job.parts.get()
    gone = actions.take_back(by=theo_the_technician(), entry=part, reason="not fitted after all")

    assert not job.parts.standing().exists()
    assert job.parts.count() == 2
    assert (gone.corrects, gone.name, gone.is_taken_back) == (part, part.name, True)
    with pytest.raises(ChangedMeanwhileError):
        actions.take_back(by=theo_the_technician(), entry=part, reason="again")
    with pytest.raises(ChangedMeanwhileError):
        actions.take_back(by=theo_the_technician(), entry=gone, reason="again")


@pytest.mark.django_db
def test_nothing_is_taken_back_without_a_reason() -> None:
    job = bring_to(a_job(), Stage.REBUILT)
    with pytest.raises(InputError, match="reason"):
        actions.take_back(by=theo_the_technician(), entry=job.parts.get(), reason=" ")


@pytest.mark.django_db(transaction=True)
def test_of_two_writers_with_one_version_the_second_is_refused() -> None:
    job, by = a_job(), theo_the_technician()
    answers: list[str] = []
    together = threading.Barrier(2)

    def write(text: str) -> None:
        together.wait(timeout=10)
        try:
            actions.write_note(by=by, job=Job.objects.get(pk=job.pk), text=text, version=1)
            answers.append("kept")
        except ChangedMeanwhileError:
            answers.append("refused")
        finally:
            connection.close()

    run_together(write)
    assert sorted(answers) == ["kept", "refused"]
    assert JobNote.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_of_two_benches_that_take_one_handpiece_in_the_second_is_refused() -> None:
    handpiece, by = a_handpiece(), theo_the_technician()
    answers: list[str] = []
    together = threading.Barrier(2)

    def take(text: str) -> None:
        together.wait(timeout=10)
        try:
            a_job(handpiece, by=by, complaint_words=text)
            answers.append("kept")
        except actions.OpenJobError:
            answers.append("refused")
        finally:
            connection.close()

    run_together(take)
    assert sorted(answers) == ["kept", "refused"]


def run_together(work: object) -> None:
    threads = [threading.Thread(target=work, args=(name,)) for name in ("one", "two")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
