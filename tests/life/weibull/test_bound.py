"""The bound of lives without a failure."""

import numpy as np
import pytest
from scipy.stats import chi2

from tests.life.weibull.published import ten_of_twenty
from turnwell.errors import InputError
from turnwell.life import Clock, Lives, scale_bound


def test_it_is_the_chi_square_bound():
    # [MEEKERESCOBAR1998], 8: scale >= (2 sum(t^b) / chi2(level, 2))^(1/b).
    ages = np.array([120.0, 340.0, 90.0, 500.0])
    bound = scale_bound(Lives.observed(ages, np.zeros(4), clock=Clock.CYCLES), shape=2.0, level=0.9)
    expected = (2.0 * np.sum(ages**2) / chi2.ppf(0.9, 2)) ** 0.5
    assert bound.low == pytest.approx(expected, rel=1e-12)
    assert bound.survival(200.0) == pytest.approx(np.exp(-((200.0 / expected) ** 2)), rel=1e-12)
    assert (bound.count, bound.clock, bound.level, bound.shape) == (4, Clock.CYCLES, 0.9, 2.0)


def test_so_long_a_watch_has_the_chance_that_it_claims():
    # At the bound, the chance that none fails is 1 - level, by definition; entry is no risk.
    ages, entry = np.array([300.0, 700.0]), np.array([100.0, 0.0])
    bound = scale_bound(Lives.observed(ages, [0, 0], entry=entry), shape=1.7)
    log_chance = -np.sum((ages / bound.low) ** 1.7 - (entry / bound.low) ** 1.7)
    assert np.exp(log_chance) == pytest.approx(0.05, rel=1e-12)


@pytest.mark.parametrize(
    ("lives", "options", "says"),
    [
        (ten_of_twenty(), {"shape": 1.0}, "10 of the lives failed"),
        (Lives.observed([5.0], [0]), {"shape": 0.0}, "shape is 0"),
        (Lives.observed([5.0], [0]), {"shape": np.nan}, "shape is nan"),
        (Lives.observed([5.0], [0]), {"shape": 1.0, "level": 1.0}, "level is 1"),
    ],
)
def test_it_refuses(lives: Lives, options: dict[str, float], says: str):
    with pytest.raises(InputError, match=says):
        scale_bound(lives, **options)


def test_survival_refuses_an_age_below_new():
    bound = scale_bound(Lives.observed([5.0], [0]), shape=1.0)
    with pytest.raises(InputError, match="age is -1"):
        bound.survival(-1.0)
