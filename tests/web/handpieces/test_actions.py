from datetime import UTC, date, datetime

import pytest

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import a_job, a_model
from turnwell.errors import ChangedMeanwhileError, InputError, NotAllowedError, StageError
from turnwell.web.handpieces.actions import (
    HANDPIECE_FIELDS,
    HandpieceDetails,
    SerialTakenError,
    add_handpiece,
    edit_handpiece,
    put_back_in_use,
    retire_handpiece,
)
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.offices.models import Chair, Office
from turnwell.web.shared.codes import read_code
from turnwell.web.shared.rows import snapshot_of

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 5, 12, 12, 0, tzinfo=UTC)
TURBINE = "air_turbine_4_hole"


@pytest.fixture
def office():
    return Office.objects.create(name="Elm Row")


def put_in(office, **details):
    typed = HandpieceDetails(
        **{"class_key": TURBINE, "office": office, "serial": "AB 12"} | details
    )
    return add_handpiece(by=theo_the_technician(), details=typed, at=NOON)


def test_a_handpiece_gets_a_code_that_reads_back(office):
    handpiece = put_in(office, in_service_since=date(2024, 1, 2))
    assert read_code(handpiece.code) == handpiece.code
    assert handpiece.code.startswith("H")


@pytest.mark.parametrize("serial", ["AB 12", "ab12", " aB  12 "])
def test_a_serial_is_taken_once_a_class_and_names_who_has_it(office, serial):
    first = put_in(office)
    with pytest.raises(SerialTakenError, match=first.code) as taken:
        put_in(office, serial=serial)
    assert taken.value.existing == first
    assert Handpiece.objects.count() == 1


def test_another_class_may_have_the_same_serial_and_none_may_be_empty_twice(office):
    put_in(office)
    put_in(office, class_key="coupler")
    put_in(office, serial="")
    put_in(office, serial="")
    assert Handpiece.objects.count() == 4


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"class_key": "drill"}, "not in the catalogue"),
        ({"serial": "x" * 61}, "more than 60 characters"),
        ({"serial": "ß" * 31}, "more than 60 characters"),
        ({"in_service_since": date(2026, 5, 13)}, "2026-05-13, is in the future"),
        ({"in_service_since": date(1900, 1, 1)}, "too long ago"),
        ({"known_cycles": 500}, "needs the count and the day"),
        ({"known_cycles_on": date(2026, 1, 1)}, "needs the count and the day"),
        ({"known_cycles": -1, "known_cycles_on": date(2026, 1, 1)}, "not a count"),
        ({"known_cycles": 5, "known_cycles_on": date(2026, 6, 1)}, "in the future"),
        (
            {
                "in_service_since": date(2026, 2, 1),
                "known_cycles": 5,
                "known_cycles_on": date(2026, 1, 1),
            },
            "before it went into service",
        ),
        ({"note": "a\x00b"}, "NUL"),
    ],
)
def test_what_is_wrong_is_named_and_nothing_is_kept(office, wrong, says):
    with pytest.raises(InputError, match=says):
        put_in(office, **wrong)
    assert not Handpiece.objects.exists()


def test_model_and_chair_must_fit(office):
    with pytest.raises(InputError, match="of another class"):
        put_in(office, class_key="coupler", model=a_model())
    elsewhere = Chair.objects.create(office=Office.objects.create(name="Other"), name="1")
    with pytest.raises(InputError, match="is not one of Elm Row"):
        put_in(office, chair=elsewhere)


def test_two_tabs_do_not_overwrite_each_other(office):
    handpiece, theo = put_in(office), theo_the_technician()
    seen = snapshot_of(handpiece, HANDPIECE_FIELDS)
    first = HandpieceDetails(class_key=TURBINE, office=office, serial="AB 12", note="first")
    edit_handpiece(by=theo, handpiece=handpiece, details=first, seen=seen, at=NOON)
    second = HandpieceDetails(class_key=TURBINE, office=office, serial="AB 12", note="second")
    with pytest.raises(ChangedMeanwhileError, match="note is “first”"):
        edit_handpiece(by=theo, handpiece=handpiece, details=second, seen=seen, at=NOON)
    handpiece.refresh_from_db()
    assert handpiece.note == "first"


def test_editing_may_keep_the_own_serial_and_not_take_anothers(office):
    handpiece, theo = put_in(office), theo_the_technician()
    put_in(office, serial="CD 34")
    same = HandpieceDetails(class_key=TURBINE, office=office, serial="ab 12")
    assert edit_handpiece(by=theo, handpiece=handpiece, details=same, at=NOON).serial == "ab 12"
    other = HandpieceDetails(class_key=TURBINE, office=office, serial="CD34")
    with pytest.raises(SerialTakenError):
        edit_handpiece(by=theo, handpiece=handpiece, details=other, at=NOON)


def test_one_at_the_bench_is_not_retired(office):
    handpiece, theo = put_in(office), theo_the_technician()
    a_job(handpiece)
    with pytest.raises(StageError, match="hand the handpiece back"):
        retire_handpiece(by=theo, handpiece=handpiece, on=date(2026, 5, 12), at=NOON)


def test_retired_and_put_back(office):
    handpiece, theo = put_in(office, in_service_since=date(2026, 2, 1)), theo_the_technician()
    with pytest.raises(InputError, match="before it went into service"):
        retire_handpiece(by=theo, handpiece=handpiece, on=date(2026, 1, 1), at=NOON)
    with pytest.raises(InputError, match="in the future"):
        retire_handpiece(by=theo, handpiece=handpiece, on=date(2026, 6, 1), at=NOON)
    gone = retire_handpiece(by=theo, handpiece=handpiece, on=date(2026, 5, 1), at=NOON)
    assert gone.retired_on == date(2026, 5, 1)
    assert put_back_in_use(by=theo, handpiece=handpiece).retired_on is None


def test_people_of_an_office_change_none():
    bea = bea_of_birch_lane()
    handpiece = put_in(bea.office)
    details = HandpieceDetails(class_key=TURBINE, office=bea.office)
    with pytest.raises(NotAllowedError):
        add_handpiece(by=bea, details=details, at=NOON)
    with pytest.raises(NotAllowedError):
        edit_handpiece(by=bea, handpiece=handpiece, details=details, at=NOON)
    with pytest.raises(NotAllowedError):
        retire_handpiece(by=bea, handpiece=handpiece, on=date(2026, 5, 1), at=NOON)
    with pytest.raises(NotAllowedError):
        put_back_in_use(by=bea, handpiece=handpiece)
