"""Writes of cycle records: in, reviewed anew, taken back, with their load."""

import pytest

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.sterilizers import builders
from tests.web.sterilizers.builders import a_file, a_plan, a_record, a_sterilizer, csv_of, read_as
from turnwell.errors import CannotTellError, ChangedMeanwhileError, InputError, NotAllowedError
from turnwell.steam import FaultKey
from turnwell.web.evidence.models import StoredFile
from turnwell.web.sterilizers import actions
from turnwell.web.sterilizers.actions import records
from turnwell.web.sterilizers.actions.loads import LoadDetails
from turnwell.web.sterilizers.analysis.reading import Asks
from turnwell.web.sterilizers.models import CycleReading, CycleRecord, Load

pytestmark = pytest.mark.django_db


@pytest.fixture
def reads(monkeypatch):
    """Let the core answer what the test says, and keep what it was asked."""
    asked = []

    def answer(read):
        def review(file, sterilizer, **known):
            asked.append(known)
            return read

        monkeypatch.setattr(records, "review_file", review)
        return asked

    return answer


def test_a_record_keeps_what_was_read():
    sterilizer = a_sterilizer()
    record = a_record(sterilizer, plan=a_plan(sterilizer), dried_s=672.0)
    assert record.is_drying_short is True
    assert record.clock_shown == "2026-05-08T17:12:00"
    drying = record.readings.get(key="drying_time_s")
    assert drying.value == 672.0
    assert drying.reading.verdict.value == "outside" == drying.verdict
    assert record.review["schema"] == "turnwell.steam/1"


@pytest.mark.parametrize(
    ("read", "told"),
    [
        ({"dried_s": 1200.0}, False),
        ({"dried_s": 1198.0}, None),  # the interval crosses the planned time
        ({"dried_s": 900.0}, True),
        ({"dried_s": None}, None),
        ({"dried_s": 900.0, "planned_s": None}, None),
        ({"dried_s": None, "faults": (FaultKey.DRYING_ABORTED,)}, True),
        ({"dried_s": 1200.0, "faults": (FaultKey.SUPERHEAT,)}, False),
    ],
)
def test_drying_is_called_short_only_where_that_is_shown(read, told):
    assert read_as(**read).is_drying_short is told


def test_the_same_content_comes_in_once_a_sterilizer():
    first = a_record()
    with pytest.raises(InputError, match="in the book already"):
        a_record(first.sterilizer)
    other = a_record(a_sterilizer("3"))
    assert other.sha256 == first.sha256


def test_a_record_that_was_taken_back_may_come_in_again():
    theo = theo_the_technician()
    record = a_record()
    actions.take_back_record(by=theo, record=record, reason="of another sterilizer")
    assert not CycleRecord.objects.standing().exists()
    again = a_record(record.sterilizer)
    assert list(CycleRecord.objects.standing()) == [again]
    with pytest.raises(ChangedMeanwhileError):
        actions.take_back_record(by=theo, record=record, reason="twice")


def test_taking_back_needs_a_reason():
    with pytest.raises(InputError, match="few words"):
        actions.take_back_record(by=theo_the_technician(), record=a_record(), reason=" ")


def test_an_office_writes_no_record():
    record = a_record()
    bea = bea_of_birch_lane()
    with pytest.raises(NotAllowedError):
        actions.review_again(by=bea, record=record)
    with pytest.raises(NotAllowedError):
        actions.take_back_record(by=bea, record=record, reason="mine")
    with pytest.raises(NotAllowedError):
        actions.write_load(by=bea, record=record, details=LoadDetails(pouches=3))


def test_choosing_the_cycle_reviews_the_record_against_it(reads):
    record = a_record(planned_s=None, dried_s=900.0)
    plan = a_plan(record.sterilizer)
    asked = reads(read_as(dried_s=900.0))
    held = actions.choose_plan(by=theo_the_technician(), record=record, plan=plan)
    assert asked[0]["plan"] == plan
    assert held.is_drying_short is True
    assert held.plan == plan
    # Old readings do not stay beside the new ones.
    assert CycleReading.objects.filter(record=record, key="drying_time_s").count() == 1


def test_a_cycle_of_another_sterilizer_is_refused():
    record = a_record()
    with pytest.raises(InputError, match="another sterilizer"):
        actions.choose_plan(by=theo_the_technician(), record=record, plan=a_plan(a_sterilizer("3")))


def test_a_load_is_reviewed_with_its_record_and_corrects_the_one_before(reads):
    record = a_record()
    asked = reads(read_as())
    theo = theo_the_technician()
    first = LoadDetails(counts={"air_turbine_4_hole": 4, "contra_angle_reducing": 0}, pouches=4)
    actions.write_load(by=theo, record=record, details=first)
    actions.write_load(by=theo, record=record, details=LoadDetails(pouches=6, water_before_g=2.0))
    assert [known["load"].pouches for known in asked] == [4, 6]
    (standing,) = Load.objects.standing()
    assert standing.pouches == 6
    assert standing.corrects.counts == {"air_turbine_4_hole": 4}


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({}, "say what lay"),
        ({"counts": {"broom": 1}}, "no handpiece class broom"),
        ({"pouches": 201}, "201 of a kind"),
        ({"pouches": 1, "water_before_g": -1.0}, "-1 g"),
    ],
)
def test_a_load_that_cannot_be_is_refused(wrong, says):
    record = a_record()
    with pytest.raises(InputError, match=says):
        actions.write_load(by=theo_the_technician(), record=record, details=LoadDetails(**wrong))
    assert not Load.objects.exists()


def test_a_record_whose_columns_are_open_again_says_so(reads):
    record = a_record()
    reads(Asks({}, "which column is the pressure?"))
    with pytest.raises(CannotTellError, match="which column is the pressure"):
        actions.review_again(by=theo_the_technician(), record=record)
    record.refresh_from_db()
    assert record.review is not None


def test_what_belongs_to_an_office_is_seen_by_it_alone():
    from turnwell.web.accounts.models import Role, User
    from turnwell.web.offices.models import Office
    from turnwell.web.sterilizers.models import Sterilizer

    record = a_record()
    elm = Office.objects.create(name="Elm Row")
    quill = User.objects.create_user("quill", role=Role.OFFICE, office=elm)
    for rows in (Sterilizer.objects, CycleRecord.objects, StoredFile.objects):
        assert rows.all().visible_to(bea_of_birch_lane()).count() == 1
        assert not rows.all().visible_to(quill).exists()
        assert rows.all().visible_to(theo_the_technician()).count() == 1
    assert record.file.pk


def test_a_file_that_is_no_table_is_not_kept():
    with pytest.raises(InputError, match="is a picture"):
        a_file(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(range(256)), "run.csv")
    with pytest.raises(InputError, match="neither text nor a spreadsheet"):
        a_file(b"\x7fELF" + bytes(range(16)) + bytes(64), "run.csv")
    assert not StoredFile.objects.exists()
    assert a_file("s,°C\n0,20\n".encode("utf-16-le"), "run.csv").media_type == "text/plain"
    assert builders.a_file(csv_of(7)).media_type == "text/plain"
