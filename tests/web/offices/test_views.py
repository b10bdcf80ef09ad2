import pytest
from django.urls import reverse

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import a_handpiece, a_job
from turnwell.web.offices.actions import add_chair
from turnwell.web.offices.models import Chair, Office

pytestmark = pytest.mark.django_db


@pytest.fixture
def theo(client):
    client.force_login(theo_the_technician())
    return client


@pytest.fixture
def bea(client):
    client.force_login(bea_of_birch_lane())
    return client


TYPED = {"name": "Elm Row", "time_zone": "Europe/Vienna", "is_active": "on"}


def test_the_list_names_each_office_with_its_handpieces(theo):
    a_handpiece("T-1")
    page = theo.get(reverse("offices")).content.decode()
    assert "Birch Lane" in page
    assert "1 handpiece in use" in page


def test_the_empty_list_says_what_to_do(theo):
    assert "Put in the first one" in theo.get(reverse("offices")).content.decode()


def test_people_of_an_office_come_to_their_own(bea):
    own = bea_of_birch_lane().office
    assert bea.get(reverse("offices")).url == reverse("office", args=[own.pk])
    other = Office.objects.create(name="Elm Row")
    assert bea.get(reverse("office", args=[other.pk])).status_code == 404


def test_people_of_an_office_see_neither_notes_nor_visits(bea):
    own = bea_of_birch_lane().office
    Office.objects.filter(pk=own.pk).update(note="pays late")
    page = bea.get(reverse("office", args=[own.pk])).content.decode()
    assert "pays late" not in page
    assert "Visits" not in page


@pytest.mark.parametrize("name", ["office-new", "office-edit", "chair-add", "chair"])
def test_people_of_an_office_are_refused(bea, name):
    office = bea_of_birch_lane().office
    chair = Chair.objects.create(office=office, name="1")
    args = {"office-new": [], "chair": [chair.pk]}.get(name, [office.pk])
    assert bea.post(reverse(name, args=args), TYPED).status_code == 403


def test_an_office_is_added(theo):
    answer = theo.post(reverse("office-new"), TYPED | {"altitude_m": "1609"})
    office = Office.objects.get(name="Elm Row")
    assert answer.url == reverse("office", args=[office.pk])
    assert office.altitude_m == 1609.0


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"name": ""}, "Fill this in"),
        ({"time_zone": "Mars/Olympus"}, "Select a valid choice"),
        ({"altitude_m": "high"}, "is not a number"),
        ({"altitude_m": "nan"}, "is not a number"),
        ({"altitude_m": "-5000"}, "out of range"),
        ({"email": "front desk"}, "valid email"),
        ({"name": "a\x00b"}, "NUL"),
    ],
)
def test_a_bad_form_says_what_and_keeps_what_was_typed(theo, wrong, says):
    page = theo.post(reverse("office-new"), TYPED | {"phone": "555 0199"} | wrong).content.decode()
    assert says in page
    assert "555 0199" in page
    assert not Office.objects.exists()


def test_markup_in_a_name_is_shown_as_text(theo):
    theo.post(reverse("office-new"), TYPED | {"name": '<b>O\'Hara & "Sons"</b>'})
    page = theo.get(reverse("offices")).content.decode()
    assert "&lt;b&gt;O&#x27;Hara &amp; &quot;Sons&quot;&lt;/b&gt;" in page


def test_the_second_of_two_tabs_is_told_what_changed(theo):
    office = Office.objects.create(name="Elm Row", phone="1")
    address = reverse("office-edit", args=[office.pk])
    seen = theo.get(address).context["seen"]
    theo.post(address, TYPED | {"phone": "2", "seen": seen})
    page = theo.post(address, TYPED | {"phone": "3", "seen": seen}).content.decode()
    assert "phone is “2”" in page
    assert 'value="3"' in page
    office.refresh_from_db()
    assert office.phone == "2"
    again = theo.get(address).context["seen"]
    theo.post(address, TYPED | {"phone": "3", "seen": again})
    office.refresh_from_db()
    assert office.phone == "3"


@pytest.mark.parametrize("name", ["offices", "office"])
def test_reading_pages_refuse_to_be_posted_to(theo, name):
    office = Office.objects.create(name="Elm Row")
    args = [] if name == "offices" else [office.pk]
    assert theo.post(reverse(name, args=args)).status_code == 405


@pytest.mark.parametrize("name", ["chair-add", "chair-remove"])
def test_writing_addresses_refuse_to_be_read(theo, name):
    office = Office.objects.create(name="Elm Row")
    chair = Chair.objects.create(office=office, name="1")
    args = [office.pk] if name == "chair-add" else [chair.pk]
    assert theo.get(reverse(name, args=args)).status_code == 405


def test_chairs_are_added_renamed_and_removed(theo):
    office = Office.objects.create(name="Elm Row")
    theo.post(reverse("chair-add", args=[office.pk]), {"name": "3"})
    chair = office.chairs.get()
    refused = theo.post(reverse("chair-add", args=[office.pk]), {"name": "3"}).content.decode()
    assert "already has a chair 3" in refused
    theo.post(reverse("chair", args=[chair.pk]), {"name": "Left"})
    chair.refresh_from_db()
    assert chair.name == "Left"
    theo.post(reverse("chair-remove", args=[chair.pk]))
    assert not office.chairs.exists()


def test_the_page_needs_no_more_queries_with_more_rows(theo, django_assert_max_num_queries):
    office = Office.objects.create(name="Elm Row")
    theo_himself = theo_the_technician()
    for number in range(12):
        chair = add_chair(by=theo_himself, office=office, name=str(number))
        a_job(a_handpiece(f"S-{number}", office=office, chair=chair))
    with django_assert_max_num_queries(16):
        page = theo.get(reverse("office", args=[office.pk])).content.decode()
    assert page.count("S-1") >= 3
