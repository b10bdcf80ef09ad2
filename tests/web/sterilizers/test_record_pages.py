"""Pages of a record and of files on their way in: done, refused, wrong method, bad form."""

from io import BytesIO

import pytest
from django.urls import reverse

from tests.people import theo_the_technician
from tests.web.sterilizers.builders import (
    a_plan,
    a_record,
    a_sterilizer,
    csv_of,
    read_as,
)
from turnwell.steam import FaultKey
from turnwell.web.sterilizers import actions
from turnwell.web.sterilizers.actions import records
from turnwell.web.sterilizers.models import (
    CycleRecord,
    Intake,
    IntakeFile,
    Load,
)

pytestmark = pytest.mark.django_db


def csv(number: int = 1, name: str = "run.csv") -> BytesIO:
    file = BytesIO(csv_of(number))
    file.name = name
    return file


def test_a_record_says_first_that_drying_was_cut_short(theo):
    record = a_record(dried_s=672.0, faults=(FaultKey.DRYING_SHORTENED,))
    page = theo.get(record.get_absolute_url()).content.decode()
    assert "Drying stopped at 11.2 of 20.0 minutes." in page
    assert "a damp one is not accepted" in page
    assert "One fault found in this record: Drying cut short." in page
    assert "15:00 to 16:00" in page
    assert "It was not measured." in page  # the question


@pytest.mark.parametrize(
    ("read", "says"),
    [
        ({"dried_s": 1200.0}, "Drying ran as planned, 20.0 minutes."),
        ({"dried_s": 1198.0}, "too near the planned 20"),
        ({"dried_s": 900.0, "planned_s": None}, "What was planned is not written down"),
        ({"dried_s": None}, "The record does not show the drying."),
        (
            {"dried_s": None, "faults": (FaultKey.DRYING_ABORTED,)},
            "The door was opened before the drying had ended.",
        ),
    ],
)
def test_a_record_never_says_more_than_it_shows(theo, read, says):
    page = theo.get(a_record(**read).get_absolute_url()).content.decode()
    assert says in page
    main = page.split("<main")[1]
    assert " dry." not in main
    assert "no air" not in main.casefold()


def test_a_record_is_held_against_another_cycle(theo, monkeypatch):
    record = a_record(planned_s=None)
    plan = a_plan(record.sterilizer)
    monkeypatch.setattr(records, "review_file", lambda *_args, **_known: read_as(dried_s=900.0))
    address = reverse("cycle-record-plan", args=[record.pk])
    assert theo.post(address, {"plan": plan.pk}).url == record.get_absolute_url()
    record.refresh_from_db()
    assert (record.plan, record.is_drying_short) == (plan, True)
    other = a_plan(a_sterilizer("3"))
    assert theo.post(address, {"plan": other.pk}).status_code == 400


def test_a_load_is_written_down(theo, monkeypatch):
    record = a_record()
    monkeypatch.setattr(records, "review_file", lambda *_args, **_known: read_as())
    address = reverse("cycle-record-load", args=[record.pk])
    assert theo.get(address).status_code == 200
    typed = {"count_air_turbine_4_hole": "4", "pouches": "6", "water_before_g": "1,5"}
    assert theo.post(address, typed).url == f"{record.get_absolute_url()}#water"
    assert Load.objects.get().water_before_g == 1.5
    page = theo.get(record.get_absolute_url()).content.decode()
    assert "4 × 4-hole air turbine" in page
    assert "6 pouches" in page
    refused = theo.post(address, {"pouches": "many"}).content.decode()
    assert "is not a number" in refused
    assert (
        "say what lay in the sterilizer"
        in theo.post(address, {"pouches": ""}).content.decode().lower()
    )


def test_reviewing_again_says_when_the_file_is_gone(theo):
    from turnwell.web.evidence.actions import erase_file

    record = a_record()
    erase_file(by=theo_the_technician(), file=record.file, why="wrong office")
    page = theo.post(reverse("cycle-record-again", args=[record.pk]), follow=True)
    assert "was erased by" in page.content.decode()
    assert "What was read of it stays." in page.content.decode()
    assert "Save the file" not in page.content.decode()


def test_a_record_is_taken_back(theo):
    record = a_record()
    address = reverse("cycle-record-take-back", args=[record.pk])
    assert theo.post(address, {"back-reason": ""}).status_code == 400
    theo.post(address, {"back-reason": "of sterilizer 3"})
    assert not CycleRecord.objects.standing().exists()
    page = theo.get(record.get_absolute_url()).content.decode()
    assert "of sterilizer 3" in page
    assert "Take the record back" not in page


def test_files_are_sent_and_their_page_shows_how_far_it_is(theo):
    sterilizer = a_sterilizer()
    a_record(sterilizer, number=3)
    files = [csv(1), csv(2, "b.csv"), csv(3, "c.csv")]
    answer = theo.post(reverse("cycle-files", args=[sterilizer.pk]), {"records": files})
    begun = Intake.objects.get()
    assert answer.url == begun.get_absolute_url()
    page = theo.get(answer.url).content.decode()
    assert "1 of 3 are done" in page
    assert "data-goes-on" in page
    more = theo.post(reverse("intake-files", args=[begun.pk]), {"records": [csv(5, "e.csv")]})
    assert more.url == begun.get_absolute_url()
    assert begun.files.count() == 4


def test_a_script_is_answered_with_the_address(theo):
    sterilizer = a_sterilizer()
    address = reverse("cycle-files", args=[sterilizer.pk])
    sent = theo.post(address, {"records": [csv()]}, headers={"Accept": "application/json"})
    assert sent.json()["address"] == Intake.objects.get().get_absolute_url()
    nothing = theo.post(address, {}, headers={"Accept": "application/json"})
    assert nothing.status_code == 400
    assert nothing.json()["refused"] == "Fill this in; it is needed."


def test_sending_nothing_is_said_on_the_page(theo):
    sterilizer = a_sterilizer()
    answer = theo.post(reverse("cycle-files", args=[sterilizer.pk]), {})
    assert answer.status_code == 400
    assert "Fill this in" in answer.content.decode()
    assert not Intake.objects.exists()


def test_an_intake_shows_what_was_turned_down_and_what_is_asked(theo):
    sterilizer = a_sterilizer()
    begun = actions.begin_intake(by=theo_the_technician(), sterilizer=sterilizer)
    IntakeFile.objects.create(
        intake=begun, name="<b>.png", state="refused", says="<b>.png is a picture"
    )
    record = a_record(sterilizer)
    IntakeFile.objects.create(
        intake=begun, name="a.csv", state="asks", says="Which is the pressure?", file=record.file
    )
    page = theo.get(begun.get_absolute_url()).content.decode()
    assert "&lt;b&gt;.png is a picture" in page
    assert "Which is the pressure?" in page
    assert "data-goes-on" not in page
    page = theo.get(sterilizer.get_absolute_url()).content.decode()
    assert "1 file asks for the columns" in page
