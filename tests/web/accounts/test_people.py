"""The owner's page of people, and one's own password."""

import pytest
from django.test import Client

from tests.people import bea_of_birch_lane, olga_the_owner, theo_the_technician
from turnwell.errors import NotAllowedError
from turnwell.web.accounts import actions
from turnwell.web.accounts.models import Role, User

pytestmark = pytest.mark.django_db
NEW = {"username": "nora", "first_name": "Nora", "last_name": "Nilsen", "role": "technician"}


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(olga_the_owner())
    return client


def test_a_person_is_added_without_a_password(owner: Client) -> None:
    answer = owner.post("/people/new/", NEW)
    nora = User.objects.get(username="nora")
    assert answer["Location"] == f"/people/{nora.pk}/"
    assert not nora.has_usable_password()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"username": "OLGA"}, "is taken"),
        ({"username": ""}, "Fill this in"),
        ({"username": "no\x00ra"}, "NUL"),
        ({"username": "n" * 151}, "at most 150"),
        ({"role": "office"}, "needs the office"),
        ({"role": "king"}, "not one of the available choices"),
        ({"office": "999"}, "not one of the available choices"),
    ],
)
def test_a_bad_person_is_refused_and_kept_in_the_form(
    owner: Client, change: dict[str, str], says: str
) -> None:
    answer = owner.post("/people/new/", {**NEW, **change})
    assert answer.status_code == 200
    assert says in answer.content.decode()
    assert 'value="Nilsen"' in answer.content.decode()
    assert not User.objects.filter(first_name="Nora").exists()


def test_role_and_office_are_changed_together(owner: Client) -> None:
    office = bea_of_birch_lane().office
    assert office is not None
    theo = theo_the_technician()
    owner.post(f"/people/{theo.pk}/", {"role": "office", "office": office.pk})
    theo.refresh_from_db()
    assert (theo.role, theo.office) == (Role.OFFICE, office)


def test_the_only_owner_stays_owner(owner: Client) -> None:
    olga = olga_the_owner()
    answer = owner.post(f"/people/{olga.pk}/", {"role": "technician"})
    assert b"only owner" in answer.content
    answer = owner.post(f"/people/{olga.pk}/active/", {"is_active": "0"}, follow=True)
    assert b"only owner" in answer.content
    olga.refresh_from_db()
    assert olga.is_owner
    assert olga.is_active


def test_someone_shut_out_comes_in_no_more(owner: Client) -> None:
    theo = theo_the_technician()
    page = Client()
    page.force_login(theo)
    owner.post(f"/people/{theo.pk}/active/", {"is_active": "0"})
    assert page.get("/own-password/").status_code == 302
    owner.post(f"/people/{theo.pk}/active/", {"is_active": "1"})
    theo.refresh_from_db()
    assert theo.is_active


def test_a_password_is_set(owner: Client) -> None:
    theo = theo_the_technician()
    owner.post(f"/people/{theo.pk}/password/", {"password": "violet gasket tray"})
    theo.refresh_from_db()
    assert theo.check_password("violet gasket tray")


@pytest.mark.parametrize(
    ("password", "says"), [("short", "too short"), ("", "Fill this in"), ("password123", "common")]
)
def test_a_weak_password_is_refused(owner: Client, password: str, says: str) -> None:
    theo = theo_the_technician()
    answer = owner.post(f"/people/{theo.pk}/password/", {"password": password})
    assert says in answer.content.decode()
    theo.refresh_from_db()
    assert theo.check_password("a long enough word")


def test_a_link_is_shown_and_works(owner: Client) -> None:
    theo = theo_the_technician()
    answer = owner.post(f"/people/{theo.pk}/link/")
    link = answer.context["link"]
    page = Client()
    page.post(link.removeprefix("http://testserver"))
    assert page.session["_auth_user_id"] == str(theo.pk)


@pytest.mark.parametrize("path", ["password", "active", "link"])
def test_the_wrong_method_is_refused(owner: Client, path: str) -> None:
    assert owner.get(f"/people/{theo_the_technician().pk}/{path}/").status_code == 405


@pytest.mark.parametrize("who", [theo_the_technician, bea_of_birch_lane])
def test_only_the_owner_changes_people(client: Client, who: object) -> None:
    someone = who()  # type: ignore[operator]
    client.force_login(someone)
    target = olga_the_owner()
    for path in ("", "new/", f"{target.pk}/"):
        assert client.get(f"/people/{path}").status_code == 403
    assert client.post(f"/people/{target.pk}/active/", {"is_active": "0"}).status_code == 403
    with pytest.raises(NotAllowedError):
        actions.set_active(by=someone, person=target, is_active=False)
    with pytest.raises(NotAllowedError):
        actions.set_password(by=someone, person=target, password="violet gasket tray")
    with pytest.raises(NotAllowedError):
        actions.add_person(by=someone, username="mole", role=Role.OWNER)
    with pytest.raises(NotAllowedError):
        actions.change_person(
            by=someone, person=someone, first_name="", last_name="", role=Role.OWNER
        )


def test_ones_own_password_needs_the_old_one(client: Client) -> None:
    theo = theo_the_technician()
    client.force_login(theo)
    new = {"password": "violet gasket tray"}
    assert b"Fill this in" in client.post("/own-password/", new).content
    assert b"not right" in client.post("/own-password/", {**new, "old": "a guess"}).content
    answer = client.post("/own-password/", {**new, "old": "a long enough word"})
    assert answer.status_code == 302
    assert client.get("/own-password/").status_code == 200  # still signed in here


def test_one_who_came_by_a_link_sets_a_first_password(client: Client) -> None:
    theo = theo_the_technician()
    theo.set_unusable_password()
    theo.save()
    client.force_login(theo)
    assert b"Old password" not in client.get("/own-password/").content
    client.post("/own-password/", {"password": "violet gasket tray"})
    theo.refresh_from_db()
    assert theo.check_password("violet gasket tray")
