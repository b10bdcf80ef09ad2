"""Which option costs least: chances by hand, what is shared, the sentence, refusals."""

import numpy as np
import pytest

from tests.life.decide.test_worth import drawn, known
from turnwell.errors import InputError
from turnwell.life import Clock, Estimate, Option, WeibullGrid, Worth, compare, worth_of
from turnwell.words import text_of

PACE = Estimate(8.0, 5.0, 12.0)


def worth(name: str, price: float, life: WeibullGrid, **options: object) -> Worth:
    return worth_of(Option(name=name, price=price, life=life, **options), horizon=700.0)


def two_lives() -> WeibullGrid:
    """Give a life that is one of two, 30 % and 70 %."""
    return WeibullGrid(
        np.ones(2), np.array([200.0, 600.0]), np.array([0.3, 0.7]), failures=9, clock=Clock.DAYS
    )


def test_chances_by_hand():
    # The first lasts 200 (1 - exp(-3.5)) or 600 (1 - exp(-7/6)), 194 or 413 of 700 days, the second
    # 400 (1 - exp(-7/4)), 331: for one price the first is cheaper in 70 %.
    first, second = worth("first", 100.0, two_lives()), worth("second", 100.0, known(1.0, 400.0))
    result = compare([first, second])
    assert result.probability == pytest.approx((0.7, 0.3), abs=1e-12)
    assert result.best == 0
    assert not result.is_settled
    assert compare([first, second], sure=0.7).is_settled
    # A third one that costs next to nothing is cheaper in all of them.
    third = worth("third", 1.0, known(1.0, 400.0))
    assert compare([first, second, third]).probability == pytest.approx((0.0, 0.0, 1.0))


def test_chances_agree_with_drawing_from_the_grids():
    lives = [drawn(40, seed=1), drawn(50, seed=2), drawn(30, seed=3)]
    prices = [100.0, 105.0, 95.0]
    worths = [
        worth(f"{at}", price, life)
        for at, (price, life) in enumerate(zip(prices, lives, strict=True))
    ]
    rng = np.random.default_rng(1)
    draws = np.stack([rng.choice(w.costs.value, 200_000, p=w.costs.weight) for w in worths])
    shares = np.bincount(draws.argmin(axis=0), minlength=3) / 200_000
    assert compare(worths).probability == pytest.approx(tuple(shares), abs=0.005)


def test_the_same_twice_is_settled_by_nothing():
    one = worth("one", 100.0, drawn(40))
    result = compare([one, worth("other", 100.0, drawn(40))])
    assert result.probability == pytest.approx((0.5, 0.5), abs=1e-9)
    assert text_of(result.message).startswith("Cannot tell which costs least per day")


def test_a_pace_that_both_share_makes_neither_dearer():
    lives = drawn(200, seed=1), drawn(200, seed=2)
    without = compare([worth("a", 100.0, lives[0]), worth("b", 120.0, lives[1])])
    shared = compare(
        [worth("a", 100.0, lives[0], pace=PACE), worth("b", 120.0, lives[1], pace=PACE)]
    )
    assert shared.probability == pytest.approx(without.probability, abs=1e-12)
    own = compare(
        [
            worth("a", 100.0, lives[0], pace=PACE),
            worth("b", 120.0, lives[1], pace=Estimate(8.0, 5.0, 12.1)),
        ]
    )
    assert own.probability[0] < without.probability[0]


def test_the_sentence_names_option_cost_unit_and_chance():
    result = compare(
        [
            worth("new bearings", 100.0, known(1.0, 500.0), pace=Estimate(8.0, 8.0, 8.0)),
            worth("new handpiece", 900.0, known(1.0, 500.0), pace=Estimate(8.0, 8.0, 8.0)),
        ]
    )
    # 100 over 8 x 500 (1 - exp(-1.4)) = 3,013.6 uses.
    assert text_of(result.message) == (
        "new bearings costs least per use: 0.033 (0.033 to 0.033), with a chance of more than 99%."
    )


@pytest.mark.parametrize(
    ("worths", "says"),
    [
        ([worth("a", 1.0, known(1.0, 5.0))], "1 options cannot be compared"),
        (
            [worth("a", 1.0, known(1.0, 5.0)), worth("b", 1.0, known(1.0, 5.0), pace=PACE)],
            "a is counted in days, b in uses",
        ),
        (
            [
                worth("a", 1.0, known(1.0, 5.0)),
                worth_of(Option(name="b", price=1.0, life=known(1.0, 5.0)), horizon=90.0),
            ],
            "take one horizon",
        ),
    ],
)
def test_it_refuses_what_cannot_be_compared(worths: list[Worth], says: str):
    with pytest.raises(InputError, match=says):
        compare(worths)


def test_it_refuses_to_be_sure_of_a_toss():
    pair = [worth("a", 1.0, known(1.0, 5.0)), worth("b", 2.0, known(1.0, 5.0))]
    with pytest.raises(InputError, match="sure is"):
        compare(pair, sure=0.4)
