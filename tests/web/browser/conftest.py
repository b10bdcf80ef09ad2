"""A real Chromium against a running server, for the tests of this folder.

`open_page(role, path)` opens a page signed in as the owner, the technician, a person of an office,
or nobody. When the test ends, everything its pages asked for must have come from this machine, no
script may have failed and the content policy may have refused nothing.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, sync_playwright
from pytest_django.live_server_helper import LiveServer

from tests.people import bea_of_birch_lane, olga_the_owner, theo_the_technician
from turnwell.web.lives.records import keeping

__all__ = ["Opener"]

PEOPLE = {
    "owner": olga_the_owner,
    "technician": theo_the_technician,
    "office": bea_of_birch_lane,
}
# The first keeps the browser's own look-ups on this machine: a page that wants more fails loudly.
FLAGS = (
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
)
HERE = Path(__file__).parent

Opener = Callable[..., Page]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.path.is_relative_to(HERE):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium() -> str:
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found:
        return found
    if os.environ.get("CI"):
        pytest.fail("no Chromium is installed; install Debian's package chromium")
    pytest.skip("no Chromium on this machine: install one named chromium to run browser tests")


@pytest.fixture(scope="session")
def _playwright() -> Iterator[Playwright]:
    # Its event loop lives in this thread; Django would refuse plain queries beside it.
    with sync_playwright() as running, pytest.MonkeyPatch.context() as patch:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        yield running


@pytest.fixture(scope="session")
def launch(chromium: str, _playwright: Playwright) -> Iterator[Callable[..., Browser]]:
    """Start a browser with further flags, once for each set of them."""
    running: dict[tuple[str, ...], Browser] = {}

    def launched(*flags: str) -> Browser:
        if flags not in running:
            running[flags] = _playwright.chromium.launch(
                executable_path=chromium, args=[*FLAGS, *flags]
            )
        return running[flags]

    yield launched
    for browser in running.values():
        browser.close()


@pytest.fixture(autouse=True)
def _no_records_of_another_book() -> Iterator[None]:
    """Forget lives of rows that the end of a test deletes, as nothing else ever does."""
    keeping.forget()
    keeping.path_of_file().unlink(missing_ok=True)
    yield
    keeping.forget()
    keeping.path_of_file().unlink(missing_ok=True)


@pytest.fixture
def open_page(live_server: LiveServer, launch: Callable[..., Browser]) -> Iterator[Opener]:
    """Give a function that opens a page.

    ``open_page(role, path, width=1440, flags=(), **context options)`` gives a Playwright page; role
    is owner, technician, office or anonymous.
    """
    contexts: list[BrowserContext] = []
    asked: list[str] = []
    complaints: list[str] = []

    def opened(
        role: str, path: str, *, width: int = 1440, flags: tuple[str, ...] = (), **options: object
    ) -> Page:
        context = launch(*flags).new_context(
            viewport={"width": width, "height": 900}, base_url=live_server.url, **options
        )
        contexts.append(context)
        context.set_default_timeout(15_000)
        context.on("request", lambda request: asked.append(request.url))
        context.on("weberror", lambda error: complaints.append(str(error.error)))
        context.on(
            "console",
            lambda said: complaints.append(said.text) if "Content Security" in said.text else None,
        )
        if role != "anonymous":
            context.add_cookies([_session_of(role, live_server.url)])
        page = context.new_page()
        page.goto(path)
        return page

    yield opened
    for context in contexts:
        context.close()
    abroad = [url for url in asked if not _is_local(url)]
    assert not abroad, f"asked beyond this machine: {abroad}"
    assert not complaints, complaints


def _session_of(role: str, url: str) -> dict[str, object]:
    client = Client()
    client.force_login(PEOPLE[role]())
    cookie = client.cookies[settings.SESSION_COOKIE_NAME]
    return {"name": cookie.key, "value": cookie.value, "url": url}


def _is_local(url: str) -> bool:
    parts = urlsplit(url)
    return parts.scheme in {"data", "blob", "about"} or parts.hostname in {"127.0.0.1", "localhost"}
