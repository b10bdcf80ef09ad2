"""Targets of intervals: each place gives its number back and moves as differences say."""

import numpy as np
import pytest

from turnwell.life.weibull.targets import (
    MeanTarget,
    QuantileTarget,
    ShapeTarget,
    SurvivalTarget,
    Target,
)

TARGETS = [ShapeTarget(), QuantileTarget(-0.37), SurvivalTarget(-0.6), MeanTarget()]
STEP = 1e-4


def at(target: Target, psi: float, other: float) -> np.ndarray:
    place = target.place(psi, other)
    return np.array([place.a, place.m])


@pytest.mark.parametrize("target", TARGETS, ids=lambda target: type(target).__name__)
@pytest.mark.parametrize(("psi", "other"), [(-0.4, 0.3), (0.7, -0.8), (-1.2, 1.1)])
def test_a_place_gives_its_number_back_and_moves_as_differences_say(
    target: Target, psi: float, other: float
):
    place = target.place(psi, other)
    assert target.of(place.a, place.m) == pytest.approx(psi, abs=1e-12)
    up, here, down = (at(target, psi, other + step) for step in (STEP, 0.0, -STEP))
    along, bend = (up - down) / (2.0 * STEP), (up - 2.0 * here + down) / STEP**2
    across = (at(target, psi + STEP, other) - at(target, psi - STEP, other)) / (2.0 * STEP)
    assert [place.along_a, place.along_m] == pytest.approx(along, abs=1e-6)
    assert [0.0, place.bend_m] == pytest.approx(bend, abs=1e-5)
    assert [place.across_a, place.across_m] == pytest.approx(across, abs=1e-6)
    assert place.stretch == pytest.approx(abs(np.linalg.det([across, along])), abs=1e-6)
