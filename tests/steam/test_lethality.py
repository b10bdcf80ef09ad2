"""Lethality against published examples and its own laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnwell.errors import InputError
from turnwell.steam.lethality import Lethality, lethal_rate, lethality
from turnwell.steam.tolerance import half_width


def hold(minutes: float, temperature_c: float, **options: float) -> float:
    times = np.array([0.0, minutes * 60.0])
    return lethality(times, np.full(2, temperature_c), **options).minutes


def ramp(start_c: float, stop_c: float, minutes: float, rows: int) -> float:
    times = np.linspace(0.0, minutes * 60.0, rows)
    return lethality(times, np.linspace(start_c, stop_c, rows)).minutes


# Lethal rates at Tref 121.1 °C, z 10 K: 10^((T - 121.1) / 10), four figures.
@pytest.mark.parametrize(
    ("temperature_c", "rate"),
    [
        (100, 0.007762), (105, 0.02455), (110, 0.07762), (111, 0.09772), (115, 0.2455),
        (118, 0.4898), (119, 0.6166), (120, 0.7762), (121, 0.9772), (122, 1.2303), (124, 1.950),
        (126, 3.090), (130, 7.762), (132, 12.303), (134, 19.498), (135, 24.547), (137, 38.905),
        (138, 48.978),
    ],
)  # fmt: skip
def test_rates_agree_with_the_tables(temperature_c: float, rate: float):
    assert lethal_rate(float(temperature_c)) == pytest.approx(rate, rel=3e-4)


def test_stumbos_rate_at_230_fahrenheit():
    # [STUMBO1973]: 0.077 at 110 °C with the reference 250 °F = 121.11 °C.
    assert lethal_rate(110.0, reference_c=121.11) == pytest.approx(0.077, abs=5e-4)


@pytest.mark.parametrize(
    ("minutes", "temperature_c", "reference_c", "expected"),
    [
        (15, 121.0, 121.0, 15.0),  # [FDA1976]
        (15, 111.0, 121.0, 1.5),  # [FDA1976]
        (15, 124.0, 121.0, 29.929),  # [FDA1976] gives the case; the number is 15 · 10^0.3
        (15, 111.0, 121.1, 1.4659),
        (15, 121.0, 121.1, 14.6586),
        (3, 121.1, 121.1, 3.0),
        (3, 134.0, 121.1, 58.4953),
        (4, 132.0, 121.1, 49.2108),
    ],
)
def test_holds_agree_with_published_examples(
    minutes: float, temperature_c: float, reference_c: float, expected: float
):
    assert hold(minutes, temperature_c, reference_c=reference_c) == pytest.approx(
        expected, abs=1e-3
    )


def test_ten_minutes_at_121_are_one_at_131():
    assert hold(10, 121.0) == pytest.approx(hold(1, 131.0), rel=1e-12)


def test_a_decimal_reduction_of_4_5_min_at_150_is_0_45_min_at_160():
    assert 4.5 / lethal_rate(160.0, reference_c=150.0) == pytest.approx(0.45, abs=1e-9)


def five_minute_readings(rates: list[float]) -> float:
    """Lethality of rates taken every 5 min, turned back to temperatures."""
    temperatures = 121.1 + 10.0 * np.log10(np.array(rates))
    return lethality(300.0 * np.arange(len(rates)), temperatures, floor_c=-np.inf).minutes


def test_the_trapezium_sums_of_a_canning_example():
    # A published canning example prints the sum of its rates at 5 min, 2.925, and F0 14.6 min; of
    # the heating part, that ends at 0.776, it prints 1.730 times 5 as 8.6 (exactly 8.65).
    nearly_none = 1e-12
    heating = [nearly_none, 0.2, 0.366, 0.776, 0.776]
    whole = [*heating, 0.607, 0.2, nearly_none]
    assert five_minute_readings(whole) == pytest.approx(5 * 2.925, abs=1e-6)
    assert five_minute_readings(whole) == pytest.approx(14.6, abs=0.05)
    assert five_minute_readings(heating) == pytest.approx(8.65, abs=1e-6)


def test_the_improved_general_method_as_printed_is_wrong():
    # The same example counts 71 cm² under its curve at 4 cm² a minute and prints 17.5 min. The
    # same area as a hold at 121.1 °C is 17.75 min: farther off than what rounding may leave.
    exact_min = hold(71.0 / 4.0, 121.1)
    assert exact_min == pytest.approx(17.75)
    assert abs(17.5 - exact_min) > 0.05


def test_a_run_of_nine_rows_a_minute_apart():
    curve = np.array([100.0, 110, 120, 134, 135, 135, 134, 120, 100])
    assert lethality(60.0 * np.arange(9), curve).minutes == pytest.approx(89.7290, abs=1e-3)


# F = τ · z / (ln 10 · (b - a)) · (L(b) - L(a)) of a straight ramp.
@pytest.mark.parametrize(
    ("start_c", "stop_c", "minutes", "exact"),
    [(111.1, 121.1, 10, 3.90865), (100, 134, 5, 12.4481), (134, 100, 2, 4.9792)],
)
def test_fine_steps_meet_the_analytic_ramp(
    start_c: float, stop_c: float, minutes: float, exact: float
):
    assert ramp(start_c, stop_c, minutes, 3001) == pytest.approx(exact, rel=1e-4)


def test_one_minute_steps_of_the_ramp_are_a_known_amount_too_high():
    assert ramp(111.1, 121.1, 10, 11) == pytest.approx(3.9259, abs=1e-4)


temperatures = st.lists(st.floats(100.0, 140.0), min_size=3, max_size=40)


@given(temperatures, st.integers(1, 38))
def test_parts_add_up(values: list[float], at: int):
    at = min(at, len(values) - 2)
    times, curve = 7.0 * np.arange(len(values)), np.array(values)
    whole = lethality(times, curve).minutes
    parts = (
        lethality(times[: at + 1], curve[: at + 1]).minutes
        + lethality(times[at:], curve[at:]).minutes
    )
    assert whole == pytest.approx(parts, rel=1e-12)


@given(temperatures, st.floats(0.0, 5.0), st.floats(5.0, 20.0))
def test_a_shift_of_all_temperatures_multiplies(values: list[float], shift_k: float, z_k: float):
    times, curve = 7.0 * np.arange(len(values)), np.array(values)
    first = lethality(times, curve, z_k=z_k).minutes
    second = lethality(times, curve + shift_k, z_k=z_k).minutes
    assert second == pytest.approx(first * 10.0 ** (shift_k / z_k), rel=1e-9)


@given(temperatures)
def test_at_the_reference_temperature_z_does_not_matter(values: list[float]):
    times = 7.0 * np.arange(len(values))
    held = np.full(len(values), 121.1)
    assert lethality(times, held, z_k=7.0).minutes == pytest.approx(times[-1] / 60.0)


def test_below_90_degrees_nothing_counts():
    assert hold(600, 89.9) == 0.0
    assert hold(60, 100.0) == pytest.approx(60 * 0.007762, rel=1e-3)


def test_a_gap_and_a_missing_value_count_zero_and_are_told():
    times = np.array([0.0, 60.0, 120.0, 600.0, 660.0])
    held = np.full(5, 121.1)
    gap = np.array([False, False, True, False])
    found = lethality(times, held, is_gap=gap)
    assert (found.minutes, found.left_out_s) == (pytest.approx(3.0), 480.0)
    held[1] = np.nan
    found = lethality(times, held, is_gap=gap)
    assert (found.minutes, found.left_out_s) == (pytest.approx(1.0), 600.0)


def test_the_interval_is_one_common_factor_and_lopsided():
    # 0.1 K is 2.3 % of F0, 0.5 K is 12 %: 10^0.01 and 10^0.05.
    assert Lethality(100.0, 0.0).spread(0.1)[1] == pytest.approx(102.33, abs=0.01)
    low, high = Lethality(100.0, 0.0).spread(0.5)
    assert high == pytest.approx(112.2, abs=0.01)
    assert high - 100.0 > 100.0 - low


def test_a_bound_widens_to_a_95_per_cent_interval():
    # Rectangular bound over √3, times 1.96 [JCGM100].
    assert half_width(0.5) == pytest.approx(1.959964 * 0.5 / 3**0.5)


@pytest.mark.parametrize("z_k", [0.0, -1.0, float("nan")])
def test_a_z_that_is_no_slope_is_refused(z_k: float):
    with pytest.raises(InputError, match="z"):
        hold(1, 121.0, z_k=z_k)


def test_arrays_that_do_not_fit_are_refused():
    with pytest.raises(InputError, match="same length"):
        lethality(np.arange(3.0), np.arange(2.0))


def test_what_was_not_seen_may_have_counted():
    """Three minutes at 134 °C are missing: they count zero, but the upper end has them."""
    times = np.array([0.0, 60.0, 240.0, 300.0])
    found = lethality(times, np.full(4, 134.0), is_gap=np.array([False, True, False]))
    assert found.minutes == pytest.approx(2.0 * 19.4984, rel=1e-5)
    low, high = found.spread(0.0)
    assert low == pytest.approx(found.minutes)
    assert high == pytest.approx(5.0 * 19.4984, rel=1e-5)
