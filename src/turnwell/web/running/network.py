"""What this machine is called on its network, and which ports are free."""

import socket
from contextlib import closing
from ipaddress import IPv4Address, IPv6Address, ip_address

from turnwell.errors import InputError

__all__ = ["addresses_here", "bound_socket", "names_here"]

# Addresses set aside for documentation (RFC 5737, RFC 3849): a datagram socket pointed there sends
# nothing, and shows which of this machine's addresses faces the network.
OUTWARD = ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1"))
PORTS_TRIED = 20


def names_here() -> tuple[str, ...]:
    """Give the machine's host name, and the name by which the local network finds it."""
    name = socket.gethostname().split(".")[0].lower()
    if not name or name == "localhost":
        return ()
    return name, f"{name}.local"


def addresses_here() -> tuple[IPv4Address | IPv6Address, ...]:
    """Give this machine's addresses on its networks, the one facing outward first."""
    found: list[IPv4Address | IPv6Address] = []
    for family, outward in OUTWARD:
        found += _facing(family, outward)
    try:
        listed = socket.getaddrinfo(socket.gethostname(), None)
    except OSError:
        listed = []  # a machine whose own name is not known to it
    found += [ip_address(str(entry[4][0]).partition("%")[0]) for entry in listed]
    usable = [at for at in found if not (at.is_loopback or at.is_link_local or at.is_unspecified)]
    return tuple(dict.fromkeys(usable))


def _facing(family: socket.AddressFamily, outward: str) -> list[IPv4Address | IPv6Address]:
    """Give the address from which a datagram to `outward` would leave; none without a network."""
    try:
        with closing(socket.socket(family, socket.SOCK_DGRAM)) as probe:
            probe.connect((outward, 9))
            return [ip_address(str(probe.getsockname()[0]).partition("%")[0])]
    except OSError:
        return []


def bound_socket(host: str, port: int, *, or_next: bool) -> socket.socket:
    """Give a socket bound to a port: the one wanted, or where allowed the next free one.

    Raises
    ------
    InputError
        If the port is taken, or not open to this user.
    """
    last: OSError | None = None
    for candidate in range(port, min(port + (PORTS_TRIED if or_next else 1), 65536)):
        bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):  # Windows, where reuse would share the port
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            bound.bind((host, candidate))
            bound.listen(128)
        except OSError as error:
            bound.close()
            last = error
        else:
            return bound
    if isinstance(last, PermissionError):
        raise InputError(
            f"port {port} is not open to this user; give one above 1023 with --port"
        ) from last
    raise InputError(
        f"port {port} is taken by another program; give another one with --port"
    ) from last
