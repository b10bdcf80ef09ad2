"""The law of the drag against published examples, scipy's ODE solver, and its own borders."""

from math import atan, exp, inf, isclose, log, pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from turnwell.errors import InputError
from turnwell.sound.coast.law import DragLaw
from turnwell.units import rad_per_s_to_rpm, rpm_to_rad_per_s

FAST = rpm_to_rad_per_s(400_000.0)
CRITICAL = 2.0 * sqrt(6_000.0 * 8e-6)
LAWS = (
    (15_000.0, 0.0, 0.0),
    (0.0, 0.5, 0.0),
    (0.0, 0.0, 2e-5),
    (6_000.0, 0.5, 0.0),
    (6_000.0, 0.0, 1e-5),
    (0.0, 0.4, 8e-6),
    (6_000.0, 0.4, 8e-6),  # discriminant below zero
    (6_000.0, 1.2, 8e-6),  # above
    (6_000.0, CRITICAL, 8e-6),  # zero
    (6_000.0, CRITICAL * (1.0 + 1e-12), 8e-6),
    (6_000.0, 0.4, 1e-17),
    (1e-9, 0.4, 8e-6),
)


def rpm(law: DragLaw, time_s: float) -> float:
    return rad_per_s_to_rpm(float(law.speed_rad_s(FAST, time_s)))


def test_a_hand_spinner_stops_as_published():
    # A published worked example: 140 rad/s, slowed by 1.346 rad/s², stops after 104.0 s.
    assert DragLaw(1.346, 0.0, 0.0).stop_s(140.0) == pytest.approx(104.0, abs=0.05)


def test_a_wheel_stops_after_as_many_turns_as_published():
    # A published worked example: 3,500 rpm to rest in 120 s under constant torque; the page's 3.05
    # rad/s² is rounded. The turns are half of the start speed times the time.
    start = rpm_to_rad_per_s(3_500.0)
    law = DragLaw(start / 120.0, 0.0, 0.0)
    assert law.constant_rad_s2 == pytest.approx(3.0543, abs=5e-5)
    turned, _ = quad(lambda at: float(law.speed_rad_s(start, at)), 0.0, 120.0)
    assert turned / (2.0 * pi) == pytest.approx(3_500.0, abs=1e-6)


@pytest.mark.parametrize(
    ("rates", "seconds", "expected"),
    [
        # Elementary solutions, each written out: e^(-bt), 1/(1 + c ω₀ t).
        ((0.0, 0.5, 0.0), 1.0, 400_000.0 * exp(-0.5)),
        ((0.0, 0.5, 0.0), 2.0, 400_000.0 * exp(-1.0)),
        ((0.0, 0.0, 2e-5), 1.0, 400_000.0 / (1.0 + 2e-5 * FAST)),
        # b ω₀ e^(-bt)/(b + c ω₀ (1 - e^(-bt))).
        ((0.0, 0.4, 8e-6), 1.0, 210_100.06),
        # Quadrature of the drag.
        ((6_000.0, 0.4, 8e-6), 0.5, 261_338.2),
        ((6_000.0, 0.4, 8e-6), 1.0, 170_732.8),
        ((6_000.0, 0.4, 8e-6), 2.0, 58_816.0),
    ],
)
def test_speeds_are_those_of_the_elementary_solutions(rates, seconds, expected):
    assert rpm(DragLaw(*rates), seconds) == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize(
    ("rates", "expected"),
    [
        ((15_000.0, 0.0, 0.0), FAST / 15_000.0),
        ((6_000.0, 0.5, 0.0), log(1.0 + 0.5 * FAST / 6_000.0) / 0.5),
        ((6_000.0, 0.0, 1e-5), atan(FAST * sqrt(1e-5 / 6_000.0)) / sqrt(6_000.0 * 1e-5)),
        ((0.0, 0.5, 0.0), inf),
        ((0.0, 0.0, 2e-5), inf),
    ],
)
def test_it_stops_when_the_elementary_solutions_say(rates, expected):
    assert DragLaw(*rates).stop_s(FAST) == pytest.approx(expected, rel=1e-12)


def test_quadratic_drag_alone_halves_the_speed_in_its_half_time():
    assert DragLaw(0.0, 0.0, 2e-5).time_to_s(FAST, FAST / 2.0) == pytest.approx(1.0 / (2e-5 * FAST))


@pytest.mark.parametrize("rates", LAWS)
def test_speeds_and_times_are_those_of_an_ode_solver(rates):
    law = DragLaw(*rates)
    end_s = min(0.999 * law.stop_s(FAST), 6.0)
    at = np.linspace(0.0, end_s, 40)
    solved = solve_ivp(
        lambda _, omega: -(rates[0] + rates[1] * omega + rates[2] * omega**2),
        (0.0, end_s),
        [FAST],
        t_eval=at,
        method="DOP853",
        rtol=1e-12,
        atol=1e-7,
    ).y[0]
    speed = law.speed_rad_s(FAST, at)
    assert np.abs(speed - solved).max() < 1e-10 * FAST
    times = [law.time_to_s(FAST, value) for value in speed]
    assert times == pytest.approx(at, abs=1e-9)


@pytest.mark.parametrize("rates", LAWS)
def test_sensitivities_are_those_of_small_changes(rates):
    law = DragLaw(*rates)
    at = np.linspace(-0.05, min(0.95 * law.stop_s(FAST), 4.0), 30)
    by = law.sensitivity(FAST, at)
    values = np.array([FAST, *rates])
    for place, size in enumerate((FAST, 1e4, 1.0, 1e-5)):
        change = 1e-4 * size

        def moved(steps, place=place, change=change):
            changed = values.copy()
            changed[place] += steps * change
            return DragLaw(*changed[1:]).speed_rad_s(changed[0], at)

        # Forwards only, since no rate may be below zero; exact to the third power.
        slope = (-11 * moved(0) + 18 * moved(1) - 9 * moved(2) + 2 * moved(3)) / (6 * change)
        assert np.abs(slope - by[place]).max() < 1e-5 * np.abs(by[place]).max()


rates_given = st.tuples(st.floats(0.0, 3e4), st.floats(0.0, 2.0), st.floats(0.0, 5e-5)).filter(
    lambda rates: sum(rates) > 0.0
)


@given(rates_given, st.floats(0.05, 1.0))
def test_the_time_to_a_speed_leads_to_that_speed(rates, share):
    law = DragLaw(*rates)
    seconds = law.time_to_s(FAST, share * FAST)
    if seconds < 1e4:
        assert isclose(float(law.speed_rad_s(FAST, seconds)), share * FAST, rel_tol=1e-7)


@given(rates_given, st.floats(0.1, 10.0))
def test_another_unit_of_time_gives_the_same_speed(rates, unit):
    law = DragLaw(*rates)
    other = DragLaw(rates[0] * unit**2, rates[1] * unit, rates[2])
    speed = float(law.speed_rad_s(FAST, 0.4))
    assert float(other.speed_rad_s(FAST * unit, 0.4 / unit)) == pytest.approx(speed * unit, 1e-9)


@given(rates_given)
def test_the_speed_never_rises_and_never_falls_below_zero(rates):
    speed = DragLaw(*rates).speed_rad_s(FAST, np.linspace(0.0, 1e3, 400))
    assert np.all(np.isfinite(speed))
    assert np.all(np.diff(speed) <= 1e-9 * FAST)
    assert np.all(speed >= 0.0)


def test_the_names_of_the_terms_are_those_that_are_there():
    assert DragLaw(1.0, 0.0, 1e-6).terms == ("constant", "quadratic")


@pytest.mark.parametrize("rates", [(-1.0, 0.0, 0.0), (0.0, float("nan"), 0.0), (0.0, 0.0, inf)])
def test_a_rate_below_zero_or_not_finite_is_refused(rates):
    with pytest.raises(InputError, match="must be a number >= 0"):
        DragLaw(*rates)
