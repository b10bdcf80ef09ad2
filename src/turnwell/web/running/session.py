"""One run of the page from start to stop: prepare, let the first person in, print, serve."""

import signal
import sys
from collections.abc import Callable
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import FrameType

from turnwell.web.running.doors import Door
from turnwell.web.running.folder import hold
from turnwell.web.running.network import bound_socket
from turnwell.web.running.opening import open_new_records
from turnwell.web.running.serving import serve
from turnwell.web.running.trust_page import trust_port

__all__ = ["run_page"]


@dataclass(frozen=True, slots=True)
class _Greeting:
    """What the terminal says once the page is open."""

    door: Door
    port: int
    home: Path
    token: str | None

    @property
    def lines(self) -> list[str]:
        """Give the lines to print."""
        first, *others = self.door.urls(self.port)
        said = ["", f"Turnwell is open at {first}"]
        said += [f"               also {url}" for url in others]
        if self.token:
            said += [
                "",
                "Sign in as the owner with this link; it works once, within the hour:",
                f"  {first}/sign-in/{self.token}/",
            ]
        said += self._about_tablets()
        return [*said, "", f"Records are in {self.home}. Ctrl-C stops.", ""]

    def _about_tablets(self) -> list[str]:
        """Say how tablets come to trust the page, where the certificates are the shop's own."""
        shop = self.door.shop
        if shop is None:
            return []
        hosts = [
            url.removeprefix("https://").rpartition(":")[0] for url in self.door.urls(self.port)
        ]
        said = ["", "Each tablet, once: open this there and follow the steps,"]
        said += [f"  http://{host}:{trust_port(self.port)}" for host in hosts[:2]]
        said += ["and compare the fingerprint it shows with this one:", f"  {shop.fingerprint}"]
        if shop.is_new_authority:
            said.append("The certificate authority is new: every tablet needs it (again).")
        if shop.left_out:
            said.append(
                f"Not in the certificate, as the authority may not speak for it: "
                f"{', '.join(shop.left_out)}."
            )
        return said


def run_page(
    door: Door,
    *,
    wants_link: bool = False,
    fill: Callable[[datetime], None] | None = None,
    say: Callable[[str], None] = print,
) -> None:
    """Serve the page until it is stopped by Ctrl-C or SIGTERM, which may come at any time.

    Parameters
    ----------
    door : Door
        How the page is reached.
    wants_link : bool
        True prints a one-time link even when the owner has a password.
    fill : callable or None
        Called with the time on a prepared database, before the page opens.
    say : callable
        Takes each line for the terminal.
    """
    signal.signal(signal.SIGTERM, _stop)
    home = open_new_records(door.settings)
    now = datetime.now(UTC)
    with (
        suppress(KeyboardInterrupt),
        hold(home),
        closing(bound_socket(door.host, door.port, or_next=not door.is_port_chosen)) as listening,
    ):
        port = int(listening.getsockname()[1])
        _prepare(now, say)
        token = _link(wants_link=wants_link)
        if fill is not None:
            fill(now)

        def tell() -> None:
            for line in _Greeting(door, port, home, token).lines:
                say(line)

        serve(door, listening, tell)


def _stop(_signal: int, _frame: FrameType | None) -> None:
    """End the process as Ctrl-C would, so that what is open is closed."""
    sys.exit(0)


def _prepare(now: datetime, say: Callable[[str], None]) -> None:
    """Prepare the data folder and tell what was done to the records."""
    from turnwell.web.running.preparing import prepare

    prepared = prepare(now)
    if prepared.backup is not None:
        say(f"The records were brought to this version; before that: {prepared.backup}")


def _link(*, wants_link: bool) -> str | None:
    """Give the token of a one-time link: for an owner without a password, or when asked for."""
    from django.db import connection

    from turnwell.web.accounts.actions import create_owner_if_none, make_sign_in_link

    owner = create_owner_if_none()
    token = make_sign_in_link(owner) if wants_link or not owner.has_usable_password() else None
    connection.close()
    return token
