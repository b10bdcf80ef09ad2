"""Worth of an option: closed answers, what uncertainty adds, refusals."""

import numpy as np
import pytest
from scipy.integrate import quad

from turnwell.errors import InputError
from turnwell.life import Clock, Estimate, Lives, Option, WeibullGrid, weibull_grid, worth_of
from turnwell.life.decide.pace import pace_steps


def known(shape: float, scale: float, clock: Clock = Clock.DAYS) -> WeibullGrid:
    """Give a life known exactly: one point."""
    one = np.ones(1)
    return WeibullGrid(one * shape, one * scale, one, failures=10**6, clock=clock)


def drawn(count: int, *, shape: float = 2.0, seed: int = 1) -> WeibullGrid:
    rng = np.random.default_rng(seed)
    life, end = 800.0 * rng.weibull(shape, count), rng.uniform(0.0, 1500.0, count)
    return weibull_grid(Lives.observed(np.minimum(life, end), life <= end))


def test_a_known_life_gives_the_figures_by_hand():
    # Constant hazard 1/500: mean within 730 days 500 (1 - exp(-1.46)), 90 days pass exp(-.18).
    option = Option(
        name="new bearings",
        price=150.0,
        salvage=10.0,
        return_cost=40.0,
        warranty=90.0,
        life=known(1.0, 500.0),
        pace=Estimate(8.0, 8.0, 8.0),
    )
    worth = worth_of(option, horizon=730.0)
    uses = 8.0 * 500.0 * (1.0 - np.exp(-1.46))
    later = np.exp(-0.18) - np.exp(-1.46)
    assert worth.expected_uses.value == pytest.approx(uses, rel=1e-12)
    assert worth.cost_per_use.value == pytest.approx((140.0 + 40.0 * later) / uses, rel=1e-12)
    assert worth.back_within_warranty.value == pytest.approx(1.0 - np.exp(-0.18), rel=1e-12)
    assert worth.chance_back == pytest.approx(1.0 - np.exp(-0.18), rel=1e-12)
    assert worth.cost_per_use.low == pytest.approx(worth.cost_per_use.high, rel=1e-12)
    assert (worth.unit, worth.clock, worth.horizon) == ("uses", Clock.DAYS, 730.0)


def test_a_repair_that_leaves_the_age_has_the_rest_of_the_life_ahead():
    worth = worth_of(
        Option(name="clean", price=40.0, life=known(3.0, 1000.0, Clock.CYCLES), age=700.0),
        horizon=500.0,
    )

    def passed(age: float) -> float:
        return float(np.exp(-((age / 1000.0) ** 3)))

    ahead = quad(passed, 700.0, 1200.0)[0] / passed(700.0)
    assert worth.expected_uses.value == pytest.approx(ahead, rel=1e-9)
    assert worth.unit == "cycles"
    assert worth.chance_back == 0.0


def test_a_return_that_the_warranty_pays_costs_nothing():
    life = known(1.0, 500.0)
    plain = Option(name="a", price=100.0, life=life, return_cost=0.0)
    covered = Option(name="b", price=100.0, life=life, return_cost=50.0, warranty=2000.0)
    costs = [worth_of(one, horizon=700.0).cost_per_use.value for one in (plain, covered)]
    assert costs[0] == pytest.approx(costs[1], rel=1e-12)


def test_the_price_moves_the_cost_and_nothing_else():
    life = drawn(60)
    cheap, dear = (
        worth_of(Option(name="a", price=price, life=life, warranty=90.0), horizon=700.0)
        for price in (100.0, 300.0)
    )
    assert dear.cost_per_use.value == pytest.approx(3.0 * cheap.cost_per_use.value, rel=1e-9)
    assert dear.cost_per_use.high == pytest.approx(3.0 * cheap.cost_per_use.high, rel=1e-9)
    assert dear.expected_uses == cheap.expected_uses
    assert dear.back_within_warranty == cheap.back_within_warranty


def test_fewer_lives_and_a_vaguer_pace_leave_more_open():
    def spread(count: int, pace: Estimate) -> float:
        option = Option(name="a", price=100.0, life=drawn(count), pace=pace)
        cost = worth_of(option, horizon=700.0).cost_per_use
        return float(np.log(cost.high / cost.low))

    sure, vague = Estimate(8.0, 7.9, 8.1), Estimate(8.0, 4.0, 16.0)
    assert spread(40, sure) > 2.0 * spread(1000, sure)
    assert spread(40, vague) > spread(40, sure)
    # A pace that alone is open passes its own interval on: 16 / 4, the life known exactly.
    option = Option(name="a", price=100.0, life=known(1.0, 500.0), pace=vague)
    uses = worth_of(option, horizon=700.0).expected_uses
    assert np.log(uses.high / uses.low) == pytest.approx(np.log(4.0), rel=1e-6)


def test_steps_of_a_pace_have_its_spread():
    steps = np.log(pace_steps(Estimate(10.0, 5.0, 20.0)))
    assert steps.mean() == pytest.approx(np.log(10.0), rel=1e-12)
    assert steps.std() == pytest.approx(np.log(4.0) / (2.0 * 1.959964), rel=1e-6)


def test_the_interval_of_expected_uses_covers():
    # Mean life within 700 of scale 800, shape 2, 60 lives of which about half are seen to fail.
    truth = quad(lambda t: np.exp(-((t / 800.0) ** 2)), 0.0, 700.0)[0]
    held, runs = 0, 200
    for seed in range(runs):
        option = Option(name="a", price=1.0, life=drawn(60, seed=seed))
        uses = worth_of(option, horizon=700.0).expected_uses
        held += uses.low <= truth <= uses.high
    # Three standard errors of a share of 200 runs, below 93 %.
    assert held / runs >= 0.93 - 0.054


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"price": -1.0}, "price of a is -1"),
        ({"price": np.nan}, "price of a is nan"),
        ({"age": np.inf}, "age of a is inf"),
        ({"salvage": 200.0}, "salvage of a is 200, more than its price 100"),
        ({"warranty": -5.0}, "warranty of a is -5"),
        ({"return_cost": -5.0}, "return_cost of a is -5"),
        ({"pace": Estimate(5.0, 0.0, 9.0)}, "both ends must be finite and above 0"),
        ({"pace": Estimate(5.0, 1.0, np.inf)}, "both ends must be finite and above 0"),
    ],
)
def test_an_option_refuses(changed: dict, says: str):
    with pytest.raises(InputError, match=says):
        Option(**({"name": "a", "price": 100.0, "life": known(1.0, 5.0)} | changed))


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"horizon": 0.0}, "horizon is 0"),
        ({"horizon": np.inf}, "horizon is inf"),
        ({"horizon": 5.0, "level": 1.0}, "level is 1"),
    ],
)
def test_worth_refuses(options: dict[str, float], says: str):
    with pytest.raises(InputError, match=says):
        worth_of(Option(name="a", price=1.0, life=known(1.0, 5.0)), **options)
