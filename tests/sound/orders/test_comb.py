"""The surprise of a comb is an exponential variable in noise, and grows with a line."""

import numpy as np
import pytest
from scipy import stats

from tests.sound.orders.test_spectrum import spectrum_of, turned_noise, with_line
from turnwell.sound.orders import comb as combs
from turnwell.sound.orders.comb import Comb, Family, Judged, limit_power, surprise


def judged_noise(seed: int, turns: int = 2_000, *lines: tuple[float, float]) -> Judged:
    noise = turned_noise(turns, np.random.default_rng(seed))
    for order, amplitude in lines:
        noise = with_line(noise, order, amplitude)
    spectrum = spectrum_of(noise)
    return Judged(spectrum, spectrum.is_open)


@pytest.mark.parametrize("sides", [0, 1, 2])
@pytest.mark.parametrize("harmonics", [1, 2, 3])
def test_the_chance_of_a_sum_agrees_with_drawn_sums(sides, harmonics):
    """Draw u + min(v, u) + min(w, u) and count."""
    rng = np.random.default_rng(10 * sides + harmonics)
    drawn = rng.exponential(size=(200_000, harmonics, 1 + sides))
    total = np.minimum(drawn, drawn[:, :, :1]).sum(axis=(1, 2))
    kind = harmonics * 4**sides
    for level in (1.0, 4.0, 8.0):
        share = np.mean(total > level)
        chance = np.exp(-combs._sum_surprise(np.array([level]), np.array([kind]))[0])
        assert chance == pytest.approx(share, abs=4 * np.sqrt(share / 200_000) + 1e-5)


@pytest.mark.parametrize("comb", [Comb(2.765), Comb(4.235, 1.0), Comb(4.5525, 0.395)])
@pytest.mark.parametrize("turns", [300, 2_000])
def test_the_surprise_of_noise_is_exponential(comb, turns):
    values = []
    for seed in range(10):
        judged = judged_noise(seed, turns)
        places = np.arange(0.6, 1.8, 0.02) * comb.order
        value, kind = surprise(judged, comb, places)
        values.append(value[kind > 0])
    found = np.concatenate(values)
    assert found.size > 400
    assert stats.kstest(found, stats.expon.cdf).pvalue > 1e-4


def test_the_line_surprise_is_that_of_a_gamma_variable():
    """Wilson and Hilferty's cube root against the exact tail in scipy."""
    for shape in (4.0, 15.0, 90.0):
        for chance in (0.3, 1e-2, 1e-4):
            power = stats.gamma(shape, scale=1.0 / shape).isf(chance)
            found = combs._line_surprise(np.array([power]), np.array([shape]))[0]
            assert found == pytest.approx(-np.log(chance), rel=0.05, abs=0.02)


def test_a_line_beside_proves_nothing_without_the_line_between():
    judged = judged_noise(3, 2_000, (3.235, 0.3))
    value, _ = surprise(judged, Comb(4.235, 1.0), np.array([4.235]))
    assert value[0] < 12.0
    both = judged_noise(3, 2_000, (3.235, 0.3), (4.235, 0.3))
    alone = judged_noise(3, 2_000, (4.235, 0.3))
    with_side = surprise(both, Comb(4.235, 1.0), np.array([4.235]))[0][0]
    assert with_side > 1.3 * surprise(alone, Comb(4.235, 1.0), np.array([4.235]))[0][0] > 100.0


def test_the_limit_is_the_power_that_reaches_the_surprise():
    judged = judged_noise(4)
    power = limit_power(judged, Comb(2.765), 2.765, 12.0)
    freedom = float(judged.spectrum.freedom[round(2.765 * 256)])
    alone = combs._line_surprise(np.array([power]), np.array([freedom]))[0]
    total = np.array([alone + 2.0])
    assert combs._sum_surprise(total, np.array([3]))[0] == pytest.approx(12.0, abs=0.05)
    assert limit_power(judged, Comb(2.765), 30.0, 12.0) == np.inf


def test_closed_bins_say_nothing():
    judged = judged_noise(5, 2_000, (2.765, 0.5))
    closed = judged.without(Family(2.765))
    assert surprise(judged, Comb(2.765), np.array([2.765]))[0][0] > 100.0
    assert surprise(closed, Comb(2.765), np.array([2.765]))[0][0] == 0.0


def test_a_strong_family_reaches_farther_and_holds_its_side_lines():
    weak, strong = (list(Family(4.235, 1.0, power).lines(16.0)) for power in (1.0, 1e4))
    assert all(one.low >= other.low for one, other in zip(weak, strong, strict=True))
    first = next(line for line in strong if abs(line.value - 4.235) < 1e-9)
    assert first.holds(4.235 + 0.1)
    assert not first.holds(4.235 + 0.2)
    orders = [line.value for line in weak]
    for expected in (1.0, 3.235, 5.235, 8.47, 9.47):
        assert any(abs(order - expected) < 1e-9 for order in orders)
