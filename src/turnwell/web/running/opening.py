"""Opens the records for a command: data folder first, then Django with its settings."""

import os
from pathlib import Path

import django
from django.core.exceptions import ImproperlyConfigured

from turnwell.errors import InputError
from turnwell.web.env import environment
from turnwell.web.running.folder import prepare_folder

__all__ = ["open_new_records", "open_records"]


def open_new_records(settings: dict[str, str] | None = None) -> Path:
    """Make the data folder if need be and set Django up; gives the folder.

    Parameters
    ----------
    settings : dict or None
        What to tell `turnwell.web.env` beyond what the environment says.

    Raises
    ------
    InputError
        If a database is named that cannot be reached.
    """
    os.environ.update(settings or {})
    said = environment()
    prepare_folder(said.home)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "turnwell.web.settings")
    if said.database_url:
        _reach_database()
    else:
        django.setup()
    return said.home


def _reach_database() -> None:
    """Set Django up on a database server, which may be away or lack its package here."""
    try:
        django.setup()
    except ImproperlyConfigured as error:
        raise InputError(
            f"TURNWELL_DATABASE_URL names a database that cannot be opened: {error}; "
            'install the package "psycopg[binary]"'
        ) from error
    from django.db import OperationalError, connection

    try:
        connection.ensure_connection()
    except OperationalError as error:
        raise InputError(
            f"the database of TURNWELL_DATABASE_URL cannot be reached: {_first_line(error)}; "
            "start it, or correct the address"
        ) from error
    connection.close()


def _first_line(error: Exception) -> str:
    return str(error).partition("\n")[0]


def open_records() -> Path:
    """Set Django up on records that are there; gives the data folder.

    Raises
    ------
    InputError
        If the data folder is not there; nothing is made.
    """
    home = environment().home
    if not home.is_dir():
        raise InputError(
            f"there is no data folder {home}; TURNWELL_HOME says where yours is, "
            "`turnwell serve` makes one"
        )
    return open_new_records()
