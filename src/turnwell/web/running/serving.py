"""Starts the server that a door needs: waitress for plain http, granian for HTTPS."""

import os
import signal
import sys
from collections.abc import Callable
from contextlib import nullcontext
from types import FrameType

from turnwell.web.running.doors import Door
from turnwell.web.running.network import bound_socket
from turnwell.web.running.trust_page import trust_page

__all__ = ["serve"]

THREADS = 4
TARGET = "turnwell.web.running.application:application"


def serve(door: Door, tell: Callable[[int], None]) -> None:
    """Serve until stopped; `tell` is called with the port once it is ours.

    Raises
    ------
    InputError
        If the port is taken.
    """
    listening = bound_socket(door.host, door.port, or_next=not door.is_port_chosen)
    port = int(listening.getsockname()[1])
    if door.certificate is None:
        _serve_plainly(door, port, listening, tell)
        return
    listening.close()
    with trust_page(door.shop, door.host, port) if door.shop else nullcontext():
        _serve_https(door, port, tell)


def _serve_plainly(door: Door, port: int, listening: object, tell: Callable[[int], None]) -> None:
    """Serve plain http on the loopback address, for this machine or a proxy on it."""
    import waitress

    from turnwell.web.running.application import MOST_BODY_BYTES, application

    proxy = {}
    if door.is_behind_proxy:
        headers = {"x-forwarded-for", "x-forwarded-host", "x-forwarded-proto"}
        proxy = {"trusted_proxy": door.host, "trusted_proxy_headers": headers}
    server = waitress.create_server(
        application,
        sockets=[listening],
        threads=THREADS,
        max_request_body_size=MOST_BODY_BYTES,
        clear_untrusted_proxy_headers=True,
        ident=None,
        **proxy,
    )
    signal.signal(signal.SIGTERM, _stop)
    tell(port)
    server.run()  # returns after Ctrl-C or SIGTERM, its requests answered
    server.close()


def _serve_https(door: Door, port: int, tell: Callable[[int], None]) -> None:
    """Serve HTTPS with the door's certificate."""
    from granian import Granian
    from granian.constants import Interfaces, SSLProtocols
    from granian.log import LogLevels

    # Its worker is a process of its own, which must find the settings as they are here.
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "turnwell.web.settings")
    server = Granian(
        TARGET,
        address=door.host,
        port=port,
        interface=Interfaces.WSGI,
        workers=1,
        blocking_threads=THREADS,
        log_level=LogLevels.warning,
        ssl_cert=door.certificate,
        ssl_key=door.key,
        ssl_protocol_min=SSLProtocols.tls12,
        websockets=False,
    )
    server.on_startup(lambda: tell(port))
    server.serve()


def _stop(_signal: int, _frame: FrameType | None) -> None:
    """End the process as Ctrl-C would."""
    sys.exit(0)
