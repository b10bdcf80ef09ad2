"""Intervals cover as often as they say: a cheap part of what ``benchmarks life_weibull`` measures.

A count of runs has a spread of its own: a share is held against 93 to 97 % less and plus three
standard errors.
"""

from collections.abc import Callable

import numpy as np
import pytest

from tests.life.weibull.lives import SCALE, Watch, simulated
from turnwell.errors import CannotTellError
from turnwell.life import Estimate, WeibullFit, weibull_fit

RUNS = 500
SHAPE = 2.0
AGE = 500.0
ASKED: dict[str, tuple[float, Callable[[WeibullFit], Estimate]]] = {
    "shape": (SHAPE, lambda fit: fit.shape),
    "scale": (SCALE, lambda fit: fit.scale),
    "median": (SCALE * np.log(2.0) ** (1.0 / SHAPE), lambda fit: fit.median_life),
    "survival": (float(np.exp(-((AGE / SCALE) ** SHAPE))), lambda fit: fit.survival(AGE)),
}


@pytest.mark.parametrize("watch", list(Watch))
@pytest.mark.parametrize("count", [20, 100])
def test_intervals_cover_as_often_as_they_say(watch: Watch, count: int):
    rng = np.random.default_rng(count)
    held, told = dict.fromkeys(ASKED, 0), 0
    for _ in range(RUNS):
        try:
            fit = weibull_fit(simulated(watch, count, rng))
        except CannotTellError:
            continue
        told += 1
        for what, (truth, of) in ASKED.items():
            held[what] += of(fit).low <= truth <= of(fit).high
    assert told >= 0.98 * RUNS
    for what, count_held in held.items():
        share = count_held / told
        assert 0.93 - 3.0 * 0.0114 <= share <= 0.97 + 3.0 * 0.0076, (what, share)
