"""The three ways to reach the page: on this machine, on the shop's network, from anywhere.

A door is what a server needs to know to open one of them, and what the settings must be told.
"""

from dataclasses import dataclass
from datetime import datetime
from ipaddress import IPv4Address
from pathlib import Path
from urllib.parse import SplitResult, urlsplit

from turnwell.errors import InputError
from turnwell.web.env import Way
from turnwell.web.running.certificates import Certificates, ensure_certificates
from turnwell.web.running.network import addresses_here, names_here

__all__ = ["Door", "bench_door", "reachable_door", "shop_network_door"]

BENCH_PORT = 8350
SHOP_NETWORK_PORT = 8351
LOOPBACK = "127.0.0.1"
# HTTPS for the network must answer on every address of the machine; the bench never does.
EVERYWHERE = "0.0.0.0"  # noqa: S104  # asked for by --lan or --certificate


@dataclass(frozen=True, slots=True)
class Door:
    """One way to reach the page.

    Parameters
    ----------
    way : Way
        What the settings are told.
    host : str
        Address to listen on.
    port : int
        Port to listen on.
    is_port_chosen : bool
        True when the user named the port, so that no other will do.
    address : str
        Address that QR codes carry, or empty.
    hosts : tuple of str
        Names the page answers to, besides those of the machine itself.
    certificate, key : Path or None
        For HTTPS by this server.
    is_behind_proxy : bool
        True when HTTPS is a proxy's work on this machine.
    shop : Certificates or None
        The shop's own certificates, where tablets must install the authority.
    """

    way: Way
    host: str
    port: int
    is_port_chosen: bool
    address: str = ""
    hosts: tuple[str, ...] = ()
    certificate: Path | None = None
    key: Path | None = None
    is_behind_proxy: bool = False
    shop: Certificates | None = None

    @property
    def settings(self) -> dict[str, str]:
        """What `turnwell.web.env` is told."""
        return {
            "TURNWELL_WAY": self.way.value,
            "TURNWELL_ADDRESS": self.address,
            "TURNWELL_HOSTS": ",".join(self.hosts),
            "TURNWELL_BEHIND_PROXY": "1" if self.is_behind_proxy else "",
        }

    def urls(self, port: int) -> tuple[str, ...]:
        """Give the addresses to open, the best first."""
        if self.way is Way.REACHABLE:
            return (self.address,)
        if self.shop is None:
            return (f"http://{LOOPBACK}:{port}",)
        own = {"localhost", LOOPBACK}
        names = sorted(self.shop.names, key=_likelihood)
        outward = [f"https://{_bracketed(name)}:{port}" for name in names if name not in own]
        first = [self.address] if self.address else []
        return tuple(dict.fromkeys([*first, *outward])) or (f"https://localhost:{port}",)


def bench_door(*, port: int | None, address: str = "", hosts: tuple[str, ...] = ()) -> Door:
    """Give the door of this machine alone, over plain http on the loopback address."""
    split = _address(address, schemes=("http", "https")) if address else None
    named = (split.hostname or "",) if split else ()
    return Door(
        Way.BENCH,
        LOOPBACK,
        port or BENCH_PORT,
        port is not None,
        address=address.rstrip("/"),
        hosts=(*hosts, *named),
    )


def shop_network_door(
    home: Path, *, port: int | None, address: str, hosts: tuple[str, ...], now: datetime
) -> Door:
    """Give the door of the shop's network: HTTPS with the shop's own certificates."""
    split = _address(address, schemes=("https",)) if address else None
    asked = [split.hostname] if split and split.hostname else []
    names = tuple(dict.fromkeys([*names_here(), *hosts, *asked]))
    addresses = tuple(at for at in addresses_here() if isinstance(at, IPv4Address))
    shop = ensure_certificates(
        home / "certificates",
        names=tuple(name for name in names if not _is_address(name)),
        addresses=addresses,
        now=now,
    )
    return Door(
        Way.SHOP_NETWORK,
        EVERYWHERE,
        port or SHOP_NETWORK_PORT,
        port is not None,
        address=address.rstrip("/"),
        hosts=tuple(dict.fromkeys([*shop.names, *names])),
        certificate=shop.server,
        key=shop.server_key,
        shop=shop,
    )


def reachable_door(
    *,
    address: str,
    port: int | None,
    certificate: Path | None,
    key: Path | None,
    behind_proxy: bool,
    hosts: tuple[str, ...] = (),
) -> Door:
    """Give the door to a public address, with certificate files or behind a proxy.

    Raises
    ------
    InputError
        If no address is given, or both or neither of certificate files and proxy.
    """
    if not address:
        raise InputError("the public address is missing; give it with --address https://...")
    split = _address(address, schemes=("https",))
    for file, option in ((certificate, "--certificate"), (key, "--key")):
        if file is not None and not file.is_file():
            raise InputError(f"{option} {file} is not there; give the path of a PEM file")
    if (certificate is None) != (key is None):
        raise InputError("--certificate and --key belong together; give both")
    if behind_proxy == (certificate is not None):
        raise InputError(
            "give either --certificate and --key, or --behind-proxy, with a public address"
        )
    return Door(
        Way.REACHABLE,
        LOOPBACK if behind_proxy else EVERYWHERE,
        port or (BENCH_PORT if behind_proxy else split.port or 443),
        is_port_chosen=True,
        address=address.rstrip("/"),
        hosts=(*hosts, split.hostname or ""),
        certificate=certificate,
        key=key,
        is_behind_proxy=behind_proxy,
    )


def _address(text: str, schemes: tuple[str, ...]) -> SplitResult:
    """Read an address of the page."""
    example = f"like {schemes[-1]}://bench.example"
    try:
        split = urlsplit(text)
        has_port = split.port is None or split.port > 0
    except ValueError as error:
        raise InputError(f"the address {text!r} cannot be read; give one {example}") from error
    if split.scheme not in schemes or not split.hostname or not has_port:
        raise InputError(f"the address {text!r} is not one {example}")
    if split.path.strip("/") or split.query or split.fragment or split.username:
        raise InputError(f"the address {text!r} has more than a host and a port; leave that out")
    return split


def _is_address(name: str) -> bool:
    """Tell an IP address from a name."""
    return ":" in name or name.replace(".", "").isdigit()


def _likelihood(name: str) -> int:
    """Rank names by how surely a tablet on the network finds them, the surest first."""
    return 0 if name.endswith(".local") else 1 if _is_address(name) else 2


def _bracketed(name: str) -> str:
    """Give a host as it stands in an address."""
    return f"[{name}]" if ":" in name else name
