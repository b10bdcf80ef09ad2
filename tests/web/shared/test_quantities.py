"""Numbers and quantities as they are typed, refused and asked about."""

import pytest
from django import forms
from hypothesis import given
from hypothesis import strategies as st

from turnwell.errors import InputError
from turnwell.web.shared.forms import HouseForm, PastDateField
from turnwell.web.shared.numbers import read_number, shown_number
from turnwell.web.shared.quantities import (
    LengthField,
    NumberField,
    PressureField,
    TemperatureField,
)
from turnwell.web.shop.models import Shop


class Bench(HouseForm):
    pressure = PressureField()
    head = TemperatureField(required=False)
    run_out = LengthField(required=False, high=2.0)
    speed = NumberField(low=0, high=600_000, unit="rpm", is_grouped=True, required=False)
    blades = NumberField(low=1, high=40, is_whole=True, required=False)
    note = forms.CharField(required=False)
    seen_on = PastDateField(required=False)


def _form(shop: Shop | None = None, **typed: str) -> Bench:
    return Bench({"pressure": "240", **typed}, shop=shop or Shop())


def test_psi_is_kept_in_kilopascal() -> None:
    # 1 psi = 6.894757 kPa: NIST SP 811 (2008), table B.8.
    form = _form(Shop(pressure_unit="psi"), pressure="35")
    assert form.is_valid(), form.errors
    assert form.cleaned_data["pressure"] == pytest.approx(35 * 6.894757, rel=1e-6)


def test_the_unit_beside_the_number_wins_over_the_shops() -> None:
    form = _form(Shop(pressure_unit="psi"), pressure="2.4", pressure_unit="bar")
    assert form.is_valid(), form.errors
    assert form.cleaned_data["pressure"] == pytest.approx(240)


@pytest.mark.parametrize(
    ("unit", "typed", "says"),
    [
        ("bar", "35", "35 bar is 3,500 kPa, out of range (from 0 bar to 10 bar);"),
        ("bar", "35", "did you mean 35 psi?"),
        ("psi", "2.4", "did you mean 2.4 bar?"),
        ("kPa", "35", "did you mean 35 psi?"),
        ("psi", "240", "did you mean 240 kPa?"),
    ],
)
def test_a_number_of_another_unit_is_asked_about(unit: str, typed: str, says: str) -> None:
    form = _form(Shop(pressure_unit=unit), pressure=typed)
    assert not form.is_valid()
    assert says in form.errors["pressure"][0]
    assert f'value="{typed}"' in form.as_p()


def test_an_unusual_value_passes_once_it_is_confirmed() -> None:
    first = _form(Shop(pressure_unit="kPa"), pressure="60")
    assert not first.is_valid()
    assert "It is right as typed" in str(first["pressure"])
    again = _form(Shop(pressure_unit="kPa"), pressure="60", pressure_sure="on")
    assert again.is_valid(), again.errors
    assert again.cleaned_data["pressure"] == 60


def test_what_is_out_of_range_passes_never() -> None:
    form = _form(Shop(pressure_unit="bar"), pressure="35", pressure_sure="on")
    assert not form.is_valid()


def test_a_usual_value_asks_nothing() -> None:
    form = _form()
    assert form.is_valid()
    assert "It is right as typed" not in str(form["pressure"])


def test_a_kept_value_is_shown_in_the_shops_unit() -> None:
    form = Bench(initial={"pressure": 35 * 6.894757293168361}, shop=Shop(pressure_unit="psi"))
    assert 'value="35"' in str(form["pressure"])


@pytest.mark.parametrize(
    "typed", ["nan", "NaN", "inf", "-Infinity", "1e400", "1e3", "ten", "3 5 0 x", "--3", "9" * 39]
)
@pytest.mark.parametrize("field", ["pressure", "speed", "blades", "head", "run_out"])
def test_what_is_no_number_is_refused_in_one_sentence(field: str, typed: str) -> None:
    form = _form(**{field: typed})
    assert not form.is_valid()
    assert len(form.errors[field]) == 1
    assert typed[:10] in form.errors[field][0]


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("speed", "-1", "between 0 and 600,000 rpm"),
        ("blades", "2.5", "not a whole number"),
        ("run_out", "-0.01", "out of range"),
        ("pressure", "-240", "out of range"),
        ("pressure", "", "Fill this in"),
        ("note", "a\x00b", "NUL"),
        ("seen_on", "2999-01-01", "is in the future"),
        ("seen_on", "0026-01-01", "check the year"),
        ("seen_on", "31.5.2026", "write it as 2026-05-31"),
        ("pressure_unit", "furlong", "not a unit"),
    ],
)
def test_a_wrong_value_says_what_to_do(field: str, typed: str, says: str) -> None:
    form = _form(**{field: typed})
    assert not form.is_valid()
    assert says in str(form.errors)


def test_speed_is_read_with_its_thousands() -> None:
    form = _form(speed="400,000")
    assert form.is_valid(), form.errors
    assert form.cleaned_data["speed"] == 400_000


@given(st.floats(-1e5, 1e5))
def test_a_shown_number_reads_back(value: float) -> None:
    assert read_number(shown_number(value)) == pytest.approx(value, abs=1e-6)


@given(st.text())
def test_any_text_is_a_finite_number_or_refused(typed: str) -> None:
    try:
        value = read_number(typed)
    except InputError:
        return
    assert abs(value) < 1e16
