"""Reads what the environment sets: where the data folder lies, which database, which way to run."""

import os
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from urllib.parse import unquote, urlsplit

from turnwell.errors import InputError

__all__ = ["Environment", "Way", "environment", "secret_key"]


class Way(StrEnum):
    """How the page is reached; one setting changes all that hangs on it."""

    BENCH = "bench"
    SHOP_NETWORK = "shop-network"
    REACHABLE = "reachable"


@dataclass(frozen=True, slots=True)
class Environment:
    """What the environment says.

    Parameters
    ----------
    home : Path
        Data folder (``TURNWELL_HOME``): database, evidence, secret, certificates.
    way : Way
        ``TURNWELL_WAY``.
    address : str
        Public address for QR codes (``TURNWELL_ADDRESS``), or empty.
    hosts : tuple of str
        Further host names to answer to (``TURNWELL_HOSTS``, commas between).
    database_url : str
        ``TURNWELL_DATABASE_URL``; empty for the embedded database in `home`.
    behind_proxy : bool
        ``TURNWELL_BEHIND_PROXY=1``: a proxy in front sets X-Forwarded-Proto.
    """

    home: Path
    way: Way
    address: str
    hosts: tuple[str, ...]
    database_url: str
    behind_proxy: bool

    @property
    def is_https(self) -> bool:
        """True where pages are served over HTTPS."""
        return self.way is not Way.BENCH

    def database(self) -> dict[str, object]:
        """Give Django's settings of the database.

        Raises
        ------
        InputError
            If the address is not one of PostgreSQL.
        """
        if not self.database_url:
            return {
                "ENGINE": "django.db.backends.sqlite3",
                "NAME": str(self.home / "turnwell.sqlite3"),
                "OPTIONS": {
                    "transaction_mode": "IMMEDIATE",
                    "timeout": 20,
                    "init_command": (
                        "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;"
                        " PRAGMA busy_timeout=20000; PRAGMA cache_size=-65536;"
                        " PRAGMA temp_store=MEMORY;"
                    ),
                },
            }
        parts = urlsplit(self.database_url)
        if parts.scheme not in {"postgres", "postgresql"}:
            raise InputError(
                f"TURNWELL_DATABASE_URL starts with {parts.scheme!r}, must be postgresql://..."
            )
        return {
            "ENGINE": "django.db.backends.postgresql",
            "NAME": unquote(parts.path.lstrip("/")),
            "USER": unquote(parts.username or ""),
            "PASSWORD": unquote(parts.password or ""),
            "HOST": unquote(parts.hostname or ""),
            "PORT": str(parts.port or ""),
            "CONN_MAX_AGE": 60,
        }


def environment(variables: Mapping[str, str] | None = None) -> Environment:
    """Read the environment.

    Raises
    ------
    InputError
        If ``TURNWELL_WAY`` is none of the three ways.
    """
    said = os.environ if variables is None else variables
    home = said.get("TURNWELL_HOME") or str(Path.home() / ".turnwell")
    try:
        way = Way(said.get("TURNWELL_WAY") or "bench")
    except ValueError as error:
        raise InputError(
            f"TURNWELL_WAY is {said.get('TURNWELL_WAY')!r}, must be one of "
            + ", ".join(way.value for way in Way)
        ) from error
    hosts = said.get("TURNWELL_HOSTS", "")
    return Environment(
        home=Path(home).expanduser(),
        way=way,
        address=said.get("TURNWELL_ADDRESS", "").rstrip("/"),
        hosts=tuple(host.strip() for host in hosts.split(",") if host.strip()),
        database_url=said.get("TURNWELL_DATABASE_URL", ""),
        behind_proxy=said.get("TURNWELL_BEHIND_PROXY") == "1",
    )


def secret_key(home: Path) -> str:
    """Give the secret of this data folder, made at first use and readable by its owner only."""
    path = home / "secret"
    if path.is_file():
        return path.read_text(encoding="ascii").strip()
    home.mkdir(parents=True, exist_ok=True)
    key = secrets.token_urlsafe(64)
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="ascii") as file:
        file.write(key)
    return key
