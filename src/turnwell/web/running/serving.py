"""Starts the server that a door needs: waitress for plain http, granian for HTTPS."""

import multiprocessing
import socket
from collections.abc import Callable
from contextlib import nullcontext
from threading import Thread
from time import monotonic, sleep

from turnwell.web.running.doors import Door
from turnwell.web.running.trust_page import trust_page

__all__ = ["serve"]

THREADS = 4
STARTING_S = 120
STOPPING_S = 10
TARGET = "turnwell.web.running.application:application"


def serve(door: Door, listening: socket.socket, tell: Callable[[], None]) -> None:
    """Serve until stopped.

    Parameters
    ----------
    door : Door
        How the page is reached.
    listening : socket
        Bound to the door's host and a port.
    tell : callable
        Called when the page answers.
    """
    port = int(listening.getsockname()[1])
    if door.certificate is None:
        _serve_plainly(door, listening, tell)
        return
    listening.close()
    with trust_page(door.shop, door.host, port) if door.shop else nullcontext():
        _serve_https(door, port, tell)


def _serve_plainly(door: Door, listening: socket.socket, tell: Callable[[], None]) -> None:
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
    tell()
    server.run()  # returns after Ctrl-C or SIGTERM, its requests answered
    server.close()


def _serve_https(door: Door, port: int, tell: Callable[[], None]) -> None:
    """Serve HTTPS with the door's certificate."""
    from granian import Granian
    from granian.constants import Interfaces, SSLProtocols
    from granian.log import LogLevels

    # Its worker is a process of its own. A forked one would inherit our threads, the hold on the
    # data folder and the handlers by which it should be stopped.
    multiprocessing.set_start_method("spawn", force=True)
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
        workers_kill_timeout=STOPPING_S,
    )
    waiting = Thread(target=_tell_when_open, args=(port, tell), name="tell", daemon=True)
    server.on_startup(waiting.start)
    server.serve()


def _tell_when_open(port: int, tell: Callable[[], None]) -> None:
    """Wait until the worker takes connections, then tell."""
    until = monotonic() + STARTING_S
    while monotonic() < until:
        with socket.socket() as trial:
            if trial.connect_ex(("127.0.0.1", port)) == 0:
                tell()
                return
        sleep(0.1)
