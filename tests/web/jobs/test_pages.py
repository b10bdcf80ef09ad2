"""The job's page and its forms: done, refused person, wrong method, bad form, changed meanwhile."""

from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import a_blank_test, a_handpiece, a_job, bring_to, measure_speed
from tests.web.jobs.runs import keep
from turnwell.web.accounts.models import Role, User
from turnwell.web.jobs import actions
from turnwell.web.jobs.models import Job, Stage, Test
from turnwell.web.offices.models import Office

pytestmark = pytest.mark.django_db


@pytest.fixture
def theo(client: Client) -> Client:
    client.force_login(theo_the_technician())
    return client


def _form(name: str, job: Job, *more: object) -> str:
    return reverse(name, args=[job.code, *more])


def _at(stage: Stage) -> Job:
    job = a_job()
    return job if stage is Stage.TAKEN_IN else bring_to(job, stage)


FORMS = (
    ("note-new", (), Stage.TAKEN_IN),
    ("waiting", (), Stage.TAKEN_IN),
    ("test-new", ("as_received",), Stage.TAKEN_IN),
    ("test-leave-out", ("as_received",), Stage.TAKEN_IN),
    ("findings", (), Stage.TORN_DOWN),
    ("own-view", (), Stage.TORN_DOWN),
    ("cause", (), Stage.TORN_DOWN),
    ("option-new", (), Stage.TORN_DOWN),
    ("answer", (), Stage.ESTIMATED),
    ("part-new", (), Stage.AGREED),
    ("run-in-new", (), Stage.REBUILT),
    ("test-new", ("final",), Stage.REBUILT),
)


@pytest.mark.parametrize(("name", "more", "stage"), FORMS)
def test_a_form_is_shown_to_the_shop_and_refuses_an_empty_one(
    theo: Client, name: str, more: tuple[str, ...], stage: Stage
) -> None:
    job = _at(stage)
    address = _form(name, job, *more)
    assert theo.get(address).status_code == 200
    before = Job.objects.get(pk=job.pk).version
    assert theo.post(address, {}).status_code == 400
    assert Job.objects.get(pk=job.pk).version == before
    assert theo.delete(address).status_code == 405


@pytest.mark.parametrize(("name", "more", "stage"), [row for row in FORMS if row[0] != "answer"])
def test_a_form_is_refused_to_the_office(
    client: Client, name: str, more: tuple[str, ...], stage: Stage
) -> None:
    job = _at(stage)
    client.force_login(bea_of_birch_lane())
    assert client.get(_form(name, job, *more)).status_code in {403, 404}


@pytest.mark.parametrize("stage", list(Stage))
def test_the_page_shows_every_stage(theo: Client, stage: Stage) -> None:
    job = a_job()
    if stage in {Stage.NOT_WORTH_REPAIRING, Stage.HANDED_BACK_UNREPAIRED}:
        bring_to(job, Stage.TORN_DOWN)
        theo.post(_form("job-move", job, stage.value), {"version": job.version, "reason": "worn"})
        job.refresh_from_db()
    elif stage is not Stage.TAKEN_IN:
        bring_to(job, stage)
    page = theo.get(job.get_absolute_url())
    assert page.status_code == 200
    assert stage.label in page.content.decode()


def test_a_note_is_kept_and_its_markup_is_text(theo: Client) -> None:
    job = a_job()
    words = "<script>alert(1)</script> & “quotes”"
    answer = theo.post(_form("note-new", job), {"text": words, "version": job.version})
    assert answer.status_code == 302
    page = theo.get(job.get_absolute_url()).content.decode()
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; “quotes”" in page
    assert "<script>alert(1)" not in page


def test_a_bad_form_keeps_what_was_typed(theo: Client) -> None:
    job = bring_to(a_job(), Stage.AGREED)
    typed = {"name": "Cartridge, rear", "quantity": "-3", "version": job.version}
    answer = theo.post(_form("part-new", job), typed)
    assert answer.status_code == 400
    assert "Cartridge, rear" in answer.content.decode()
    assert not job.parts.exists()


@pytest.mark.parametrize("quantity", ["nan", "inf", "1e999", "x", "", "1\x00"])
def test_no_number_that_is_none(theo: Client, quantity: str) -> None:
    job = bring_to(a_job(), Stage.AGREED)
    typed = {"name": "O-ring", "quantity": quantity, "version": job.version}
    assert theo.post(_form("part-new", job), typed).status_code == 400
    assert not job.parts.exists()


def test_two_tabs_do_not_overwrite_each_other(theo: Client) -> None:
    job = bring_to(a_job(), Stage.AGREED)
    seen = job.version
    theo.post(_form("part-new", job), {"name": "O-ring", "quantity": "2", "version": seen})
    second = {"name": "Bearing", "quantity": "1", "version": seen}
    answer = theo.post(_form("part-new", job), second)
    assert answer.status_code == 409
    text = answer.content.decode()
    assert "Bearing" in text
    assert "O-ring" in text
    assert [part.name for part in job.parts.all()] == ["O-ring"]


def test_before_and_after_stand_over_each_other(theo: Client) -> None:
    job = bring_to(a_job(), Stage.REBUILT)
    measure_speed(a_blank_test(job, Test.When.FINAL), 431_000.0, 430_000.0, 432_000.0)
    page = theo.get(job.get_absolute_url()).content.decode()
    assert "Change of Free-running speed" in page
    assert "on one side of zero: it changed" in page


def test_an_office_sees_its_own_job_and_no_other(client: Client) -> None:
    job = a_job(a_handpiece())
    client.force_login(bea_of_birch_lane())
    page = client.get(job.get_absolute_url())
    assert page.status_code == 200
    assert reverse("note-new", args=[job.code]) not in page.content.decode()
    other = Office.objects.create(name="Cedar Row")
    stranger = User.objects.create_user("cy", password="x", role=Role.OFFICE, office=other)
    client.force_login(stranger)
    assert client.get(job.get_absolute_url()).status_code == 404


def test_the_page_reads_a_bounded_number_of_rows(
    theo: Client, django_assert_max_num_queries: object
) -> None:
    job = a_job()
    test = a_blank_test(job)
    for _ in range(8):
        measure_speed(test, 399_000.0, 400_000.0)
    with django_assert_max_num_queries(40):  # type: ignore[operator]  # pytest-django's context
        assert theo.get(job.get_absolute_url()).status_code == 200


def test_a_code_that_is_none_is_not_found(theo: Client) -> None:
    assert theo.get("/jobs/J00000Z/").status_code == 404
    assert theo.get("/jobs/%00/").status_code in {400, 404}


def test_a_trace_is_drawn_once_alone_or_under_the_final_one(
    theo: Client, settings: object, tmp_path: Path
) -> None:
    settings.HOME, settings.EVIDENCE_ROOT = tmp_path, tmp_path / "evidence"
    job = a_job()
    keep(a_blank_test(job))
    alone = theo.get(job.get_absolute_url()).content.decode()
    assert alone.count("data-chart=") == 1

    actions.move_on(by=theo_the_technician(), job=job, to=Stage.TESTED_AS_RECEIVED)
    bring_to(job, Stage.REBUILT)
    keep(a_blank_test(job, Test.When.FINAL))
    both = theo.get(job.get_absolute_url()).content.decode()
    assert both.count("data-chart=") == 1
    assert "are drawn <a" in both


def test_a_job_that_is_over_has_nothing_to_look_at_next(theo: Client) -> None:
    job = bring_to(a_job(complaints=["no_torque"]), Stage.TORN_DOWN)
    actions.write_own_view(by=theo_the_technician(), job=job)
    actions.show_ladder(by=theo_the_technician(), job=job)
    assert "Look next" in theo.get(job.get_absolute_url()).content.decode()
    job.refresh_from_db()
    over = {"version": job.version, "reason": "the office wants it back"}
    theo.post(_form("job-move", job, Stage.HANDED_BACK_UNREPAIRED.value), over)
    page = theo.get(job.get_absolute_url()).content.decode()
    assert "probability" in page
    assert "Look next" not in page
