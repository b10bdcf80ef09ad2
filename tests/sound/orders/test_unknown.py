"""A bearing of unknown geometry is inferred from its lines, or not at all."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.sound.defects import Defect, defective
from tests.sound.orders.cases import Case, case
from tests.sound.orders.test_spectrum import spectrum_of, turned_noise, with_line
from turnwell.errors import InputError
from turnwell.sound.orders import MeasuredLine, bearing_from_lines, infer_bearing


def lines(*orders: float, sd: float = 0.003) -> list[MeasuredLine]:
    return [MeasuredLine(order, sd) for order in orders]


@pytest.mark.parametrize(
    ("orders", "balls", "ratio"),
    [
        # Published tables and figures, as in test_bearing.
        ((3.5848, 5.4152), 9, 0.20338),
        ((3.0530, 4.9469), 8, 0.23672),
        ((0.39501, 2.76509), 7, 0.20997),
        ((0.39501, 4.23491), 7, 0.20997),
        ((0.38538, 3.08307, 4.91693), 8, 0.22923),
    ],
)
def test_two_or_three_lines_give_balls_and_ratio(orders, balls, ratio):
    found = bearing_from_lines(lines(*orders))
    assert found is not None
    assert found.balls == balls
    assert found.balls_chance > 0.97
    assert found.ratio.low < ratio < found.ratio.high
    assert found.ratio.high - found.ratio.low < 0.01


@given(
    balls=st.integers(6, 12),
    ratio=st.floats(0.13, 0.35),
    seed=st.integers(0, 10_000),
)
def test_three_lines_with_error_give_the_balls_at_any_angle_and_slip(balls, ratio, seed):
    error = 0.002 * np.random.default_rng(seed).standard_normal(3)
    cage = (1 - ratio) / 2
    orders = np.array([cage, balls * cage, balls * (1 - cage)]) + error
    found = bearing_from_lines(lines(*orders, sd=0.002))
    assert found is not None
    assert found.balls == balls


def test_the_interval_of_the_ratio_holds_it_in_19_of_20_cases():
    rng = np.random.default_rng(1)
    held = 0
    for _ in range(400):
        ratio = rng.uniform(0.15, 0.3)
        orders = 4.0 * np.array([1 - ratio, 1 + ratio]) + 0.003 * rng.standard_normal(2)
        found = bearing_from_lines(lines(*orders))
        held += found is not None and found.ratio.low <= ratio <= found.ratio.high
    assert 0.92 < held / 400 < 0.98


@pytest.mark.parametrize("orders", [(3.5848, 5.33), (2.765, 5.53), (2.1, 3.37)])
def test_lines_that_add_up_to_nothing_give_no_bearing(orders):
    assert bearing_from_lines(lines(*orders)) is None


def test_wide_lines_leave_the_balls_open():
    found = bearing_from_lines(lines(3.5848, 5.4152, sd=0.3))
    assert found is None or found.balls_chance < 0.6


@pytest.mark.parametrize("count", [0, 1, 4])
def test_fewer_than_two_or_more_than_three_lines_are_refused(count):
    with pytest.raises(InputError, match="give two or three"):
        bearing_from_lines(lines(*np.linspace(1.0, 2.0, count)))


@pytest.mark.parametrize(("order", "sd"), [(0.0, 0.1), (1.0, 0.0), (float("nan"), 0.1)])
def test_a_line_needs_an_order_and_an_error(order, sd):
    with pytest.raises(InputError, match="must be a number > 0"):
        MeasuredLine(order, sd)


def with_both_rings(seed: int, rng_seed: int, amplitude: float) -> Case:
    made = case(seed)
    rng = np.random.default_rng(rng_seed)
    truth = defective(made.truth, Defect(2.7651, amplitude), rng)
    return Case(defective(truth, Defect(4.2349, amplitude, 1.0), rng), made.stretches)


@pytest.mark.parametrize("seed", [41, 42])
def test_a_bearing_with_both_rings_damaged_is_inferred_from_the_spectrum(seed):
    orders = with_both_rings(seed, seed, 0.05).orders(bearing=None)
    assert orders is not None
    assert orders.inferred is not None
    assert orders.inferred.balls == 7
    assert orders.inferred.balls_chance > 0.99
    assert orders.inferred.ratio.value == pytest.approx(0.20997, abs=0.002)


def test_a_ring_and_a_side_line_that_say_as_much_leave_the_balls_open():
    """With 2.765 the line at 4.235 makes 7 balls and that at 5.235 makes 8."""
    noise = turned_noise(3_000, np.random.default_rng(3))
    found = []
    for orders in ((2.765, 4.235), (2.765, 3.235, 4.235, 5.235, 6.235)):
        sound = noise
        for order in orders:
            sound = with_line(sound, order, 0.3)
        found.append(infer_bearing((spectrum_of(sound),)))
    assert found[0] is not None
    assert found[0].balls == 7
    assert found[1] is None


def test_a_loud_side_line_is_not_taken_for_the_inner_ring():
    """What rings lifts the side line at 5.235: with the outer ring it would make 8 balls."""
    orders = with_both_rings(3_000, 0, 0.03).orders(bearing=None)
    assert orders is not None
    assert orders.inferred is None or orders.inferred.balls == 7


def test_one_ring_alone_or_none_gives_no_bearing():
    made = case(43)
    one = defective(made.truth, Defect(2.7651, 0.1), np.random.default_rng(43))
    for truth in (made.truth, one):
        orders = Case(truth, made.stretches).orders(bearing=None)
        assert orders is not None
        assert orders.inferred is None
