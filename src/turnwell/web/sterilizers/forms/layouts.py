"""The form that confirms what the columns of a record are."""

from collections.abc import Mapping
from typing import Any

from django import forms

from turnwell.web.shared.forms import HouseForm
from turnwell.web.sterilizers.analysis.layouts import (
    NOT_USED,
    PRESSURE_UNITS,
    ROLES,
    TIME_UNITS,
    layout_record,
    preselected,
)

__all__ = ["LayoutForm"]

NOT_SAID = ("", "Not said")
UNITS: dict[str, tuple[str, list[tuple[str, str]]]] = {
    "time_unit": (
        "Unit of the time",
        [(unit, unit) for unit in TIME_UNITS],
    ),
    "temperature_unit": ("Unit of the temperature", [("C", "°C"), ("F", "°F")]),
    "pressure_unit": ("Unit of the pressure", [(unit, unit) for unit in PRESSURE_UNITS]),
    "pressure_zero": (
        "The pressure counts from",
        [
            ("absolute", "nothing (absolute): about 100 kPa at rest"),
            ("gauge", "the air of the place (gauge): about 0 at rest"),
        ],
    ),
    "decimal_mark": ("Decimals are set off by", [(".", "a point: 134.2"), (",", "a comma: 134,2")]),
    "date_order": (
        "Dates are written",
        [("ymd", "year, month, day"), ("dmy", "day, month, year"), ("mdy", "month, day, year")],
    ),
}
PRESSURE_ONLY = frozenset({"pressure_unit", "pressure_zero"})


class LayoutForm(HouseForm):
    """What each column is, and the units; the first values are what the core proposes."""

    def __init__(self, *args: Any, proposal: Mapping[str, Any], **options: Any) -> None:
        first = preselected(proposal)
        super().__init__(*args, initial=first, **options)
        self.signature = str(proposal["layout"].get("signature", ""))
        for one in proposal["columns"]:
            self.fields[f"role_{one['number']}"] = forms.ChoiceField(
                label=f"Column {one['number']}",
                choices=[(role, role if role != NOT_USED else "nothing used") for role in ROLES],
            )
        for name, (label, choices) in UNITS.items():
            known = {key for key, _ in choices}
            self.fields[name] = forms.ChoiceField(
                label=label, choices=[NOT_SAID, *choices], required=False
            )
            if name in PRESSURE_ONLY:
                self.fields[name].help_text = "Needed where a column is the pressure."
            if first.get(name) not in known:
                self.initial[name] = ""

    @property
    def roles(self) -> list[forms.BoundField]:
        """One select a column."""
        return [self[name] for name in self.fields if name.startswith("role_")]

    @property
    def units(self) -> list[forms.BoundField]:
        """The selects beside those."""
        return [self[name] for name in self.fields if not name.startswith("role_")]

    def record(self) -> dict[str, Any]:
        """Give the layout that was confirmed.

        Raises
        ------
        InputError
            If it makes no sense.
        """
        roles = {
            int(name.removeprefix("role_")): role
            for name, role in self.cleaned_data.items()
            if name.startswith("role_")
        }
        units = {name: self.cleaned_data[name] for name in UNITS}
        return layout_record(roles, units, self.signature)
