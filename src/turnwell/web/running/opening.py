"""Opens the records for a command: data folder first, then Django with its settings."""

import os
from pathlib import Path

import django

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
    """
    os.environ.update(settings or {})
    home = environment().home
    prepare_folder(home)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "turnwell.web.settings")
    django.setup()
    return home


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
