"""Orders of a bearing against published tables, and the identities of its geometry."""

from math import isclose, radians

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from turnwell.errors import InputError
from turnwell.sound.orders.bearing import Bearing, Part

INCH_M = 0.0254


@pytest.mark.parametrize(
    ("bearing", "expected"),
    [
        # Case Western Reserve University bearing data center, drive end and fan end (from memory);
        # its fourth figure is the line of a ball, twice the spin.
        (Bearing(9, 0.3126 * INCH_M, 1.537 * INCH_M), (0.39828, 3.5848, 5.4152, 4.7135)),
        (Bearing(8, 0.2656 * INCH_M, 1.122 * INCH_M), (0.3817, 3.0530, 4.9469, 3.9874)),
    ],
)
def test_matches_the_table_of_the_data_center(bearing: Bearing, expected: tuple[float, ...]):
    assert [bearing.order(part) for part in Part] == pytest.approx(expected, abs=5e-4)


def test_matches_a_worked_example_at_25_hz():
    # Textbook example of a 6205 with a pitch circle of 38.5 mm.
    bearing = Bearing(9, 7.94e-3, 38.5e-3)
    assert 25.0 * bearing.order(Part.CAGE) == pytest.approx(9.92, abs=0.02)
    assert 25.0 * bearing.order(Part.OUTER_RING) == pytest.approx(89.31, abs=0.02)
    assert 25.0 * bearing.order(Part.INNER_RING) == pytest.approx(135.69, abs=0.02)
    assert 25.0 * bearing.spin_order == pytest.approx(58.0, abs=0.05)


def test_matches_the_published_frequency_at_1797_rpm():
    # Documentation of an open tool for the 6205: 107.36 Hz.
    assert 1797 / 60 * Bearing(9, 7.94e-3, 39.04e-3).order(Part.OUTER_RING) == pytest.approx(
        107.36, abs=0.05
    )


@pytest.mark.parametrize(
    ("bearing", "orders", "within"),
    [
        # Geometry of an open run-to-failure set; figures by the formulas, computed apart.
        (Bearing(8, 7.92e-3, 34.55e-3), (0.38538, 3.08307, 4.91693, 2.06657), 1e-5),
        (Bearing(7, 1e-3, 4.7625e-3), (0.39501, 2.76509, 4.23491, 2.27626), 1e-5),
        (Bearing(8, 1e-3, 4.7625e-3), (0.39501, 3.16010, 4.83990, 2.27626), 1e-5),
        (
            Bearing(8, 2e-3, 12e-3, radians(15.0)),
            (10.488 / 25, 83.901 / 25, 116.099 / 25, 73.056 / 25),
            1e-3 / 25,
        ),
    ],
)
def test_matches_figures_computed_apart(bearing, orders, within):
    found = [bearing.order(part) for part in (Part.CAGE, Part.OUTER_RING, Part.INNER_RING)]
    assert [*found, bearing.spin_order] == pytest.approx(orders, abs=within)


@given(
    balls=st.integers(3, 30),
    share=st.floats(0.02, 0.6),
    contact=st.floats(0.0, 1.0),
    pitch=st.floats(1e-3, 0.5),
)
def test_rings_add_up_to_the_balls_and_outer_is_balls_times_cage(balls, share, contact, pitch):
    assume(balls * share < 3.1)
    bearing = Bearing(balls, share * pitch, pitch, contact)
    outer, inner = bearing.order(Part.OUTER_RING), bearing.order(Part.INNER_RING)
    assert isclose(outer + inner, balls, rel_tol=1e-12)
    assert isclose(outer, balls * bearing.order(Part.CAGE), rel_tol=1e-12)
    assert isclose(inner - outer, balls * bearing.ratio, rel_tol=1e-9, abs_tol=1e-12)


@given(
    share=st.floats(0.12, 0.3),
    tolerance=st.floats(-0.02, 0.02),
    angle=st.floats(0.0, 0.2),
    slip=st.floats(-0.005, 0.005),
)
def test_spans_hold_every_bearing_within_the_tolerances(share, tolerance, angle, slip):
    bearing = Bearing(8, share * 5e-3, 5e-3)
    real = Bearing(8, share * (1.0 + tolerance) * 5e-3, 5e-3, angle)
    cage = real.order(Part.CAGE) * (1.0 + slip)
    assert bearing.span(Part.CAGE).low - 1e-9 <= cage <= bearing.span(Part.CAGE).high + 1e-9
    outer = bearing.span(Part.OUTER_RING)
    assert outer.low - 1e-9 <= 8 * cage <= outer.high + 1e-9
    inner = bearing.span(Part.INNER_RING)
    assert inner.low - 1e-9 <= 8 * (1.0 - cage) <= inner.high + 1e-9


def test_overlapping_spans_are_parted_between_their_orders():
    bearing = Bearing(8, 1e-3, 4.7625e-3, pitch_tolerance=0.06)
    spans = bearing.spans()
    assert bearing.span(Part.BALL).high > bearing.span(Part.INNER_RING).low
    assert spans[Part.BALL].high == pytest.approx(spans[Part.INNER_RING].low)
    assert spans[Part.BALL].holds(bearing.order(Part.BALL))


def test_seven_balls_of_a_sixth_of_the_pitch_cannot_be_told_from_the_outer_ring():
    bearing = Bearing(7, 0.79375e-3, 4.7625e-3)
    assert bearing.spin_order == pytest.approx(2.916667, abs=1e-6)
    assert bearing.order(Part.OUTER_RING) == pytest.approx(2.916667, abs=1e-6)
    assert bearing.inseparable() == (Part.OUTER_RING, Part.BALL)
    assert Bearing(8, 0.79375e-3, 4.7625e-3).inseparable() == ()


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ((2, 1e-3, 5e-3), "balls is 2"),
        ((7.5, 1e-3, 5e-3), "whole number"),
        ((True, 1e-3, 5e-3), "whole number"),
        ((7, 5e-3, 1e-3), "mixed up"),
        ((7, float("nan"), 5e-3), "ball_m is nan"),
        ((7, 1e-3, 0.0), "pitch_m is 0"),
        ((16, 1e-3, 4.7625e-3), "do not fit"),
        ((7, 1e-3, 5e-3, 2.0), "contact_rad is 2"),
        ((7, 1e-3, 5e-3, 0.0, -0.1), "pitch_tolerance"),
    ],
)
def test_a_geometry_that_cannot_be_is_refused(arguments, sentence):
    with pytest.raises(InputError, match=sentence):
        Bearing(*arguments)


@pytest.mark.parametrize("balls", [float("nan"), float("inf"), "7"])
def test_a_number_of_balls_that_is_none_is_refused(balls):
    with pytest.raises(InputError):
        Bearing(balls, 1e-3, 5e-3)
