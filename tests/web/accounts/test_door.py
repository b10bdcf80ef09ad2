"""Signing in by password, and how often it may go wrong."""

from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client

from tests.people import theo_the_technician
from turnwell.errors import NotAllowedError
from turnwell.web.accounts.door import check_door, note_failure
from turnwell.web.accounts.models import SignInFailure

pytestmark = pytest.mark.django_db
RIGHT = {"username": "theo", "password": "a long enough word"}
WRONG = {"username": "theo", "password": "a wrong one"}
NOON = datetime(2026, 5, 4, 12, 0, tzinfo=UTC)


def test_the_right_password_lets_in(client: Client) -> None:
    theo_the_technician()
    answer = client.post("/sign-in/", RIGHT)
    assert answer.status_code == 302
    assert "_auth_user_id" in client.session


def test_a_wrong_password_says_so_and_keeps_the_name(client: Client) -> None:
    theo_the_technician()
    answer = client.post("/sign-in/", WRONG)
    assert answer.status_code == 200
    assert b"do not belong together" in answer.content
    assert b'value="theo"' in answer.content


@pytest.mark.parametrize("name", ["", "th\x00eo", "x" * 500, "nobody"])
def test_a_bad_name_is_refused(client: Client, name: str) -> None:
    answer = client.post("/sign-in/", {"username": name, "password": "a wrong one"})
    assert answer.status_code == 200
    assert "_auth_user_id" not in client.session


def test_after_five_wrong_ones_even_the_right_one_waits(client: Client) -> None:
    theo_the_technician()
    for _ in range(5):
        client.post("/sign-in/", WRONG)
    answer = client.post("/sign-in/", RIGHT)
    assert b"wait 5 minutes" in answer.content
    assert "_auth_user_id" not in client.session


def test_the_door_opens_again_after_its_time() -> None:
    for _ in range(5):
        note_failure("theo", "10.0.0.7", at=NOON)
    with pytest.raises(NotAllowedError, match="wait 1 minute and"):
        check_door("THEO ", "10.0.0.7", at=NOON + timedelta(minutes=4, seconds=30))
    check_door("theo", "10.0.0.7", at=NOON + timedelta(minutes=5, seconds=1))


def test_another_place_is_not_shut_out_until_thirty() -> None:
    for number in range(29):
        note_failure("theo", f"10.0.0.{number // 4}", at=NOON)
    check_door("theo", "10.0.1.1", at=NOON)
    note_failure("theo", "10.0.0.99", at=NOON)
    with pytest.raises(NotAllowedError, match="wait 15 minutes"):
        check_door("theo", "10.0.1.1", at=NOON)


def test_coming_in_forgets_the_failures(client: Client) -> None:
    theo_the_technician()
    client.post("/sign-in/", WRONG)
    client.post("/sign-in/", RIGHT)
    assert not SignInFailure.objects.exists()


def test_old_failures_are_dropped() -> None:
    note_failure("theo", "", at=NOON)
    note_failure("theo", "", at=NOON + timedelta(days=2))
    assert SignInFailure.objects.count() == 1


def test_signing_out_is_a_post(client: Client) -> None:
    client.force_login(theo_the_technician())
    assert client.get("/sign-out/").status_code == 405
    assert client.post("/sign-out/").status_code == 302
    assert "_auth_user_id" not in client.session


def test_it_leads_nowhere_but_home(client: Client) -> None:
    theo_the_technician()
    answer = client.post("/sign-in/?next=https://elsewhere.example/", RIGHT)
    assert answer.status_code == 302
    assert "elsewhere" not in answer["Location"]
