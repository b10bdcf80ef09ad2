"""The one-time link."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from tests.people import theo_the_technician
from turnwell.errors import NotAllowedError
from turnwell.web.accounts.actions import (
    create_owner_if_none,
    make_sign_in_link,
    use_sign_in_link,
)
from turnwell.web.accounts.models import SignInLink, User

pytestmark = pytest.mark.django_db


def test_looking_does_not_use_it_up(client: Client) -> None:
    token = make_sign_in_link(theo_the_technician())
    for _ in range(2):
        answer = client.get(f"/sign-in/{token}/")
        assert answer.status_code == 200
        assert answer["Referrer-Policy"] == "same-origin"
    assert "_auth_user_id" not in client.session


def test_pressing_lets_in_once(client: Client) -> None:
    token = make_sign_in_link(theo_the_technician())
    assert client.post(f"/sign-in/{token}/").status_code == 302
    assert client.session["_auth_user_id"] == str(theo_the_technician().pk)
    again = Client().post(f"/sign-in/{token}/")
    assert again.status_code == 410
    assert b"no longer works" in again.content


def test_only_its_hash_is_kept() -> None:
    token = make_sign_in_link(theo_the_technician())
    assert token not in str(list(SignInLink.objects.values()))


def test_it_runs_out() -> None:
    token = make_sign_in_link(theo_the_technician(), lasts=timedelta(hours=1))
    with pytest.raises(NotAllowedError, match="ask for a new one"):
        use_sign_in_link(token, at=timezone.now() + timedelta(hours=1, seconds=1))


def test_it_lets_in_nobody_who_was_shut_out() -> None:
    theo = theo_the_technician()
    token = make_sign_in_link(theo)
    theo.is_active = False
    theo.save()
    with pytest.raises(NotAllowedError):
        use_sign_in_link(token)


@pytest.mark.parametrize("token", ["x", "%00", "a" * 300, "..%2F..%2Fsecret"])
def test_a_made_up_link_is_gone(client: Client, token: str) -> None:
    assert client.get(f"/sign-in/{token}/").status_code in {400, 404, 410}
    assert "_auth_user_id" not in client.session


def test_the_wrong_method_is_refused(client: Client) -> None:
    token = make_sign_in_link(theo_the_technician())
    assert client.put(f"/sign-in/{token}/").status_code == 405


def test_the_first_owner_is_made_once() -> None:
    owner = create_owner_if_none()
    assert owner.is_owner
    assert not owner.has_usable_password()
    assert create_owner_if_none() == owner
    assert User.objects.count() == 1
