import pytest

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import a_handpiece
from turnwell.errors import ChangedMeanwhileError, InputError, NotAllowedError
from turnwell.web.offices.actions import (
    OFFICE_FIELDS,
    OfficeDetails,
    add_chair,
    add_office,
    edit_office,
    remove_chair,
    rename_chair,
)
from turnwell.web.offices.models import Chair, Office
from turnwell.web.shared.rows import snapshot_of

pytestmark = pytest.mark.django_db


def an_office(**details):
    return add_office(
        by=theo_the_technician(), details=OfficeDetails(**{"name": "Elm Row"} | details)
    )


def test_an_office_is_kept_as_typed():
    office = an_office(time_zone="Europe/Vienna", altitude_m=171.0, phone="555 0100")
    office.refresh_from_db()
    assert (office.time_zone, office.altitude_m, office.phone) == (
        "Europe/Vienna",
        171.0,
        "555 0100",
    )


@pytest.mark.parametrize("name", ["Elm Row", "  elm   ROW "])
def test_a_name_is_taken_once_whatever_its_case_and_spaces(name):
    an_office()
    with pytest.raises(InputError, match="already an office called Elm Row"):
        an_office(name=name)


@pytest.mark.parametrize(
    ("details", "says"),
    [
        ({"name": "  "}, "needs a name"),
        ({"name": "x" * 121}, "at most 120 characters"),
        ({"time_zone": "Mars/Olympus"}, "time zone 'Mars/Olympus' is not known"),
        ({"time_zone": ""}, "time zone"),
        ({"altitude_m": 9000.0}, "9000 m is not on earth"),
        ({"altitude_m": float("nan")}, "not on earth"),
        ({"email": "front desk"}, "email"),
        ({"note": "a\x00b"}, "NUL"),
    ],
)
def test_what_is_wrong_is_named_and_nothing_is_kept(details, says):
    with pytest.raises(InputError, match=says):
        an_office(**details)
    assert not Office.objects.exists()


def test_people_of_an_office_change_none():
    bea = bea_of_birch_lane()
    with pytest.raises(NotAllowedError):
        add_office(by=bea, details=OfficeDetails(name="Own"))
    with pytest.raises(NotAllowedError):
        edit_office(by=bea, office=bea.office, details=OfficeDetails(name="Own"))
    with pytest.raises(NotAllowedError):
        add_chair(by=bea, office=bea.office, name="1")


def test_two_tabs_do_not_overwrite_each_other():
    office = an_office(phone="1")
    theo = theo_the_technician()
    seen = snapshot_of(office, OFFICE_FIELDS)
    edit_office(by=theo, office=office, details=OfficeDetails(name="Elm Row", phone="2"), seen=seen)
    with pytest.raises(ChangedMeanwhileError, match="phone is “2”"):
        edit_office(
            by=theo, office=office, details=OfficeDetails(name="Elm Row", phone="3"), seen=seen
        )
    office.refresh_from_db()
    assert office.phone == "2"


@pytest.mark.parametrize("seen", ["", "not json", "[1]", "9" * 200_000])
def test_a_snapshot_that_is_none_is_refused(seen):
    with pytest.raises(InputError, match="out of date"):
        edit_office(
            by=theo_the_technician(),
            office=an_office(),
            details=OfficeDetails(name="Elm Row"),
            seen=seen,
        )


def test_chairs_are_named_once_an_office():
    office, theo = an_office(), theo_the_technician()
    chair = add_chair(by=theo, office=office, name=" 3 ")
    assert chair.name == "3"
    with pytest.raises(InputError, match="already has a chair 3"):
        add_chair(by=theo, office=office, name="3")
    assert rename_chair(by=theo, chair=chair, name="3").name == "3"
    with pytest.raises(InputError, match="needs a name"):
        rename_chair(by=theo, chair=chair, name=" ")
    with pytest.raises(InputError, match="at most 40"):
        add_chair(by=theo, office=office, name="x" * 41)


def test_removing_a_chair_leaves_its_handpieces_with_the_office():
    office, theo = an_office(), theo_the_technician()
    chair = add_chair(by=theo, office=office, name="3")
    handpiece = a_handpiece(office=office, chair=chair)
    remove_chair(by=theo, chair=chair)
    handpiece.refresh_from_db()
    assert handpiece.chair is None
    assert handpiece.office == office
    assert not Chair.objects.exists()
