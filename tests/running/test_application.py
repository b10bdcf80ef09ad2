"""The application as served: too large is refused unread; slow imports are beside the work."""

import io
from typing import Any

import pytest

from turnwell.web.running.application import SLOW_TO_IMPORT, limited, warm


def ask(length: str | None) -> tuple[str, bytes]:
    said: list[str] = []
    environ: dict[str, Any] = {"wsgi.input": io.BytesIO(b"")}
    if length is not None:
        environ["CONTENT_LENGTH"] = length

    def inner(_environ: object, start_response: Any) -> list[bytes]:
        start_response("200 OK", [])
        return [b"taken"]

    answer = limited(inner, 1000)(environ, lambda status, _headers: said.append(status))
    return said[0], b"".join(answer)


@pytest.mark.parametrize("length", [None, "", "0", "1000", "many", "-5"])
def test_what_is_small_enough_is_passed_on(length: str | None):
    assert ask(length) == ("200 OK", b"taken")


def test_what_is_too_large_is_refused_with_a_sentence():
    status, words = ask("1001")
    assert status.startswith("413")
    assert b"send a smaller file" in words


def test_warming_imports_everything_slow():
    loaded: list[str] = []
    warm(loaded.append).join(10)
    assert tuple(loaded) == SLOW_TO_IMPORT
