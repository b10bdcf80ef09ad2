"""The fit of the drag against exact points, scipy's bounded least squares, and seeded chance."""

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.optimize import least_squares

from turnwell.sound.coast import departure
from turnwell.sound.coast.departure import curve_of
from turnwell.sound.coast.fit import best_law, chances, fit_terms, rate_interval
from turnwell.sound.coast.law import DragLaw

TIME = np.linspace(0.0, 1.0, 90)


def whitening(error):
    return lambda values: (values.T / error).T


def points(law, sd, rng, *, start=1.0, time=TIME):
    return law.speed_rad_s(start, time) + sd * rng.standard_normal(time.size)


@pytest.mark.parametrize(
    "rates",
    [
        (0.6, 0.0, 0.0),
        (0.0, 1.2, 0.0),
        (0.0, 0.0, 2.0),
        (0.3, 0.5, 0.0),
        (0.2, 0.0, 0.9),
        (0.0, 0.4, 1.1),
        (0.4, 0.8, 0.7),
    ],
)
def test_exact_points_give_the_rates_back(rates):
    exact = DragLaw(*rates).speed_rad_s(0.97, TIME)
    found = best_law(TIME, exact, whitening(np.full(TIME.size, 1e-9)))
    assert found.start == pytest.approx(0.97, rel=1e-9)
    law = found.law
    got = (law.constant_rad_s2, law.linear_per_s, law.quadratic_per_rad)
    assert got == pytest.approx(rates, rel=1e-6, abs=1e-6)
    assert max(found.misfit, 0.0) < 1e-3 * TIME.size


@pytest.mark.parametrize("seed", range(12))
def test_the_best_set_of_terms_is_the_bounded_optimum(seed):
    """The least sum of squares of all sets is what a bounded solver finds."""
    rng = np.random.default_rng(seed)
    sd = 0.01
    seen = points(DragLaw(*(rng.dirichlet([0.5, 0.5, 0.5]) * 1.2)), sd, rng)
    found = best_law(TIME, seen, whitening(np.full(TIME.size, sd)))

    def rest(values):
        return (seen - DragLaw(*values[1:]).speed_rad_s(values[0], TIME)) / sd

    solved = least_squares(
        rest,
        [1.0, 0.3, 0.3, 0.3],
        bounds=([0.1, 0.0, 0.0, 0.0], np.inf),
        xtol=1e-13,
        ftol=1e-13,
        gtol=1e-13,
    )
    assert found.misfit <= 2.0 * solved.cost + 1e-3


def test_no_rate_is_below_zero_where_the_curve_bends_the_other_way():
    # Falls ever faster, which no drag does: the nearest law is the constant one.
    seen = 1.0 - 0.5 * TIME**2
    found = best_law(TIME, seen, whitening(np.full(TIME.size, 0.01)))
    assert found.law.terms == ("constant",)


def test_a_term_that_may_be_absent_reaches_down_to_zero():
    rng = np.random.default_rng(3)
    seen = points(DragLaw(0.5, 0.0, 0.6), 0.005, rng)
    fitted = fit_terms(TIME, seen, whitening(np.full(TIME.size, 0.005)))
    chance = chances(fitted, TIME.size)
    assert chance.sum() == pytest.approx(1.0)
    assert rate_interval(fitted, chance, 1)[0] == 0.0


def test_intervals_of_the_rates_hold_the_truth():
    rng = np.random.default_rng(4)
    law, sd, held = DragLaw(0.4, 0.3, 0.7), 0.002, np.zeros(3)
    for _ in range(100):
        seen = points(law, sd, rng)
        fitted = fit_terms(TIME, seen, whitening(np.full(TIME.size, sd)))
        chance = chances(fitted, TIME.size)
        for term, true in enumerate((0.4, 0.3, 0.7)):
            low, high = rate_interval(fitted, chance, term)
            held[term] += low <= true <= high
    assert np.all(held >= 88), held


def with_bump(time, strength):
    """Speed of a rotor that obeys no law of three terms: more drag about half speed."""
    fine = np.linspace(0.0, 1.0, 2_001)
    speed = solve_ivp(
        lambda _, now: -drag(now, strength), (0.0, 1.0), [1.0], t_eval=fine, rtol=1e-9, atol=1e-12
    ).y[0]
    return np.interp(time, fine, speed), lambda level: np.interp(-level, -speed, fine)


def drag(speed, strength):
    bump = 1.0 + strength * np.exp(-0.5 * ((speed - 0.5) / 0.08) ** 2)
    return (0.3 + 0.4 * speed + 0.4 * speed**2) * bump


@pytest.mark.parametrize("strength", [0.0, 0.05, -0.08])
def test_intervals_stay_true_when_the_rotor_obeys_no_law(strength):
    """Speed and deceleration at 80, 50 (the resonance) and 43 %, 70 seeded sets of points each."""
    rng = np.random.default_rng(5)
    true, instant_of = with_bump(TIME, strength)
    levels = np.array([0.8, 0.5, 0.43])
    expected = np.concatenate([levels, [-drag(level, strength) for level in levels]])
    away = []
    for _ in range(70):
        error = 10.0 ** rng.uniform(-3.7, -2.7) * (1.0 + TIME)
        seen = true + error * rng.standard_normal(TIME.size)
        law = best_law(TIME, seen, whitening(error))
        stand = curve_of(law.law, law.start, TIME, seen, error).at(instant_of(levels))
        away.append((stand.value - expected) / np.sqrt(np.diag(stand.covariance)))
    for what in np.split(np.array(away), 2, axis=1):
        assert np.mean(np.abs(what) < 1.96) >= 0.9
        # Not by being wide: the errors fill their intervals.
        assert np.sqrt(np.mean(what**2)) > 0.6


def test_departures_have_the_covariance_of_their_walk():
    """Closed form against the integral of the walk's response, by quadrature."""
    at, time = np.array([0.4, 0.9]), np.array([0.3, 0.7, 1.1])
    rows = departure._kernel_rows(at, time)
    for row, instant in enumerate(at):
        for column, point in enumerate(time):
            end = min(instant, point)
            value, _ = quad(lambda u, s=instant, t=point: (s - u) ** 2 * (t - u) ** 2 / 4, 0, end)
            slope, _ = quad(lambda u, s=instant, t=point: (s - u) * (t - u) ** 2 / 2, 0, end)
            assert rows[row, column] == pytest.approx(value, rel=1e-9)
            assert rows[at.size + row, column] == pytest.approx(slope, rel=1e-9)


def test_the_curve_is_the_dense_least_squares_solution():
    """One size of departures: prediction and variance as from the whole covariance at once."""
    rng = np.random.default_rng(6)
    error = np.full(TIME.size, 2e-3)
    law = DragLaw(0.4, 0.3, 0.7)
    seen = points(law, 2e-3, rng) + 0.01 * np.sin(7.0 * TIME)
    curve = curve_of(law, 1.0, TIME, seen, error)
    ratio, at = float(curve.ratios[-1]), np.array([0.33, 0.8])
    single = departure.Curve(
        law=law,
        start=1.0,
        time=TIME,
        origin=curve.origin,
        modes=curve.modes,
        eigen=curve.eigen,
        tangent=curve.tangent,
        directions=curve.directions,
        rest=curve.rest,
        ratios=np.array([ratio]),
        chance=np.ones(1),
        scale=np.ones(1),
    )
    stand = single.at(at)

    def kernel(one, other):
        rows = departure._kernel_rows(one - curve.origin, other - curve.origin)
        return ratio * rows[: one.size]

    inverse = np.linalg.inv(kernel(TIME, TIME) + np.diag(error**2))
    columns = law.sensitivity(1.0, TIME).T
    rest = seen - law.speed_rad_s(1.0, TIME)
    normal = np.linalg.inv(columns.T @ inverse @ columns)
    moved = normal @ columns.T @ inverse @ rest
    near = kernel(at, TIME) @ inverse
    there = law.sensitivity(1.0, at).T
    value = law.speed_rad_s(1.0, at) + there @ moved + near @ (rest - columns @ moved)
    free = there - near @ columns
    covariance = kernel(at, at) - near @ kernel(TIME, at) + free @ normal @ free.T
    assert stand.speed == pytest.approx(value, abs=1e-7)
    assert np.diag(stand.covariance)[: at.size] == pytest.approx(np.diag(covariance), rel=1e-3)
    assert single.speed_at(at) == pytest.approx(value, abs=1e-7)
