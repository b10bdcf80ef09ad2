"""What the columns of a record are, as a person confirms it, in the steam core's own terms."""

from collections.abc import Mapping
from typing import Any

from turnwell.errors import InputError
from turnwell.steam.reading.headings import said_by
from turnwell.steam.reading.layout import PRESSURE_UNITS, TIME_UNITS, Layout

__all__ = ["NOT_USED", "PRESSURE_UNITS", "ROLES", "TIME_UNITS", "layout_record", "preselected"]

NOT_USED = "not used"
ROLES = ("time", "date", "temperature", "second temperature", "pressure", "stage", NOT_USED)


def layout_record(
    roles: Mapping[int, str], units: Mapping[str, str | None], signature: str
) -> dict[str, Any]:
    """Give a layout as JSON values that the core reads back.

    Parameters
    ----------
    roles : mapping of int to str
        What each column is, of `ROLES`, by its number from 1.
    units : mapping of str to str or None
        The layout's further fields: ``time_unit``, ``pressure_zero`` and so on.
    signature : str
        Of the shape of the file it was confirmed on; files of another shape are asked about anew.

    Raises
    ------
    InputError
        If two columns are called the same, time or temperature is missing, or the pressure has no
        unit or zero.
    """
    columns: dict[str, int] = {}
    for number, role in sorted(roles.items()):
        if role == NOT_USED:
            continue
        if role in columns:
            raise InputError(
                f"columns {columns[role]} and {number} are both called {role}; choose one of them"
            )
        columns[role] = number
    for role in ("time", "temperature"):
        if role not in columns:
            raise InputError(f"no column is called {role}; a record cannot be read without one")
    said = {name: value or None for name, value in units.items()}
    if "pressure" in columns and not (said.get("pressure_unit") and said.get("pressure_zero")):
        raise InputError("say the unit of the pressure, and whether it is absolute or gauge")
    places = {f"{role.replace(' ', '_')}_column": number for role, number in columns.items()}
    return Layout(**places, **said, signature=signature).as_record()  # type: ignore[arg-type]  # names and values as the core lists them


def preselected(proposal: Mapping[str, Any]) -> dict[str, str]:
    """Give what a person confirms at first sight: what was found, and what the headings say.

    Where the pressure is open, because its numbers and its heading do not agree or several columns
    may be it, the one column whose heading calls it a pressure is offered as such, with the unit
    and the zero written there.

    Returns
    -------
    dict of str to str
        By ``role_<number>`` and by the layout's further fields; "" where nothing is known.
    """
    layout = proposal["layout"]
    first = {name: str(value or "") for name, value in layout.items() if name != "signature"}
    first |= {f"role_{one['number']}": one["role"] for one in proposal["columns"]}
    if "pressure" in {one["role"] for one in proposal["columns"]}:
        return first
    named = [
        (one["number"], said)
        for one in proposal["columns"]
        if (said := said_by(one["heading"])).role == "pressure"
    ]
    if len(named) == 1:
        number, said = named[0]
        first[f"role_{number}"] = "pressure"
        first["pressure_unit"] = first.get("pressure_unit") or said.unit
        first["pressure_zero"] = first.get("pressure_zero") or said.zero
    return first
