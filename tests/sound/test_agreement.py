"""Agreement with a tachometer: published examples, exact intervals, and what it does to a speed."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from tests.sound.truth import Handpiece, make
from turnwell.errors import InputError
from turnwell.sound import Expectation, analyse, recording_of
from turnwell.sound.agreement import (
    Agreement,
    SpeedPair,
    agreement_of,
    check_sentence,
    limits_of,
    outliers_of,
    own_check_part,
)
from turnwell.words import text_of

# Bland and Altman, Lancet 1986;327:307-310, table: peak expiratory flow of 17 people, first reading
# with either meter, l/min (from memory).
LARGE = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
SMALL = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
# Rosner's 54 values as the NIST/SEMATECH handbook prints them, 1.3.5.17.3 (from memory).
ROSNER = [
    *[-0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56],
    *[1.58, 1.65, 1.69, 1.70, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10],
    *[2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40, 2.47, 2.54, 2.62, 2.64, 2.90, 2.92],
    *[2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01],
]


def made(
    rng: np.random.Generator,
    *,
    count: int = 12,
    bias_ppm: float = 0.0,
    sd_ppm: float = 80.0,
    error_rpm: float | None = 40.0,
) -> list[SpeedPair]:
    tachometer = rng.uniform(300_000.0, 420_000.0, count)
    heard = tachometer * (1.0 + 1e-6 * (bias_ppm + sd_ppm * rng.standard_normal(count)))
    return [SpeedPair(h, t, error_rpm) for h, t in zip(heard, tachometer, strict=True)]


def test_it_repeats_the_published_example():
    found = limits_of(np.subtract(LARGE, SMALL).astype(float))
    # Printed: mean difference -2.1, sd 38.8; from these rounded, limits -79.7 and 75.5; of the
    # bias an interval of -22.0 to 17.8.
    assert round(found.bias.value, 1) == -2.1
    assert round(found.sd, 1) == 38.8
    assert found.bias.value - 2.0 * found.sd == pytest.approx(-79.7, abs=0.1)
    assert found.bias.value + 2.0 * found.sd == pytest.approx(75.5, abs=0.1)
    assert (found.bias.low, found.bias.high) == pytest.approx((-22.0, 17.8), abs=0.2)
    assert found.lower.value == pytest.approx(found.bias.value - 1.96 * found.sd, abs=0.01)


def test_intervals_of_the_limits_are_those_of_the_noncentral_t():
    differences = np.subtract(LARGE, SMALL).astype(float)
    found = limits_of(differences)
    step = found.sd / np.sqrt(17.0)
    shift = 1.959964 * np.sqrt(17.0)
    near, far = (stats.nct.ppf(tail, 16, shift) * step for tail in (0.025, 0.975))
    assert found.upper.low == pytest.approx(found.bias.value + near, rel=1e-6)
    assert found.upper.high == pytest.approx(found.bias.value + far, rel=1e-6)
    assert found.lower.low == pytest.approx(found.bias.value - far, rel=1e-6)
    # The paper's own approximation, ± t sqrt(3 s²/n), is -114.3 to -45.1 for the lower limit; the
    # exact interval is not even about it and reaches farther out.
    assert found.lower.low < -114.3
    assert found.lower.high == pytest.approx(-45.1, abs=10.0)


def test_intervals_hold_the_true_limits_as_often_as_they_say():
    rng = np.random.default_rng(7)
    held = np.zeros(3)
    for _ in range(1_500):
        found = limits_of(rng.normal(3.0, 2.0, 10))
        truth = (3.0 - 1.959964 * 2.0, 3.0, 3.0 + 1.959964 * 2.0)
        for at, part in enumerate((found.lower, found.bias, found.upper)):
            held[at] += part.low <= truth[at] <= part.high
    assert np.all(np.abs(held / 1_500 - 0.95) < 0.02)


def test_outliers_are_those_of_the_published_example():
    # The handbook finds three: 5.34, 5.42 and 6.01.
    assert outliers_of(ROSNER) == (51, 52, 53)


def test_two_outliers_do_not_hide_each_other():
    calm = np.random.default_rng(1).standard_normal(18).tolist()
    assert outliers_of([*calm, 30.0, 31.0]) == (18, 19)


def test_healthy_values_are_seldom_called_outliers():
    rng = np.random.default_rng(2)
    named = sum(bool(outliers_of(rng.standard_normal(20))) for _ in range(600))
    assert named / 600 < 0.08


def test_equal_values_have_no_outlier():
    assert outliers_of([5.0] * 12) == ()


def test_an_outlier_is_named_and_stays_in():
    pairs = made(np.random.default_rng(3), count=14)
    wrong = SpeedPair(pairs[4].tachometer_rpm * 1.01, pairs[4].tachometer_rpm, 40.0)
    found = agreement_of([*pairs[:4], wrong, *pairs[5:]])
    assert found is not None
    assert found.outliers == (4,)
    assert found.limits.count == 14
    assert found.limits.sd > 2_000.0


def test_below_ten_pairs_there_is_no_agreement():
    pairs = made(np.random.default_rng(4), count=10)
    assert agreement_of(pairs[:9]) is None
    assert isinstance(agreement_of(pairs), Agreement)


@settings(max_examples=40, deadline=None)
@given(st.floats(-500.0, 500.0), st.integers(10, 60), st.integers(0, 1_000))
def test_a_bias_put_in_comes_out(bias_ppm: float, count: int, seed: int):
    found = agreement_of(made(np.random.default_rng(seed), count=count, bias_ppm=bias_ppm))
    assert found is not None
    spread = 80.0 / np.sqrt(count)
    assert found.limits.bias.value == pytest.approx(bias_ppm, abs=6.0 * spread)
    assert found.limits.lower.value < found.limits.bias.value < found.limits.upper.value


def test_a_difference_that_grows_with_speed_is_seen():
    rng = np.random.default_rng(5)
    tachometer = np.linspace(100_000.0, 400_000.0, 12)
    heard = tachometer * (1.0 + 1e-6 * (100.0 * tachometer / 1e5 + 5.0 * rng.standard_normal(12)))
    pairs = [SpeedPair(h, t, 40.0) for h, t in zip(heard, tachometer, strict=True)]
    found = agreement_of(pairs)
    assert found is not None
    assert found.slope is not None
    assert found.changes_with_speed
    assert found.slope.low < 100.0 < found.slope.high
    # The same as a library's regression of the differences on the means.
    other = stats.linregress([p.mean_rpm / 1e5 for p in pairs], [p.difference_ppm for p in pairs])
    assert found.slope.value == pytest.approx(other.slope, rel=1e-9)
    half = stats.t.ppf(0.975, 10) * other.stderr
    assert found.slope.high - found.slope.value == pytest.approx(half, rel=1e-9)


def test_speeds_all_alike_have_no_slope():
    pairs = [SpeedPair(400_000.0 + 10.0 * n, 400_000.0, 40.0) for n in range(10)]
    found = agreement_of(pairs)
    assert found is not None
    assert found.slope is None
    assert not found.changes_with_speed


@pytest.mark.parametrize("bias", [0.0, 0.5, 1.0, 2.0, 5.0])
def test_the_part_holds_the_next_speed_although_the_bias_stays_in(bias: float):
    # Shops whose microphone errs by a fixed bias and a spread of 1, checked with ten pairs against
    # a tachometer that errs by a fixed amount within ± 1.5: does the interval hold the next error?
    rng = np.random.default_rng(6)
    count, held, trials = 10, 0, 1_500
    for _ in range(trials):
        tachometer = 400_000.0 * (1.0 + 1e-6 * rng.uniform(-150.0, 150.0))
        heard = 400_000.0 * (1.0 + 1e-6 * (100.0 * bias + 100.0 * rng.standard_normal(count)))
        pairs = [SpeedPair(value, tachometer, 60.0) for value in heard]
        part = own_check_part(agreement_of(pairs), 400_000.0)
        assert part is not None
        error_rpm = 0.4 * (100.0 * bias + 100.0 * rng.standard_normal())
        factor = stats.t.ppf(0.975, part.degrees)
        held += abs(error_rpm) <= factor * part.standard
    assert held / trials >= 0.94


def test_without_the_tachometers_error_the_check_is_not_used():
    found = agreement_of(made(np.random.default_rng(8), error_rpm=None))
    assert found is not None
    assert found.standard_ppm is None
    assert own_check_part(found, 400_000.0) is None
    assert "no error is stated" in text_of(check_sentence(found, 100.0))


def test_the_standard_uncertainty_is_the_sum_of_its_three_parts():
    alike = [SpeedPair(400_000.0, 400_000.0, 40.0)] * 10
    found = agreement_of(alike)
    assert found is not None
    # 40 in 400,000 is 100 ppm, rectangular; no bias, no spread.
    assert found.standard_ppm == pytest.approx(100.0 / np.sqrt(3.0))
    assert found.degrees == np.inf
    spread = [SpeedPair(400_000.0 + 40.0 * (-1) ** n, 400_000.0, 0.0) for n in range(10)]
    found = agreement_of(spread)
    assert found is not None
    # ± 100 ppm in turns: variance 10/9 of 100², once more for the mean.
    assert found.standard_ppm == pytest.approx(100.0 * np.sqrt(10.0 / 9.0 * 1.1), rel=1e-3)
    assert found.degrees == pytest.approx(9.0, rel=1e-3)


def test_of_several_tachometers_the_worst_counts():
    pairs = made(np.random.default_rng(12))
    worse = [*pairs[:-1], SpeedPair(400_000.0, 400_000.0, 400.0)]
    found = agreement_of(worse)
    assert found is not None
    assert found.tachometer_ppm == pytest.approx(1_000.0)
    assert agreement_of([*pairs[:-1], SpeedPair(4e5, 4e5, None)]).tachometer_ppm is None


def test_the_sentence_says_what_stands_behind_a_speed():
    assert "No own check" in text_of(check_sentence(None, 100.0))
    found = agreement_of(made(np.random.default_rng(9), bias_ppm=200.0, sd_ppm=10.0))
    assert "12 pairs with a tachometer" in text_of(check_sentence(found, 100.0))
    assert "bias +0.020 %" in text_of(check_sentence(found, 100.0))


def test_the_check_takes_the_place_of_the_clock_in_a_speed():
    truth = make(Handpiece(release_s=None), np.random.default_rng(10), duration_s=3.0)
    recording = recording_of(truth.samples, truth.rate_hz)
    own_check = agreement_of(made(np.random.default_rng(9), bias_ppm=400.0, sd_ppm=10.0))
    assert own_check is not None
    assert own_check.standard_ppm is not None
    before = analyse(recording).readings[0]
    after = analyse(recording, Expectation(own_check=own_check)).readings[0]
    assert after.value == before.value
    assert before.half_width == pytest.approx(before.value * 95e-6, rel=0.05)
    factor = stats.t.ppf(0.975, own_check.degrees)
    expected = after.value * factor * own_check.standard_ppm * 1e-6
    assert after.half_width == pytest.approx(expected, rel=0.02)
    assert "No own check" in text_of(before.why)
    assert "12 pairs" in text_of(after.why)


def test_the_document_is_plain():
    found = agreement_of(made(np.random.default_rng(11)))
    assert found is not None
    document = found.as_dict()
    assert document["count"] == 12
    assert document["bias_ppm"]["low"] < document["bias_ppm"]["value"]
    assert document["standard_ppm"] == found.standard_ppm


@pytest.mark.parametrize(
    "wrong", [(0.0, 1.0, None), (1.0, float("nan"), None), (1.0, -1.0, None), (1.0, 1.0, -1.0)]
)
def test_an_impossible_pair_is_refused(wrong: tuple[float, float, float | None]):
    with pytest.raises(InputError, match="must be"):
        SpeedPair(*wrong)


def test_too_few_differences_are_refused():
    with pytest.raises(InputError, match="at least 3"):
        limits_of([1.0, 2.0])
