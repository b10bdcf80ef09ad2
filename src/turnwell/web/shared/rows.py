"""Rows that are written by actions: their fields checked, and two tabs kept from one another.

A form carries the row's values as they were when the page was made. The action compares them with
the row as it is now; where they differ somebody else saved in between, and nothing is written.
"""

import json
from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.db import models

from turnwell.errors import ChangedMeanwhileError, InputError

__all__ = ["refuse_bad_fields", "refuse_if_changed", "snapshot_of"]

LONGEST_SNAPSHOT = 100_000


def refuse_bad_fields(row: models.Model) -> None:
    """Refuse a row with a text too long, a choice that is none, a NUL or the like.

    Raises
    ------
    InputError
        With the first field's name and what is wrong with it.
    """
    for field in row._meta.concrete_fields:
        value = getattr(row, field.attname)
        if isinstance(value, str) and "\x00" in value:
            raise InputError(
                f"{field.verbose_name} holds a character that cannot be stored (NUL); type it again"
            )
    try:
        row.clean_fields()
    except ValidationError as error:
        name, messages = next(iter(error.message_dict.items()))
        what = _label(row, name)
        raise InputError(f"{what}: {messages[0]}") from error


def snapshot_of(row: models.Model, fields: Sequence[str]) -> str:
    """Give the row's values as one line of text for a hidden field.

    Parameters
    ----------
    row : Model
        A saved row.
    fields : sequence of str
        Names of the fields that the form edits.
    """
    return json.dumps(_values(row, fields), sort_keys=True)


def refuse_if_changed(row: models.Model, fields: Sequence[str], seen: str | None) -> None:
    """Refuse when the row no longer holds what the page showed.

    Parameters
    ----------
    row : Model
        The row as read inside the action's transaction.
    fields : sequence of str
        As for `snapshot_of`.
    seen : str or None
        What `snapshot_of` gave; None where no page stands behind the action.

    Raises
    ------
    ChangedMeanwhileError
        If a field differs; the sentence names the fields.
    InputError
        If `seen` is not a snapshot.
    """
    if seen is None:
        return
    shown = _read(seen)
    now = _values(row, fields)
    changed = [_said(row, name) for name in fields if shown.get(name) != now[name]]
    if changed:
        raise ChangedMeanwhileError(
            f"{row} was changed elsewhere while this page was open; now {', '.join(changed)}. "
            "Nothing was saved, what you typed is still here: put in what should hold, save again"
        )


def _said(row: models.Model, name: str) -> str:
    """Give a field and what it holds now, in a few words."""
    label = _label(row, name)
    display = getattr(row, f"get_{name}_display", None)
    value = str(display() if display else getattr(row, name))
    return f"{label} is “{value[:60]}”" if value not in {"", "None"} else f"{label} is empty"


def _label(row: models.Model, name: str) -> str:
    """Give what a field is called; its own name where it has no other."""
    return str(getattr(row._meta.get_field(name), "verbose_name", name))


def _values(row: models.Model, fields: Sequence[str]) -> dict[str, str]:
    values: dict[str, str] = {}
    for name in fields:
        field = row._meta.get_field(name)
        if not isinstance(field, models.Field):
            raise TypeError(f"{name} of {row._meta.label} is not a field of the row itself")
        values[name] = str(field.value_to_string(row))
    return values


def _read(seen: str) -> dict[str, str]:
    try:
        shown = json.loads(seen) if len(seen) <= LONGEST_SNAPSHOT else None
    except ValueError:
        shown = None
    if not isinstance(shown, dict):
        raise InputError("this page is out of date; open it again and type the change once more")
    return shown
