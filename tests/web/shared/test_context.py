"""How a page is reached, as browsers see it, and the clock on its wall."""

import pytest
from django.test import RequestFactory
from pytest_django import Settings

from turnwell.errors import InputError
from turnwell.web.shared.context import page_reach
from turnwell.web.shared.times import zone_choices, zone_of


@pytest.mark.parametrize(
    ("host", "is_https", "can_record"),
    [
        # Secure Contexts (W3C), section 3.1: loopback addresses and localhost are trustworthy.
        ("localhost:8000", False, True),
        ("127.0.0.1:8000", False, True),
        ("[::1]:8000", False, True),
        ("bench.localhost", False, True),
        ("bench.local", False, False),
        ("10.0.0.7:8000", False, False),
        ("localhost.example", False, False),
        ("bench.local", True, True),
    ],
)
def test_the_microphone_is_offered_where_browsers_give_it(
    settings: Settings, host: str, is_https: bool, can_record: bool
) -> None:
    settings.ALLOWED_HOSTS = ["*"]
    request = RequestFactory().get("/", secure=is_https, headers={"host": host})
    assert page_reach(request).can_record is can_record


def test_every_zone_offered_is_one() -> None:
    for name, _ in zone_choices():
        zone_of(name)


@pytest.mark.parametrize("name", ["", "Mars/Base", "../../etc/passwd", "a\x00b", "x" * 5000])
def test_a_zone_that_is_none_is_refused(name: str) -> None:
    with pytest.raises(InputError, match="must be one of the list"):
        zone_of(name)
