"""Form fields for measured quantities: typed in the shop's unit, kept in the cores' unit.

A field shows the number beside the unit it is meant in. When the number looks like one of another
unit (35 where the unit is bar), the field asks: the unit can be changed, or the value confirmed.

The plausible ranges are common practice: drive air reaches a handpiece at 100 to 500 kPa.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, cast

from django import forms

from turnwell import units
from turnwell.errors import InputError
from turnwell.web.shared.numbers import read_number, shown_number

__all__ = [
    "LengthField",
    "NumberField",
    "PressureField",
    "QuantityField",
    "TemperatureField",
    "Unit",
    "pressure_unit",
]


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit a quantity may be typed in.

    Parameters
    ----------
    key : str
        As stored in the shop's settings.
    name : str
        As written beside a number.
    to_kept, from_kept : callable
        To the unit the value is kept in, and back.
    """

    key: str
    name: str
    to_kept: Callable[[float], float]
    from_kept: Callable[[float], float]

    def says(self, kept: float) -> str:
        """Give a kept value in this unit, to three figures or more, with the unit's name."""
        value = self.from_kept(kept)
        return f"{value:,.0f} {self.name}" if abs(value) >= 100 else f"{value:,.3g} {self.name}"


def _same(value: float) -> float:
    return value


PRESSURES = (
    Unit("kPa", "kPa", _same, _same),
    Unit("psi", "psi", units.psi_to_kpa, units.kpa_to_psi),
    Unit("bar", "bar", units.bar_to_kpa, units.kpa_to_bar),
)
TEMPERATURES = (
    Unit("C", "°C", _same, _same),
    Unit("F", "°F", units.fahrenheit_to_celsius, units.celsius_to_fahrenheit),
)
LENGTHS = (
    Unit("mm", "mm", _same, _same),
    Unit("in", "in", units.inch_to_mm, units.mm_to_inch),
)


def pressure_unit(key: str) -> Unit:
    """Give the pressure unit of the shop's settings."""
    return next(unit for unit in PRESSURES if unit.key == key)


class NumberField(forms.CharField):
    """A plain number within bounds; its unit stands in the label or the help text."""

    def __init__(
        self,
        *,
        low: float,
        high: float,
        unit: str = "",
        is_grouped: bool = False,
        is_whole: bool = False,
        **options: Any,
    ) -> None:
        self.low, self.high, self.unit = low, high, unit
        self.is_grouped, self.is_whole = is_grouped, is_whole
        super().__init__(max_length=40, **options)
        self.widget.attrs.setdefault("inputmode", "numeric" if is_whole else "decimal")
        self.widget.attrs.setdefault("autocomplete", "off")

    def prepare_value(self, value: Any) -> Any:
        """Write a stored number as it is typed."""
        return shown_number(value) if isinstance(value, int | float) else value

    def clean(self, value: Any) -> Any:
        """Give the number, or None when empty."""
        text = super().clean(value)
        if not text:
            return None
        try:
            number = read_number(text, is_grouped=self.is_grouped)
        except InputError as error:
            raise forms.ValidationError(str(error)) from error
        unit = f" {self.unit}" if self.unit else ""
        if not self.low <= number <= self.high:
            raise forms.ValidationError(
                f"{number:,g}{unit} is out of range;"
                f" it must be between {self.low:,g} and {self.high:,g}{unit}"
            )
        if self.is_whole and number != int(number):
            raise forms.ValidationError(f"{number:g} is not a whole number")
        return int(number) if self.is_whole else number


class QuantityWidget(forms.MultiWidget):
    """A number, its unit, and a tick that confirms an unusual value, shown once it is asked for."""

    template_name = "shared/quantity.html"
    use_fieldset = False

    def __init__(self, choices: Sequence[Unit]) -> None:
        self.choices = choices
        self.unit = choices[0]
        self.asks = False
        self.figures: int | None = None
        super().__init__(
            {
                "": forms.TextInput(
                    attrs={"inputmode": "decimal", "autocomplete": "off", "maxlength": 40}
                ),
                "unit": forms.Select(
                    choices=[(unit.key, unit.name) for unit in choices],
                    attrs={"aria-label": "Unit"},
                ),
                "sure": forms.CheckboxInput(),
            }
        )

    def id_for_label(self, id_: str | None) -> str:
        """Point the label at the number."""
        return f"{id_}_0" if id_ else ""

    def decompress(self, value: Any) -> list[Any]:
        """Split a kept value into what is typed."""
        if value is None or value == "":
            return ["", self.unit.key, False]
        shown = self.unit.from_kept(float(value))
        if self.figures is not None:
            shown = float(f"{shown:.{self.figures}g}")
        return [shown_number(shown), self.unit.key, False]

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        """Say whether the tick is to be shown."""
        context = super().get_context(name, value, attrs)
        context["widget"]["asks"] = self.asks
        return context


class QuantityField(forms.Field):
    """A quantity with a choice of units; `clean` gives a float in the unit it is kept in.

    Parameters
    ----------
    low, high : float
        What can be entered at all, in the kept unit.
    usual_low, usual_high : float or None
        What needs no question, in the kept unit; None for no question.
    """

    units: ClassVar[tuple[Unit, ...]]
    shop_setting: ClassVar[str]

    def __init__(
        self,
        *,
        low: float,
        high: float,
        usual_low: float | None = None,
        usual_high: float | None = None,
        **options: Any,
    ) -> None:
        self.low, self.high = low, high
        self.usual_low = low if usual_low is None else usual_low
        self.usual_high = high if usual_high is None else usual_high
        super().__init__(widget=QuantityWidget(self.units), **options)

    def use_unit(self, key: str) -> None:
        """Show and expect the unit with this key."""
        cast("QuantityWidget", self.widget).unit = self._unit(key)

    def says(self, kept: float) -> str:
        """Give a kept value in the unit the field shows, with the unit's name."""
        return cast("QuantityWidget", self.widget).unit.says(kept)

    def clean(self, value: Any) -> float | None:
        """Give the quantity in its kept unit, or None when empty."""
        text, key, is_sure = value or ("", "", False)
        if not (text or "").strip():
            if self.required:
                raise forms.ValidationError(self.error_messages["required"], code="required")
            return None
        unit = self._unit(key)
        try:
            number = read_number(text)
        except InputError as error:
            raise forms.ValidationError(str(error)) from error
        kept = unit.to_kept(number)
        if self.usual_low <= kept <= self.usual_high:
            return kept
        return self._unusual(number, unit, bool(is_sure))

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare as typed: an untouched number in an untouched unit has not changed."""
        before = cast("QuantityWidget", self.widget).decompress(initial)
        typed: list[Any] = list(data or ["", "", False])
        return typed[:2] != before[:2]

    def _unusual(self, number: float, unit: Unit, is_sure: bool) -> float:
        kept = unit.to_kept(number)
        said = f"{number:,g} {unit.name}"
        if unit is not self.units[0]:
            said += f" is {self.units[0].says(kept)}"
        meant = self._meant(number, unit)
        hint = f"; did you mean {number:,g} {meant.name}?" if meant else ""
        if not self.low <= kept <= self.high:
            bounds = f"from {unit.says(self.low)} to {unit.says(self.high)}"
            raise forms.ValidationError(f"{said}, out of range ({bounds}){hint}")
        cast("QuantityWidget", self.widget).asks = True
        if is_sure:
            return kept
        raise forms.ValidationError(
            f"{said}{hint or ', which is unusual.'} Change it, or tick that it is right."
        )

    def _meant(self, number: float, unit: Unit) -> Unit | None:
        """Give the unit in which the number would be usual, if there is just such a one."""
        for other in self.units:
            usual = self.usual_low <= other.to_kept(number) <= self.usual_high
            if other is not unit and usual:
                return other
        return None

    def _unit(self, key: str) -> Unit:
        known: Mapping[str, Unit] = {unit.key: unit for unit in self.units}
        if not key:
            return cast("QuantityWidget", self.widget).unit
        if key not in known:
            raise forms.ValidationError(
                f"“{key[:10]}” is not a unit of this field; choose one of the list"
            )
        return known[key]


class PressureField(QuantityField):
    """A pressure above the surrounding air, kept in kPa; asks outside 100 to 500 kPa.

    A stored pressure is shown to the four figures that a bench gauge can be read to at most (common
    practice), so that one typed in psi is no row of digits in kPa.
    """

    units = PRESSURES
    shop_setting = "pressure_unit"

    def __init__(
        self,
        *,
        low: float = 0.0,
        high: float = 1000.0,
        usual_low: float | None = 100.0,
        usual_high: float | None = 500.0,
        **options: Any,
    ) -> None:
        super().__init__(low=low, high=high, usual_low=usual_low, usual_high=usual_high, **options)
        cast("QuantityWidget", self.widget).figures = 4


class TemperatureField(QuantityField):
    """A temperature, kept in °C."""

    units = TEMPERATURES
    shop_setting = "temperature_unit"

    def __init__(self, *, low: float = -40.0, high: float = 300.0, **options: Any) -> None:
        super().__init__(low=low, high=high, **options)


class LengthField(QuantityField):
    """A length, kept in mm."""

    units = LENGTHS
    shop_setting = "length_unit"

    def __init__(self, *, low: float = 0.0, high: float = 1000.0, **options: Any) -> None:
        super().__init__(low=low, high=high, **options)
