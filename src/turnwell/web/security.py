"""Settings that follow from the way the page is reached.

On the bench the server listens on this machine only and speaks plain http, so cookies cannot ask
for HTTPS. On the shop's network and where it is reachable everything is HTTPS. Telling browsers to
insist on HTTPS for long (HSTS) is for a public name alone: on the shop's network the certificate
is the shop's own, and a new one would lock every tablet out.
"""

from dataclasses import dataclass
from ipaddress import ip_address
from urllib.parse import urlsplit

from turnwell.errors import InputError
from turnwell.web.env import Environment, Way

__all__ = ["Security", "security"]

THIRTY_DAYS_S = 30 * 24 * 3600
HSTS_OFF, REDIRECT_OFF, SESSION_OFF, CSRF_OFF = (
    "security.W004",
    "security.W008",
    "security.W012",
    "security.W016",
)
# Include other names of the domain; be on the browsers' built-in list: not ours to say.
HSTS_SUBDOMAINS, HSTS_PRELOAD = "security.W005", "security.W021"


@dataclass(frozen=True, slots=True)
class Security:
    """What the settings take over.

    Parameters
    ----------
    is_https : bool
        Cookies ask for HTTPS and plain http is redirected to it.
    hsts_s : int
        Seconds for which browsers insist on HTTPS; 0 not at all.
    hosts : tuple of str
        Names the server answers to.
    trusted_origins : tuple of str
        Origins a form may come from although the server sees another: the public address, where a
        proxy in front changes it.
    silenced_checks : tuple of str
        Deployment checks that do not hold for this way, each for the reason above.
    """

    is_https: bool
    hsts_s: int
    hosts: tuple[str, ...]
    trusted_origins: tuple[str, ...]
    silenced_checks: tuple[str, ...]


def security(environment: Environment) -> Security:
    """Give the settings for an environment.

    Raises
    ------
    InputError
        If the public address is not one.
    """
    origin, host = _address(environment)
    is_public_name = environment.way is Way.REACHABLE and _is_name(host)
    if not environment.is_https:
        silenced: tuple[str, ...] = (HSTS_OFF, REDIRECT_OFF, SESSION_OFF, CSRF_OFF)
    else:
        silenced = (HSTS_SUBDOMAINS, HSTS_PRELOAD) if is_public_name else (HSTS_OFF,)
    return Security(
        is_https=environment.is_https,
        hsts_s=THIRTY_DAYS_S if is_public_name else 0,
        hosts=tuple(
            dict.fromkeys(
                ("localhost", "127.0.0.1", "[::1]", *environment.hosts, *([host] if host else []))
            )
        ),
        trusted_origins=(origin,) if origin else (),
        silenced_checks=silenced,
    )


def _address(environment: Environment) -> tuple[str, str]:
    """Give origin and host of the public address; both empty when there is none."""
    if not environment.address:
        return "", ""
    try:
        parts = urlsplit(environment.address)
        host, _port = parts.hostname or "", parts.port
    except ValueError as error:
        raise InputError(_wrong(environment.address)) from error
    if parts.scheme not in {"http", "https"} or not host or "*" in host:
        raise InputError(_wrong(environment.address))
    if environment.is_https and parts.scheme != "https":
        raise InputError(
            f"TURNWELL_ADDRESS is {environment.address!r}, must start with https:// unless the"
            " way to run is bench"
        )
    shown = f"[{host}]" if ":" in host else host
    return f"{parts.scheme}://{parts.netloc.rpartition('@')[2]}", shown


def _wrong(address: str) -> str:
    return f"TURNWELL_ADDRESS is {address!r}, must be like https://bench.example"


def _is_name(host: str) -> bool:
    """Tell a name from a bare address; browsers insist on HTTPS for names only."""
    try:
        ip_address(host.strip("[]"))
    except ValueError:
        return bool(host)
    return False
