"""Warranty ahead: exact laws, simulated costs, calibration with fitted lives, refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from turnwell.errors import InputError
from turnwell.life import Clock, Lives
from turnwell.life.forecast import ReturnCost, UnderWarranty, warranty_forecast
from turnwell.life.weibull import WeibullGrid, weibull_grid


def life(shape: float, scale: float) -> WeibullGrid:
    """Give a life of which everything is known."""
    one = np.ones(1)
    return WeibullGrid(shape * one, scale * one, one, 100, Clock.DAYS)


def group(age, cover, known: WeibullGrid, cost: ReturnCost | None = None) -> UnderWarranty:
    return UnderWarranty.of(age, cover, known, cost=cost or ReturnCost(100.0))


def exact(chance: np.ndarray) -> np.ndarray:
    law = np.ones(1)
    for each in chance:
        law = np.convolve(law, [1.0 - each, each])
    return law


@pytest.mark.parametrize("scale", [150.0, 900.0, 20_000.0])
def test_the_number_follows_the_exact_law_of_unequal_chances(scale: float):
    rng = np.random.default_rng(1)
    age, cover = rng.uniform(0.0, 300.0, 60), rng.uniform(5.0, 200.0, 60)
    found = warranty_forecast([group(age, cover, life(1.6, scale))], horizon=90.0)
    window = np.minimum(cover, 90.0)
    chance = -np.expm1((age / scale) ** 1.6 - ((age + window) / scale) ** 1.6)
    below = np.cumsum(exact(chance))
    assert found.returns.value == pytest.approx(chance.sum())
    assert [found.at_most(count) for count in range(61)] == pytest.approx(below, abs=0.004)
    assert below[int(found.returns.high)] >= 0.97
    assert found.at_most(-1) == 0.0


def test_costs_follow_simulation():
    rng = np.random.default_rng(2)
    age, cover = rng.uniform(0.0, 300.0, 40), np.full(40, 120.0)
    cost = ReturnCost(80.0, sd=40.0)
    found = warranty_forecast([group(age, cover, life(1.3, 800.0), cost)], horizon=90.0)
    chance = -np.expm1((age / 800.0) ** 1.3 - ((age + 90.0) / 800.0) ** 1.3)
    number = rng.binomial(1, chance, (100_000, 40)).sum(axis=1)
    drawn = np.where(number > 0, rng.gamma(4.0 * np.maximum(number, 1), 20.0), 0.0)
    assert found.cost.value == pytest.approx(drawn.mean(), rel=0.01)
    # 100,000 drawn: standard errors below 0.2 points.
    for share in (0.5, 0.9, 0.975):
        assert np.mean(drawn <= found.reserve(share)) == pytest.approx(share, abs=0.006)
    assert np.mean(drawn < found.cost.low) == pytest.approx(0.025, abs=0.01)


def test_what_the_lives_leave_open_widens():
    rng = np.random.default_rng(3)
    lives = Lives.observed(np.minimum(900.0 * rng.weibull(1.5, 12), 600.0), np.arange(12) % 2 == 0)
    grid = weibull_grid(lives)
    age, cover = np.linspace(0.0, 200.0, 400), np.full(400, 150.0)
    open_ = warranty_forecast([group(age, cover, grid)], horizon=100.0)
    at = float(open_.returns.value)
    mean = grid.mean(
        lambda b, eta: (
            -np.expm1(np.divide.outer(age, eta) ** b - np.divide.outer(age + 100.0, eta) ** b).sum(
                axis=0
            )
        )
    )
    assert at == pytest.approx(mean, rel=0.01)
    # Were the life known, the number would vary by less than its root.
    assert open_.returns.high - open_.returns.low > 1.5 * 2.0 * 1.96 * np.sqrt(at)


def test_counts_fall_inside_as_often_as_claimed():
    rng = np.random.default_rng(4)
    inside, paid = [], []
    for _ in range(150):
        shape, scale = rng.uniform(0.8, 2.5), rng.uniform(300.0, 1_500.0)
        ends, end = scale * rng.weibull(shape, 60), rng.uniform(50.0, scale, 60)
        if np.count_nonzero(ends <= end) < 5:
            continue
        grid = weibull_grid(Lives.observed(np.minimum(ends, end), ends <= end))
        age, cover = rng.uniform(0.0, 300.0, 80), rng.uniform(1.0, 180.0, 80)
        found = warranty_forecast([group(age, cover, grid, ReturnCost(100.0, 30.0))], horizon=90.0)
        window = np.minimum(cover, 90.0)
        chance = -np.expm1((age / scale) ** shape - ((age + window) / scale) ** shape)
        number = rng.binomial(1, chance).sum()
        inside.append(found.returns.low <= number <= found.returns.high)
        paid.append(found.cost.low <= rng.normal(100.0, 30.0, number).sum() <= found.cost.high)
    # Standard error 1.8 points.
    assert 0.91 <= np.mean(inside) <= 0.995
    assert 0.90 <= np.mean(paid) <= 0.99


def test_groups_add_up():
    rng = np.random.default_rng(5)
    age, cover = rng.uniform(0.0, 300.0, 50), np.full(50, 90.0)
    known = life(1.5, 700.0)
    whole = warranty_forecast([group(age, cover, known)], horizon=60.0)
    parts = warranty_forecast(
        [group(age[:20], cover[:20], known), group(age[20:], cover[20:], known)], horizon=60.0
    )
    assert parts.returns.value == pytest.approx(whole.returns.value)
    assert parts.cost.value == pytest.approx(whole.cost.value)
    assert parts.cost.high == pytest.approx(whole.cost.high, rel=1e-6)
    assert parts.at_most(5) == pytest.approx(whole.at_most(5), abs=1e-9)


def test_a_memoryless_life_asks_nothing_of_the_age():
    young = warranty_forecast([group([0.0], [50.0], life(1.0, 500.0))], horizon=50.0)
    old = warranty_forecast([group([9_000.0], [50.0], life(1.0, 500.0))], horizon=50.0)
    assert young.returns.value == pytest.approx(1.0 - np.exp(-0.1))
    assert old.returns.value == pytest.approx(young.returns.value)


@settings(deadline=None, max_examples=40)
@given(
    st.lists(st.tuples(st.floats(0.0, 2e3), st.floats(0.0, 500.0)), min_size=1, max_size=30),
    st.floats(0.5, 4.0),
    st.floats(50.0, 5e3),
    st.floats(1.0, 300.0),
)
def test_a_longer_window_and_cover_never_cost_less(rows, shape, scale, horizon):
    age, cover = (np.array(column) for column in zip(*rows, strict=True))
    one = warranty_forecast([group(age, cover, life(shape, scale))], horizon=horizon)
    longer = warranty_forecast([group(age, cover + 10.0, life(shape, scale))], horizon=2 * horizon)
    assert one.returns.value <= longer.returns.value + 1e-9
    assert 0.0 <= one.returns.low <= one.returns.high <= age.size + 1
    assert one.cost.low <= one.cost.value <= one.cost.high


def test_no_cover_left_costs_nothing():
    found = warranty_forecast([group([10.0, 20.0], [0.0, 0.0], life(1.5, 100.0))], horizon=30.0)
    assert (found.returns.value, found.cost.value, found.cost.high) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: warranty_forecast([], horizon=1.0), "no handpiece under warranty"),
        (
            lambda: warranty_forecast([group([1.0], [1.0], life(1.0, 1.0))], horizon=0.0),
            "horizon is 0",
        ),
        (
            lambda: warranty_forecast(
                [group([1.0], [1.0], life(1.0, 1.0))], horizon=1.0, level=2.0
            ),
            "level is 2",
        ),
        (lambda: group([], [], life(1.0, 1.0)), "0 ages"),
        (lambda: group([1.0], [1.0, 2.0], life(1.0, 1.0)), "1 ages have 2 covers"),
        (lambda: group([-1.0], [1.0], life(1.0, 1.0)), "finite and >= 0"),
        (lambda: ReturnCost(-1.0), "a cost is"),
        (
            lambda: warranty_forecast([group([1.0], [1.0], life(1.0, 1.0))], horizon=1.0).reserve(
                1
            ),
            "share is 1",
        ),
    ],
)
def test_it_refuses_what_is_no_warranty(call, says: str):
    with pytest.raises(InputError, match=says):
        call()


def test_a_mean_cost_that_is_not_known_well_widens_the_cost():
    """Fifty that all come back, 100 each: the standard error of 20 alone makes 50 x 20."""
    back = group(np.zeros(50), np.full(50, 90.0), life(1.0, 1e-3), ReturnCost(100.0, mean_sd=20.0))
    cost = warranty_forecast([back], horizon=90.0).cost
    assert cost.value == pytest.approx(5_000.0, rel=1e-3)
    assert cost.high - cost.low == pytest.approx(2.0 * 1.96 * 1_000.0, rel=0.02)
