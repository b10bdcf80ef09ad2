"""The application as a server runs it: bodies have a limit, and slow imports come early."""

import multiprocessing
import os
import threading
from collections.abc import Callable, Iterable
from importlib import import_module
from typing import TYPE_CHECKING, Any

from django.core.wsgi import get_wsgi_application

from turnwell.web.evidence import bounded

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

__all__ = ["MOST_BODY_BYTES", "application", "end_with_parent", "limited", "warm"]

# Ten minutes of two channels at 192 kHz and 32 bits, the longest recording taken, is 0.92 GB.
MOST_BODY_BYTES = 1_000_000_000
# What the first page with a recording, a chart or a paper would otherwise wait seconds for.
SLOW_TO_IMPORT = ("scipy.signal", "altair", "turnwell.sound", "turnwell.pictures", "typst")

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "turnwell.web.settings")


def limited(inner: "WSGIApplication", most_bytes: int) -> "WSGIApplication":
    """Give the application with a limit on what it takes in: a larger body is refused unread."""

    def outer(environ: "WSGIEnvironment", start_response: "StartResponse") -> Iterable[bytes]:
        if _length(environ) > most_bytes:
            words = f"This is larger than {most_bytes / 1e6:,.0f} MB; send a smaller file.\n"
            headers = [("Content-Type", "text/plain; charset=utf-8"), ("Connection", "close")]
            start_response("413 Content Too Large", headers)
            return [words.encode()]
        return inner(environ, start_response)

    return outer


def _length(environ: dict[str, Any]) -> int:
    """Give the length a request claims; a claim that is no number is left to Django."""
    claimed = str(environ.get("CONTENT_LENGTH") or "0")
    return int(claimed) if claimed.isdecimal() else 0


def warm(load: Callable[[str], object] = import_module) -> threading.Thread:
    """Import what is slow to import, beside the server's work."""

    def load_all() -> None:
        for name in SLOW_TO_IMPORT:
            load(name)

    thread = threading.Thread(target=load_all, name="warm", daemon=True)
    thread.start()
    return thread


def end_with_parent() -> None:
    """End this process when the one that started it is gone, as a server that was killed is."""
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def watch() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=watch, name="end with parent", daemon=True).start()


application = limited(get_wsgi_application(), MOST_BODY_BYTES)
warm()
end_with_parent()
bounded.warm()
