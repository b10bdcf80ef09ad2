"""Water at saturation, against printed verification values and two reference packages."""

import math

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from iapws.iapws97 import _PSat_T, _TSat_P

from turnwell.errors import InputError
from turnwell.steam.water import (
    atmosphere_kpa,
    evaporation_heat_kj_kg,
    saturation_pressure_kpa,
    saturation_slope_k_per_kpa,
    saturation_temperature_c,
    steam_density_kg_m3,
)


# Verification values of region 4, tables 35 and 36 of [IAPWS-IF97]: 500 K and 10 MPa read in the
# docstrings of the package iapws, the others from memory and recomputed with it.
@pytest.mark.parametrize(
    ("kelvin", "kpa"), [(300.0, 3.53658941), (500.0, 2638.89776), (600.0, 12344.3146)]
)
def test_pressure_is_that_of_the_verification_table(kelvin: float, kpa: float):
    assert saturation_pressure_kpa(kelvin - 273.15) == pytest.approx(kpa, rel=2e-9)


@pytest.mark.parametrize(
    ("mpa", "kelvin"), [(0.1, 372.755919), (1.0, 453.035632), (10.0, 584.149488)]
)
def test_temperature_is_that_of_the_verification_table(mpa: float, kelvin: float):
    assert saturation_temperature_c(1e3 * mpa) + 273.15 == pytest.approx(kelvin, abs=6e-7)


# Boiling temperature, evaporation heat and density of vapour by [IAPWS-IF97], computed with iapws
# 1.5.5; the density by CoolProp 8.0.0.
ROWS = (
    (10.0, 45.8075, 2392.075, 0.068164),
    (15.0, 53.9703, 2372.367, 0.099797),
    (20.0, 60.0586, 2357.548, 0.130751),
    (30.0, 69.0954, 2335.322, 0.191257),
    (50.0, 81.3167, 2304.737, 0.308628),
    (100.0, 99.6059, 2257.513, 0.590311),
    (101.325, 99.9743, 2256.541, 0.597623),
    (150.0, 111.3500, 2226.033, 0.862547),
    (200.0, 120.2115, 2201.557, 1.129006),
    (205.0, 120.9940, 2199.364, 1.155408),
    (286.0, 131.9029, 2168.176, 1.578400),
    (304.0, 133.9776, 2162.110, 1.671386),
    (320.0, 135.7400, 2156.922, 1.753783),
    (350.0, 138.8607, 2147.654, 1.907684),
    (400.0, 143.6125, 2133.333, 2.162668),
)


@pytest.mark.parametrize(("kpa", "celsius", "heat", "density"), ROWS)
def test_saturation_rows_hold(kpa: float, celsius: float, heat: float, density: float):
    boiling = saturation_temperature_c(kpa)
    assert boiling == pytest.approx(celsius, abs=6e-5)
    assert evaporation_heat_kj_kg(boiling) == pytest.approx(heat, abs=0.05)
    assert steam_density_kg_m3(boiling) == pytest.approx(density, rel=2e-4)


@pytest.mark.parametrize(
    ("celsius", "kpa"),
    [
        (20.0, 2.33921),
        (40.0, 7.38443),
        (100.0, 101.41798),
        (121.0, 205.03886),
        (121.1, 205.68528),
        (132.0, 286.82264),
        (134.0, 304.19888),
        (137.0, 331.85187),
        (138.0, 341.50805),
    ],
)
def test_pressures_of_common_temperatures(celsius: float, kpa: float):
    assert saturation_pressure_kpa(celsius) == pytest.approx(kpa, abs=6e-6)


def test_both_directions_follow_the_reference_package():
    celsius = np.linspace(1.0, 200.0, 60)
    kpa = saturation_pressure_kpa(celsius)
    reference = [1e3 * _PSat_T(t + 273.15) for t in celsius]
    np.testing.assert_allclose(kpa, reference, rtol=1e-12)
    back = [_TSat_P(p / 1e3) - 273.15 for p in kpa]
    np.testing.assert_allclose(saturation_temperature_c(kpa), back, atol=1e-9)


def test_the_scientific_formulation_is_within_five_millikelvin():
    """CoolProp computes IAPWS-95; the industrial formulation may differ by some millikelvin."""
    for kpa in (5.0, 20.0, 101.325, 205.0, 304.0, 400.0):
        full = PropsSI("T", "P", 1e3 * kpa, "Q", 1, "Water") - 273.15
        assert saturation_temperature_c(kpa) == pytest.approx(full, abs=5e-3)


def test_evaporation_heat_follows_the_scientific_formulation():
    for celsius in (20.0, 45.8, 70.0, 100.0, 121.0, 134.0, 150.0):
        steam, water = (PropsSI("H", "T", celsius + 273.15, "Q", q, "Water") / 1e3 for q in (1, 0))
        assert evaporation_heat_kj_kg(celsius) == pytest.approx(steam - water, abs=0.1)


@pytest.mark.parametrize(
    ("kpa", "slope"), [(10.0, 1.96), (20.0, 1.08), (101.0, 0.277), (205.0, 0.155), (304.0, 0.1125)]
)
def test_slope_turns_kilopascals_into_kelvin(kpa: float, slope: float):
    """Slopes computed with iapws by differences."""
    assert saturation_slope_k_per_kpa(kpa) == pytest.approx(slope, rel=5e-3)
    step = (saturation_temperature_c(kpa + 1e-3) - saturation_temperature_c(kpa - 1e-3)) / 2e-3
    assert saturation_slope_k_per_kpa(kpa) == pytest.approx(step, rel=1e-6)


def test_two_kelvin_too_cold_is_eighteen_kilopascals_of_air():
    """Common arithmetic of the 2 K rule: a twentieth of the chamber's gas passes it."""
    air = saturation_pressure_kpa(134.0) - saturation_pressure_kpa(132.0)
    assert air == pytest.approx(17.38, abs=0.01)
    over = saturation_pressure_kpa(136.0) - saturation_pressure_kpa(134.0)
    assert over == pytest.approx(18.22, abs=0.05)


@pytest.mark.parametrize("kpa", [100.0, 205.0, 304.0, 400.0])
def test_the_formula_of_en_285_reads_little_higher(kpa: float):
    """The closed formula of [IRVINE1984] that EN 285 prints (from memory): kelvin, megapascal."""
    theirs_c = 42.6776 - 3892.70 / (np.log(kpa / 1e3) - 9.48654) - 273.15
    assert 0.11 <= theirs_c - saturation_temperature_c(kpa) <= 0.14


@pytest.mark.parametrize(("altitude", "kpa"), [(0.0, 101.325), (500.0, 95.461), (1000.0, 89.875)])
def test_atmosphere_falls_with_height(altitude: float, kpa: float):
    """Rows that the package psychrolib tests against [ASHRAE2017]."""
    assert atmosphere_kpa(altitude) == pytest.approx(kpa, abs=1e-3)


def test_gauge_pressure_needs_the_atmosphere_of_the_place():
    """203 kPa gauge is 134.01 °C at the sea and 132.71 °C at 1000 m: computed with iapws."""
    at_sea = saturation_temperature_c(203.0 + atmosphere_kpa(0.0))
    up_high = saturation_temperature_c(203.0 + atmosphere_kpa(1000.0))
    assert at_sea == pytest.approx(134.01, abs=6e-3)
    assert up_high == pytest.approx(132.7075, abs=2e-3)


@given(st.floats(1.0, 370.0))
def test_pressure_and_temperature_undo_each_other(celsius: float):
    assert saturation_temperature_c(saturation_pressure_kpa(celsius)) == pytest.approx(
        celsius, abs=1e-7
    )


@given(st.lists(st.floats(0.7, 2000.0), min_size=2, max_size=30, unique=True))
def test_boiling_temperature_rises_with_pressure(pressures: list[float]):
    ordered = np.array(sorted(pressures))
    rise = np.diff(saturation_temperature_c(ordered))
    assert np.all(rise[np.diff(ordered) > 1e-6] > 0.0)


def test_noise_below_the_triple_point_is_not_a_number_in_an_array():
    values = saturation_temperature_c(np.array([-0.4, 0.0, math.nan, 101.325]))
    assert np.isnan(values[:3]).all()
    assert values[3] == pytest.approx(99.9743, abs=6e-5)


@pytest.mark.parametrize("kpa", [0.1, -5.0, 30_000.0])
def test_one_pressure_out_of_range_is_refused(kpa: float):
    with pytest.raises(InputError, match="pressure is"):
        saturation_temperature_c(kpa)


def test_one_temperature_out_of_range_is_refused():
    with pytest.raises(InputError, match="temperature is -5 °C"):
        saturation_pressure_kpa(-5.0)
    with pytest.raises(InputError, match="altitude is 9000 m"):
        atmosphere_kpa(9000.0)
