"""What the records of a job may name: keys of the catalogue, refused when unknown."""

from collections.abc import Iterable

from turnwell.catalogue import load
from turnwell.errors import InputError

__all__ = ["check_cause", "check_complaints", "check_finding"]


def check_complaints(keys: Iterable[str]) -> list[str]:
    """Give complaints once each, in the order named.

    Raises
    ------
    InputError
        If one is not in the catalogue.
    """
    named = list(dict.fromkeys(keys))
    known = load().complaints
    for key in named:
        if key not in known:
            raise InputError(f"{key!r} is no complaint of the catalogue; choose one of the list")
    return named


def check_finding(key: str) -> str:
    """Give the key of a finding that the catalogue knows."""
    if key not in load().findings:
        raise InputError(f"{key!r} is no finding of the catalogue; choose one of the list")
    return key


def check_cause(key: str) -> str:
    """Give the key of a cause that the catalogue knows."""
    if key not in load().causes:
        raise InputError(f"{key!r} is no cause of the catalogue; choose one of the list")
    return key
