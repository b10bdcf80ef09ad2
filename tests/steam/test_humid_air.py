"""Moist air, against a reference package and printed rows of the handbook."""

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnwell.errors import InputError
from turnwell.steam.humid_air import RoomAir
from turnwell.steam.water import saturation_pressure_kpa

psychrolib.SetUnitSystem(psychrolib.SI)


# Rows of [ASHRAE2017] chapter 1, table 2, as the package psychrolib tests against them.
@pytest.mark.parametrize(
    ("celsius", "kpa"), [(5.0, 0.8726), (25.0, 3.1697), (50.0, 12.3513), (100.0, 101.418)]
)
def test_saturation_pressure_of_the_handbook(celsius: float, kpa: float):
    assert saturation_pressure_kpa(celsius) == pytest.approx(kpa, rel=3e-4)


@pytest.mark.parametrize(
    ("celsius", "ratio", "real_gas"), [(25.0, 0.020173, 0.005), (50.0, 0.086863, 0.01)]
)
def test_saturated_air_of_the_handbook(celsius: float, ratio: float, real_gas: float):
    # The table allows for real gases (the enhancement factor), this formula does not.
    assert RoomAir(celsius, 1.0).ratio == pytest.approx(ratio, rel=real_gas)


def test_first_example_of_the_handbook():
    """[ASHRAE2017] chapter 1, example 1: 40 °C dry, 20 °C wet bulb."""
    room = RoomAir.from_wet_bulb(40.0, 20.0)
    assert room.ratio == pytest.approx(0.0065, abs=1e-4)
    assert room.humidity == pytest.approx(0.14, abs=0.01)
    assert room.dew_point_c == pytest.approx(7.0, abs=0.5)
    assert room.enthalpy_kj_kg == pytest.approx(56.7, abs=0.5)
    assert room.volume_m3_kg == pytest.approx(0.896, abs=1e-3)


def test_rows_at_the_height_of_500_m():
    """As psychrolib tests them: W of 3169.7 Pa, W(30, wet bulb 25), v(30, 0.02) at 95461 Pa."""
    wet = RoomAir.from_wet_bulb(30.0, 25.0, 95.461)
    assert wet.ratio == pytest.approx(0.0192281, abs=5e-5)
    moist = RoomAir(30.0, 0.02 * 95.461 / (0.621945 + 0.02) / saturation_pressure_kpa(30.0), 95.461)
    assert moist.volume_m3_kg == pytest.approx(0.940855, rel=1e-4)
    humidity = 3.1697 / saturation_pressure_kpa(25.0)
    assert RoomAir(25.0, min(humidity, 1.0), 95.461).ratio == pytest.approx(0.02136040, rel=3e-4)


@pytest.mark.parametrize(
    ("celsius", "humidity", "wet_bulb", "dew_point", "ratio"),
    [(22.0, 0.5, 15.425, 11.110, 0.008224), (25.0, 0.6, 19.471, 16.701, 0.011895)],
)
def test_rooms_computed_with_the_reference_package(
    celsius: float, humidity: float, wet_bulb: float, dew_point: float, ratio: float
):
    room = RoomAir(celsius, humidity)
    assert room.wet_bulb_c == pytest.approx(wet_bulb, abs=0.02)
    assert room.dew_point_c == pytest.approx(dew_point, abs=0.02)
    assert room.ratio == pytest.approx(ratio, abs=4e-6)


@given(st.floats(5.0, 45.0), st.floats(0.2, 1.0), st.floats(75.0, 103.0))
def test_follows_the_reference_package(celsius: float, humidity: float, kpa: float):
    room = RoomAir(celsius, humidity, kpa)
    ratio = psychrolib.GetHumRatioFromRelHum(celsius, humidity, 1e3 * kpa)
    assert room.ratio == pytest.approx(ratio, rel=1e-3)
    assert room.enthalpy_kj_kg == pytest.approx(
        psychrolib.GetMoistAirEnthalpy(celsius, ratio) / 1e3, rel=2e-3, abs=0.05
    )
    if room.vapour_kpa > 0.7:
        wet = psychrolib.GetTWetBulbFromRelHum(celsius, humidity, 1e3 * kpa)
        assert room.wet_bulb_c == pytest.approx(wet, abs=0.03)


@given(st.floats(20.0, 40.0), st.floats(0.3, 0.99))
def test_wet_bulb_lies_between_dew_point_and_air(celsius: float, humidity: float):
    room = RoomAir(celsius, humidity)
    assert room.dew_point_c <= room.wet_bulb_c + 1e-6 <= celsius + 2e-6


def test_what_no_room_has_is_refused():
    with pytest.raises(InputError, match="relative humidity is 50"):
        RoomAir(22.0, 50.0)
    with pytest.raises(InputError, match="wet bulb shows 25"):
        RoomAir.from_wet_bulb(20.0, 25.0)
    with pytest.raises(InputError, match="dew point is below 0"):
        _ = RoomAir(5.0, 0.1).dew_point_c
