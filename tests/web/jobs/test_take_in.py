"""Taking a handpiece in."""

from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import a_handpiece, a_job
from turnwell.errors import InputError, NotAllowedError
from turnwell.web.jobs import actions
from turnwell.web.jobs.models import Job, Stage
from turnwell.web.shared.codes import new_code, read_code

pytestmark = pytest.mark.django_db


def test_it_opens_a_job_with_its_first_step() -> None:
    job = a_job(known_cycles=120)

    assert job.stage == Stage.TAKEN_IN
    assert job.office == job.handpiece.office
    assert read_code(job.code) == job.code
    assert job.code.startswith("J")
    assert [(step.from_stage, step.to_stage) for step in job.stage_changes.all()] == [
        ("", "taken_in")
    ]
    assert job.known_cycles == 120


def test_it_keeps_the_code_of_a_printed_label() -> None:
    code = new_code("J", 77)

    assert a_job(code=code).code == code
    with pytest.raises(InputError, match="taken by another job"):
        a_job(a_handpiece("T-101"), code=code)


@pytest.mark.parametrize("said", ["", "nobody", "later"])
def test_it_refuses_what_was_not_sterilized(said: str) -> None:
    with pytest.raises(InputError, match="contaminated until sterilized"):
        a_job(sterilized_by=said)
    assert not Job.objects.exists()


def test_sterilized_here_needs_the_load() -> None:
    with pytest.raises(InputError, match="number of the sterilizer load"):
        a_job(sterilized_by=Job.SterilizedBy.HERE, sterilizer_load="  ")

    assert a_job(sterilized_by=Job.SterilizedBy.HERE, sterilizer_load="2214")


def test_the_database_holds_the_gate_too() -> None:
    job = a_job()
    for wrong in ({"sterilized_by": ""}, {"sterilized_by": "here", "sterilizer_load": ""}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Job.objects.filter(pk=job.pk).update(**wrong)


def test_a_second_open_job_is_refused_and_names_the_first() -> None:
    first = a_job()

    with pytest.raises(actions.OpenJobError, match=first.code) as refused:
        a_job(first.handpiece)
    assert refused.value.job == first


def test_people_of_an_office_may_not() -> None:
    with pytest.raises(NotAllowedError):
        a_job(by=bea_of_birch_lane())
    gone = theo_the_technician()
    gone.is_active = False
    with pytest.raises(NotAllowedError):
        a_job(by=gone)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"complaints": ["it_is_blue"]}, "no complaint of the catalogue"),
        ({"complaints": [], "complaint_words": " "}, "a fault needs"),
        ({"complaint_words": "grow\x00ls"}, "control character"),
        ({"complaint_words": "x" * 2001}, "at most 2000"),
        ({"known_cycles": -1}, "between 0 and"),
        ({"known_cycles": 10**9}, "between 0 and"),
        ({"code": "H15NM7P"}, "no code of a job"),
        ({"at": timezone.now() + timedelta(days=1)}, "future"),
    ],
)
def test_it_refuses_bad_values(fields: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said):
        a_job(**fields)
    assert not Job.objects.exists()


def test_a_retired_handpiece_stays_out() -> None:
    with pytest.raises(InputError, match="retired"):
        a_job(a_handpiece(retired_on=date(2026, 1, 2)))


def test_quotes_and_markup_are_kept_as_typed() -> None:
    said = "“It's <b>loud</b>” & 'rough'; DROP TABLE"

    assert a_job(complaint_words=said).complaint_words == said


def test_a_planned_service_needs_no_complaint() -> None:
    assert a_job(reason=Job.Reason.PLANNED, complaints=[], complaint_words="").complaints == []
