"""Damp pouches: hours of wetness and lumens, against rows computed apart from this code."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnwell.errors import InputError
from turnwell.steam.humid_air import RoomAir
from turnwell.steam.load.counter import DampPouch, lumen_loss_mg_h, wetness_of
from turnwell.steam.water import saturation_pressure_kpa
from turnwell.words import text_of


# Hours for 0.5 g and the paper's temperature, 90 x 230 mm, 80 % of it free; the shortest and the
# longest are those of papers at the ends of their range. Computed with iapws and psychrolib.
@pytest.mark.parametrize(
    ("room", "hours", "paper_c"),
    [
        (RoomAir(22.0, 0.30), (2.53, 1.17, 0.57), 21.03),
        (RoomAir(22.0, 0.50), (3.55, 1.64, 0.79), 21.30),
        (RoomAir(22.0, 0.70), (5.91, 2.74, 1.33), 21.58),
        (RoomAir(25.0, 0.60), (3.72, 1.74, 0.85), 24.34),
    ],
)
def test_hours_of_wetness(room: RoomAir, hours: tuple[float, float, float], paper_c: float):
    wetness = wetness_of(DampPouch(0.5), room)
    longest, typical, shortest = hours
    assert wetness.hours.value == pytest.approx(typical, rel=0.01)
    assert wetness.hours.low == pytest.approx(shortest, rel=0.01)
    # The end of it is slower: up to half as long again.
    assert wetness.hours.high == pytest.approx(1.5 * longest, rel=0.01)
    assert wetness.paper_c == pytest.approx(paper_c, abs=0.02)


# Stefan's column, 22 °C and 50 %, computed apart from this code.
@pytest.mark.parametrize(
    ("bore", "depth", "loss"),
    [
        (1.0, 10.0, 0.0700),
        (1.0, 50.0, 0.01400),
        (1.0, 100.0, 0.00700),
        (2.0, 50.0, 0.0560),
        (0.5, 50.0, 0.00350),
    ],
)
def test_a_lumen_all_but_keeps_its_water(bore: float, depth: float, loss: float):
    lost = lumen_loss_mg_h(bore, depth, RoomAir(22.0, 0.5))
    assert lost == pytest.approx(loss, rel=0.01)


def test_ten_milligrams_deep_inside_take_a_month():
    days = 10.0 / lumen_loss_mg_h(1.0, 50.0, RoomAir(22.0, 0.5)) / 24.0
    assert days == pytest.approx(30.0, abs=1.0)


@given(st.floats(0.05, 5.0), st.floats(16.0, 30.0), st.floats(0.1, 0.9))
def test_more_water_is_wet_for_longer(water: float, celsius: float, humidity: float):
    room = RoomAir(celsius, humidity)
    once, twice = (wetness_of(DampPouch(w), room).hours.value for w in (water, 2.0 * water))
    assert once is not None
    assert twice == pytest.approx(2.0 * once, rel=1e-9)


@given(st.floats(0.1, 0.85))
def test_humid_air_keeps_it_wet_for_longer(humidity: float):
    hours = [wetness_of(DampPouch(0.5), RoomAir(22.0, h)).hours.value for h in (humidity, 0.95)]
    assert hours[0] < hours[1]  # type: ignore[operator]


def test_it_never_offers_to_wait():
    advice = text_of(wetness_of(DampPouch(0.5), RoomAir(22.0, 0.5)).advice)
    assert "not accepted" in advice
    assert "never makes it acceptable" in advice


def test_what_cannot_be_is_refused():
    with pytest.raises(InputError, match="water is 0"):
        DampPouch(0.0)
    with pytest.raises(InputError, match="nothing evaporates"):
        wetness_of(DampPouch(0.5), RoomAir(22.0, 1.0))
    with pytest.raises(InputError, match="bore is 0"):
        lumen_loss_mg_h(0.0, 50.0, RoomAir(22.0, 0.5))


# Water that lies open, as much as any pouch could lose at most: correlations for pools, g/(m² h).
def carrier(room: RoomAir, evaporation_kj_kg: float) -> float:
    """Carrier's pool formula in still air, kg/s of kPa and kJ/kg; from memory."""
    driven = saturation_pressure_kpa(room.temperature_c) - room.vapour_kpa
    return driven * 0.089 / evaporation_kj_kg * 3600.0 * 1e3


def test_the_pool_formula_is_the_printed_one():
    """25 °C, 50 %, 2450 kJ/kg, computed apart from this code."""
    assert carrier(RoomAir(25.0, 0.5), 2450.0) == pytest.approx(207.3, abs=0.3)


# (25 + 19 v) A (x_s - x), kg/h: two worked examples as printed.
@pytest.mark.parametrize(
    ("speed", "area", "driven", "kg_h"),
    [(0.5, 25.0 * 20.0, 0.019826 - 0.0115, 0.03990 * 3600.0), (0.0, 1.0, 0.015, 0.375)],
)
def test_the_pool_rule_of_thumb(speed: float, area: float, driven: float, kg_h: float):
    assert (25.0 + 19.0 * speed) * area * driven == pytest.approx(kg_h, rel=3e-3)


@pytest.mark.parametrize("room", [RoomAir(22.0, 0.5), RoomAir(25.0, 0.6), RoomAir(20.0, 0.3)])
def test_paper_lets_through_less_than_open_water_loses(room: RoomAir):
    free = min(
        carrier(room, 2450.0), 1e3 * 25.0 * (RoomAir(room.temperature_c, 1.0).ratio - room.ratio)
    )
    wetness = wetness_of(DampPouch(0.5), room).hours
    assert wetness.low is not None
    assert 0.5 / wetness.low / 0.01656 < free


def test_a_lumen_is_said_to_stay_wet_for_weeks():
    said = text_of(wetness_of(DampPouch(0.5), RoomAir(22.0, 0.5)).lumen)
    assert "does not dry on a counter" in said
    assert "about 30 days" in said
