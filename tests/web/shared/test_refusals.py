"""Pages of refusal: one sentence each, and the policies on every answer."""

from collections.abc import Iterator

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import path
from pytest_django import Settings

from tests.people import theo_the_technician
from turnwell.errors import (
    CannotTellError,
    ChangedMeanwhileError,
    InputError,
    NotAllowedError,
    StageError,
)
from turnwell.web import urls
from turnwell.web.urls import handler400, handler403, handler404, handler500  # noqa: F401

pytestmark = pytest.mark.django_db
ERRORS = {
    "input": InputError,
    "not-allowed": NotAllowedError,
    "changed": ChangedMeanwhileError,
    "stage": StageError,
    "cannot-tell": CannotTellError,
    "bug": ZeroDivisionError,
}


def _raises(_request: HttpRequest, kind: str) -> HttpResponse:
    raise ERRORS[kind]("The spindle is bent.")


urlpatterns = [*urls.urlpatterns, path("raises/<str:kind>/", _raises)]


@pytest.fixture
def theo(client: Client, settings: Settings) -> Iterator[Client]:
    settings.ROOT_URLCONF = __name__
    client.force_login(theo_the_technician())
    client.raise_request_exception = False
    return client


@pytest.mark.parametrize(
    ("kind", "status"),
    [
        ("input", 400),
        ("not-allowed", 403),
        ("changed", 409),
        ("stage", 409),
        ("cannot-tell", 422),
    ],
)
def test_an_error_of_ours_becomes_its_sentence(theo: Client, kind: str, status: int) -> None:
    answer = theo.get(f"/raises/{kind}/")
    assert answer.status_code == status
    assert "The spindle is bent. Nothing was changed." in answer.content.decode()


def test_a_bug_stays_one_and_tells_nothing(theo: Client) -> None:
    answer = theo.get("/raises/bug/")
    assert answer.status_code == 500
    assert "What was saved before is kept" in answer.content.decode()
    assert "spindle" not in answer.content.decode()


def test_nothing_here(theo: Client) -> None:
    answer = theo.get("/nowhere/")
    assert answer.status_code == 404
    assert "nothing at this address" in answer.content.decode()


@pytest.mark.parametrize("address", ["/search/?q=a%00b", "/c/H%00/", "/%00"])
def test_nul_in_an_address_is_refused(theo: Client, address: str) -> None:
    assert theo.get(address).status_code == 400


def test_an_unknown_name_of_the_server_is_refused(client: Client) -> None:
    answer = client.get("/sign-in/", headers={"host": "rebound.example"})
    assert answer.status_code == 400
    assert "TURNWELL_HOSTS" in answer.content.decode()


def test_a_form_without_its_token_is_refused() -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(theo_the_technician())
    answer = client.post("/sign-out/")
    assert answer.status_code == 403
    assert "nothing was saved" in answer.content.decode()
    assert "_auth_user_id" in client.session


def test_too_much_in_one_form_is_refused(theo: Client) -> None:
    answer = theo.post("/own-password/", {"password": "x" * 2_100_000})
    assert answer.status_code == 413
    assert "send less" in answer.content.decode()
    answer = theo.post("/own-password/", {f"f{n}": "" for n in range(1001)})
    assert answer.status_code == 413


@pytest.mark.parametrize("address", ["/sign-in/", "/shop/", "/nowhere/", "/%00"])
def test_every_answer_carries_its_policies(theo: Client, address: str) -> None:
    answer = theo.get(address)
    policy = answer["Content-Security-Policy"]
    assert "script-src 'self';" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert answer["Permissions-Policy"].startswith("microphone=(self), camera=()")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["Cache-Control"]


def test_each_answer_has_a_nonce_of_its_own(theo: Client) -> None:
    first, second = (theo.get("/shop/")["Content-Security-Policy"] for _ in range(2))
    assert first != second


def test_a_wrong_method_has_a_page_and_says_what_is_taken(client: Client) -> None:
    client.force_login(theo_the_technician())
    answer = client.get("/sign-out/")
    assert answer.status_code == 405
    assert "POST" in answer["Allow"]
    assert "only takes what a form sends" in answer.content.decode()
