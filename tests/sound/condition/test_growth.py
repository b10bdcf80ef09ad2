"""How the rotation line grows: against coast-downs whose law is known."""

from functools import cache

import numpy as np
import pytest
from scipy import stats

from tests.sound.condition.sounds import coasting, echoed, resonating, structured, turning_of
from tests.sound.truth import make
from turnwell.measure import Verdict
from turnwell.sound.condition.growth import GrowthKind, _decided, growth_of
from turnwell.sound.condition.laws import Growing, Peak, judged
from turnwell.sound.condition.line_level import LineLevel, level_along
from turnwell.sound.gate.findings import GateFinding
from turnwell.sound.quantity import Quantity
from turnwell.sound.speed.turning import Turning
from turnwell.units import hz_to_rpm
from turnwell.words import Message

RATE_HZ = 48_000.0


def heard(truth, **changed):
    given = {"edge_hz": 24_000.0} | changed
    return growth_of(truth.samples, RATE_HZ, (turning_of(truth),), **given)


@cache
def coast(seed, **changed):
    return make(coasting(**changed), np.random.default_rng(seed), duration_s=4.0)


@pytest.mark.parametrize(
    ("exponent", "kind"),
    [
        (1.0, GrowthKind.NEITHER),
        (2.0, GrowthKind.UNBALANCE),
        (2.6, GrowthKind.UNBALANCE),
        (4.5, GrowthKind.NEITHER),
    ],
)
def test_the_known_exponent_is_found_and_named(exponent, kind):
    growth = heard(coast(1, exponent=exponent))
    assert growth.exponent.low <= exponent <= growth.exponent.high
    assert growth.exponent.value == pytest.approx(exponent, abs=0.05)
    assert growth.kind == kind
    assert growth.resonance_hz is None


def test_the_interval_holds_the_truth_in_nearly_all_of_many_coast_downs():
    rng = np.random.default_rng(2)
    held = 0
    for _ in range(16):
        exponent = rng.uniform(1.6, 3.0)
        quiet = coasting(exponent=exponent, room_db=rng.uniform(-40.0, -25.0))
        growth = heard(make(quiet, rng, duration_s=4.0))
        held += growth.exponent.low <= exponent <= growth.exponent.high
    # At 95 % by chance 12 or fewer of 16 in one case of 140.
    assert held >= 13


@pytest.mark.parametrize(("resonance_hz", "sharpness"), [(3_000.0, 6.0), (2_000.0, 20.0)])
def test_a_resonance_is_found_at_its_frequency(resonance_hz, sharpness):
    rng = np.random.default_rng(3)
    truth = make(coasting(exponent=2.0), rng, duration_s=4.0)
    truth = resonating(truth, rng, resonance_hz=resonance_hz, sharpness=sharpness)
    growth = heard(truth)
    assert growth.kind == GrowthKind.RESONANCE
    assert growth.resonance_hz.low <= resonance_hz <= growth.resonance_hz.high
    assert growth.resonance_hz.value == pytest.approx(resonance_hz, rel=0.01)
    assert growth.exponent.low <= 2.0 <= growth.exponent.high
    assert growth.reading.why.params["speed_rpm"] == hz_to_rpm(growth.resonance_hz.value)


def test_faint_echoes_are_no_resonance_and_widen_the_interval():
    rng = np.random.default_rng(4)
    truth = make(coasting(exponent=2.3), rng, duration_s=4.0)
    clear, blurred = heard(truth), heard(echoed(truth, rng, strength=0.1))
    assert blurred.kind == GrowthKind.UNBALANCE
    assert blurred.exponent.low <= 2.3 <= blurred.exponent.high
    assert blurred.exponent.high - blurred.exponent.low > 2.0 * (
        clear.exponent.high - clear.exponent.low
    )


def test_gain_does_not_matter():
    truth = coast(5, exponent=2.2)
    quieter = heard(truth.heard_as(0.07 * truth.samples))
    assert quieter.exponent.value == pytest.approx(heard(truth).exponent.value, abs=1e-4)


def test_an_error_of_the_track_and_a_knock_do_not_matter():
    truth = coast(6, exponent=2.2)
    right = turning_of(truth)
    rng = np.random.default_rng(7)
    off = right.rotation_hz * (1.0 + 5e-4 * rng.standard_normal(right.time_s.size))
    knocked = truth.samples.copy()
    knocked[100_000:100_200] += rng.uniform(-0.4, 0.4, 200).astype(np.float32)
    wrong = Turning(right.kind, right.time_s, off, right.sd_hz)
    growth = growth_of(knocked, RATE_HZ, (wrong,), edge_hz=24_000.0)
    assert growth.exponent.value == pytest.approx(2.2, abs=0.05)


def test_two_coast_downs_give_the_mean_of_both():
    first, second = coast(8, exponent=2.0), coast(9, exponent=2.0)
    both = np.concatenate([first.samples, 0.3 * second.samples])
    later = turning_of(second)
    moved = Turning(later.kind, later.time_s + 4.0, later.rotation_hz, later.sd_hz)
    growth = growth_of(both, RATE_HZ, (turning_of(first), moved), edge_hz=24_000.0)
    assert growth.exponent.low <= 2.0 <= growth.exponent.high
    assert growth.kind == GrowthKind.UNBALANCE


def test_a_straight_line_is_fitted_as_least_squares_fits_it():
    """Against scipy.stats.linregress; wider, since a ripple cannot be ruled out."""
    rng = np.random.default_rng(10)
    rotation_hz = np.geomspace(800.0, 6_500.0, 50)
    octaves_db = 20.0 * np.log10(rotation_hz)
    level_db = 2.1 * octaves_db + rng.standard_normal(50)
    usual = stats.linregress(octaves_db, level_db)
    growing = judged(rotation_hz, level_db, np.ones(50))
    assert growing.exponent.value == pytest.approx(usual.slope, abs=0.1 * usual.stderr)
    half = 0.5 * (growing.exponent.high - growing.exponent.low)
    assert 0.95 < half / (1.96 * usual.stderr) < 2.0


def test_noise_alone_is_evidence_against_a_peak():
    rng = np.random.default_rng(11)
    rotation_hz = np.geomspace(800.0, 6_500.0, 50)
    level_db = 40.0 * np.log10(rotation_hz) + rng.standard_normal((20, 50))
    evidence = [judged(rotation_hz, row, np.ones(50)).log_evidence for row in level_db]
    assert np.median(evidence) < -0.5
    assert np.sum(np.array(evidence) > 3.0) <= 1


def test_the_level_follows_the_line_free_of_noise_beneath():
    truth = coast(12, exponent=2.0, room_db=-25.0)
    level = level_along(truth.samples, RATE_HZ, turning_of(truth), edge_hz=24_000.0)
    share = level.rotation_hz / truth.handpiece.steady_hz
    true_db = 20.0 * np.log10(truth.scale * share**2 / np.sqrt(2.0))
    off = (level.level_db - true_db) / level.sd_db
    assert abs(np.mean(off)) < 0.5
    assert np.sqrt(np.mean(off**2)) < 1.5
    # White noise of a few hertz' width cannot be heard in the loud half at all.
    assert np.abs(level.level_db - true_db)[share > 0.5].max() < 0.5


def test_without_noise_the_level_is_exact_wherever_the_blocks_fall():
    truth = coast(20, exponent=2.5, room_db=-90.0)
    level = level_along(truth.samples, RATE_HZ, turning_of(truth), edge_hz=24_000.0)
    share = level.rotation_hz / truth.handpiece.steady_hz
    true_db = 20.0 * np.log10(truth.scale * share**2.5 / np.sqrt(2.0))
    assert np.abs(level.level_db - true_db)[share > 0.2].max() < 0.06


@pytest.mark.parametrize("strength", [0.05, 0.15])
def test_modes_of_a_structure_are_in_the_interval(strength):
    rng = np.random.default_rng(21)
    held = 0
    for _ in range(12):
        truth = structured(coast(22, exponent=2.4), rng, strength=strength)
        exponent = heard(truth).exponent
        held += exponent.low <= 2.4 <= exponent.high
    # At 95 % by chance 9 or fewer of 12 in one case of 50.
    assert held >= 10


def test_a_peak_of_no_height_is_no_resonance():
    rng = np.random.default_rng(23)
    rotation_hz = np.geomspace(800.0, 6_500.0, 52)
    away = 8.0 * (rotation_hz / 2_500.0 - 2_500.0 / rotation_hz)
    level_db = 40.0 * np.log10(rotation_hz) + 2.2 / (1.0 + away**2)
    level = LineLevel(np.arange(167, 219), level_db, np.full(52, 0.02))
    growing = judged(rotation_hz, level_db + 0.02 * rng.standard_normal(52), level.sd_db)
    assert growing.log_evidence > 3.0
    assert _decided(level, growing).kind == GrowthKind.UNBALANCE


def test_a_level_that_rises_and_falls_is_neither():
    rotation_hz = np.geomspace(800.0, 6_500.0, 52)
    level_db = 40.0 * np.log10(rotation_hz) + 6.0 * np.sin(9.0 * np.log(rotation_hz))
    level = LineLevel(np.arange(167, 219), level_db, np.full(52, 0.2))
    growth = _decided(level, judged(rotation_hz, level_db, level.sd_db))
    assert growth.kind == GrowthKind.NEITHER
    assert growth.why.key == "condition.growth.ripple"


def test_too_little_range_is_refused():
    truth = coast(13, exponent=2.0)
    whole = turning_of(truth)
    part = whole.rotation_hz > 0.6 * whole.rotation_hz[0]
    short = Turning(whole.kind, whole.time_s[part], whole.rotation_hz[part], whole.sd_hz[part])
    growth = growth_of(truth.samples, RATE_HZ, (short,), edge_hz=24_000.0)
    assert growth.kind == GrowthKind.CANNOT_TELL
    assert growth.reading.verdict == Verdict.CANNOT_TELL
    assert growth.as_dict()["exponent"] is None
    assert "factor of 2 is needed" in growth.as_dict()["why"]


def test_a_line_in_noise_is_refused():
    growth = heard(coast(14, exponent=2.0, room_db=0.0, line_to_noise_db=0.0))
    assert growth.kind == GrowthKind.CANNOT_TELL


def test_an_unsure_track_is_not_used():
    truth = coast(15, exponent=2.0)
    whole = turning_of(truth)
    unsure = Turning(whole.kind, whole.time_s, whole.rotation_hz, 0.1 * whole.rotation_hz)
    assert level_along(truth.samples, RATE_HZ, whole, edge_hz=24_000.0).span > 4.0
    assert level_along(truth.samples, RATE_HZ, unsure, edge_hz=24_000.0).span == 1.0


def test_noise_alone_has_no_level():
    turning = turning_of(coast(15, exponent=2.0))
    noise = 0.1 * np.random.default_rng(18).standard_normal(192_000).astype(np.float32)
    assert level_along(noise, RATE_HZ, turning, edge_hz=24_000.0).span < 1.2


@pytest.mark.parametrize(("evidence", "kind"), [(2.9, "unbalance"), (3.1, "resonance")])
def test_a_resonance_is_named_from_twenty_to_one_on(evidence, kind):
    level = LineLevel(np.arange(167, 219), np.linspace(-40.0, 0.0, 52), np.full(52, 0.2))
    two = Quantity(2.0, 1.9, 2.1)
    peak = Peak(Quantity(3_000.0, 2_950.0, 3_050.0), 8.0, 6.0, two)
    assert _decided(level, Growing(evidence, two, 0.5, peak)).kind.value == kind


@pytest.mark.parametrize("key", ["gain_rides", "clipped", "noise_suppressed"])
def test_untrue_levels_are_refused_with_their_reason(key):
    message = Message("sound.gate.silent")
    finding = GateFinding(key, message, ("condition", "level"))
    growth = heard(coast(16, exponent=2.0), gate=(finding,))
    assert growth.kind == GrowthKind.CANNOT_TELL
    assert growth.why.params["finding"] == message


def test_a_coding_that_cuts_high_tones_takes_nothing_from_one_line():
    finding = GateFinding("codec_edge", Message("sound.gate.silent"), ("condition",))
    assert heard(coast(17, exponent=2.0), gate=(finding,)).exponent is not None
