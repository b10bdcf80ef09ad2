"""What tells a shaft from its octaves, from a second shaft, and from what else hums or sings."""

import numpy as np
import pytest

from tests.sound.defects import Defect, defective
from tests.sound.speed.surroundings import compressor, drone
from tests.sound.truth import Handpiece, make
from turnwell.sound import Expectation, analyse, recording_of
from turnwell.sound.speed.claims import claim_of
from turnwell.sound.speed.phase import refined
from turnwell.sound.speed.plateaus import Plateau
from turnwell.sound.speed.runs import Run

BIN_HZ = 7.8125
MOTOR = Expectation(handpiece_class="low_speed_air_motor")
TURBINE = Expectation(handpiece_class="air_turbine_4_hole")


def settled_hz(rotation_hz, over, found, *, extra_hz=(), seed=1):
    """Rotation frequency settled on when a multiple of it was followed, 14 spectra of noise."""
    rng = np.random.default_rng(seed)
    power = rng.exponential(1.0, (14, 2_600))
    for order, by in enumerate(over, start=1):
        power[:, round(order * rotation_hz / BIN_HZ)] *= by
    for at_hz in extra_hz:
        power[:, round(at_hz / BIN_HZ)] *= 100.0
    lines = np.log1p(power).astype(np.float32)
    plateau = Plateau(np.arange(14), np.full(14, found * rotation_hz), 1.0)
    claim = claim_of(plateau, lines, lines, BIN_HZ, low_hz=80.0, high_hz=8_400.0, is_known=True)
    return claim.plateau.median_hz


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize(
    ("over", "found"),
    [
        ((11, 1, 1, 40, 1, 6, 12), 2),
        ((11, 1, 1, 40), 4),
        ((11, 5, 1, 2, 50, 1, 8, 9), 5),
        ((11, 1, 1, 1, 1, 60), 3),
        ((11, 8, 1, 1, 1, 30), 6),
    ],
)
def test_a_weak_line_one_settles_the_octave(over, found, seed):
    at_hz = 40 * BIN_HZ
    assert settled_hz(at_hz, over, found, seed=seed) == pytest.approx(at_hz)


@pytest.mark.parametrize("seed", range(10))
def test_lines_of_hum_do_not_make_a_slower_shaft(seed):
    # Hum every 50 Hz up to 2 kHz falls near some line of every slower series.
    extra_hz = np.arange(50.0, 2_000.0, 50.0)
    found_hz = settled_hz(83 * BIN_HZ, (200, 100, 100), 1, extra_hz=extra_hz, seed=seed)
    assert found_hz == pytest.approx(83 * BIN_HZ)


def test_the_flank_of_a_strong_line_is_no_line():
    time_s = np.arange(3 * 48_000) / 48_000.0
    noise = 1e-5 * np.random.default_rng(3).standard_normal(time_s.size)
    samples = 0.4 * np.cos(2 * np.pi * 90.0 * time_s) + noise
    reading = analyse(recording_of(samples, 48_000.0), MOTOR).readings[0]
    assert reading.value == pytest.approx(5_400.0, rel=1e-4)


def two_shafts(rng, first_hz, second_hz, over_db):
    first, second = (
        make(Handpiece(steady_hz=hz, start_s=None, release_s=None), rng, duration_s=2.5)
        for hz in (first_hz, second_hz)
    )
    samples = first.samples / first.scale + 10 ** (over_db / 20) * second.samples / second.scale
    return 0.4 * samples / np.abs(samples).max()


@pytest.mark.parametrize(
    ("first_hz", "second_hz", "expectation"),
    [(6_500.0, 5_700.0, TURBINE), (3_100.0, 4_200.0, TURBINE), (333.0, 410.0, MOTOR)],
)
def test_two_shafts_equally_loud_are_refused_and_a_faint_one_is_left_out(
    first_hz, second_hz, expectation
):
    rng = np.random.default_rng(4)
    both = two_shafts(rng, first_hz, second_hz, 0.0)
    reading = analyse(recording_of(both, 48_000.0), expectation).readings[0]
    assert reading.value is None
    assert reading.why.key == "sound.no_speed.several_tones"
    faint = two_shafts(rng, first_hz, second_hz, -26.0)
    reading = analyse(recording_of(faint, 48_000.0), expectation).readings[0]
    assert reading.value == pytest.approx(60.0 * first_hz, rel=1e-3)


def test_a_turbine_just_above_the_range_is_not_called_by_half_its_speed():
    handpiece = Handpiece(steady_hz=8_360.0, start_s=None, release_s=None)
    truth = make(handpiece, np.random.default_rng(5), duration_s=2.0)
    reading = analyse(recording_of(truth.samples, 48_000.0), TURBINE).readings[0]
    assert reading.value == pytest.approx(501_600.0, rel=1e-3)


@pytest.mark.parametrize("seed", range(8))
def test_held_notes_that_tremble_are_no_motor(seed):
    rng = np.random.default_rng([6, seed])
    samples = 0.3 * drone(150_000, 48_000.0, rng, voices=1) + 1e-4 * rng.standard_normal(150_000)
    assert analyse(recording_of(samples, 48_000.0), MOTOR).readings[0].value is None


@pytest.mark.parametrize("seed", range(12))
def test_drifting_motors_do_not_tremble(seed):
    handpiece = Handpiece(
        steady_hz=333.3, start_s=None, release_s=None, drift=0.003, wander=3e-4, drift_s=2.0
    )
    truth = make(handpiece, np.random.default_rng([7, seed]), duration_s=4.0)
    reading = analyse(recording_of(truth.samples, 48_000.0), MOTOR).readings[0]
    assert reading.value is not None, reading.why
    assert reading.value / 60.0 == pytest.approx(truth.mean_hz(0.0, 4.0), rel=1e-3)


@pytest.mark.parametrize("seed", range(8))
def test_a_compressor_is_no_motor(seed):
    rng = np.random.default_rng([8, seed])
    samples = 0.3 * compressor(144_000, 48_000.0, rng) + 1e-4 * rng.standard_normal(144_000)
    assert analyse(recording_of(samples, 48_000.0), MOTOR).readings[0].value is None


@pytest.mark.parametrize("seed", [2, 49, 86, 89, 108, 203])
def test_a_compressor_heard_for_a_second_or_two_is_no_motor(seed):
    rng = np.random.default_rng([9, seed])
    count = int(rng.uniform(1.1, 1.8) * 48_000)
    samples = 0.3 * compressor(count, 48_000.0, rng) + 1e-4 * rng.standard_normal(count)
    assert analyse(recording_of(samples, 48_000.0)).readings[0].value is None


@pytest.mark.parametrize("seed", [8, 16, 26, 52, 105, 238])
def test_high_lines_of_held_notes_are_no_turbine(seed):
    rng = np.random.default_rng([10, seed])
    count = int(rng.uniform(2.0, 4.0) * 48_000)
    samples = 0.3 * drone(count, 48_000.0, rng, voices=3) + 1e-4 * rng.standard_normal(count)
    assert analyse(recording_of(samples, 48_000.0), TURBINE).readings[0].value is None


@pytest.mark.parametrize(
    ("first_hz", "second_hz", "expectation"),
    # Closer than the spectra of the search tell apart; at 3/2 but for 0.4 %.
    [(414.0, 432.0, MOTOR), (5_480.0, 8_254.0, TURBINE)],
)
def test_a_second_shaft_close_by_or_near_a_multiple_is_refused(first_hz, second_hz, expectation):
    both = two_shafts(np.random.default_rng(11), first_hz, second_hz, 2.0)
    reading = analyse(recording_of(both, 48_000.0), expectation).readings[0]
    assert reading.value is None
    assert reading.why.key == "sound.no_speed.several_tones"


@pytest.mark.parametrize(
    ("speed_hz", "amplitude"), [(3_000.0, 1.0), (5_333.0, 1.0), (5_333.0, 2.0), (6_333.0, 2.0)]
)
def test_a_worn_bearing_is_no_second_shaft(speed_hz, amplitude):
    rng = np.random.default_rng(12)
    handpiece = Handpiece(steady_hz=speed_hz, start_s=None, release_s=None, line_to_noise_db=20.0)
    truth = make(handpiece, rng, duration_s=2.5)
    # Seven balls: order 2.77 of the outer ring, which rings the head.
    ring = Defect(order=2.765, amplitude=amplitude, resonance_hz=11_000.0, quality=8.0)
    worn = defective(truth, ring, rng)
    worn = defective(worn, Defect(order=0.395, amplitude=1.0, is_rub=True), rng)
    reading = analyse(recording_of(worn.samples, 48_000.0)).readings[0]
    assert reading.value is not None, reading.why
    assert reading.value / 60.0 == pytest.approx(speed_hz, rel=1e-3)


STEPS = {"step_s": 0.016, "coarse_step_s": 0.024}


def run_of_lines(over_noise, sources_hz):
    """Refine 438.8 Hz where each line is there at so many times the noise, at a source's lines."""
    rng = np.random.default_rng(13)
    time_s = np.arange(3 * 48_000) / 48_000.0
    samples = 0.02 * rng.standard_normal(time_s.size)
    for at_hz, size in zip(sources_hz, over_noise, strict=True):
        samples += size * np.cos(2 * np.pi * at_hz * time_s + rng.uniform(0, 6))
    nodes = np.array([0.0, 3.0]), np.full(2, 438.8)
    track = refined(samples.astype(np.float32), 48_000.0, *nodes, (1, 2, 3, 4), **STEPS)
    return Run((track,), 0.0, 3.0, False, None, None)


@pytest.mark.parametrize(
    ("sizes", "lines_hz", "agree"),
    [
        ((0.02, 0.02, 0.02, 0.02), (438.8, 877.6, 1_316.4, 1_755.2), True),
        ((0.02,), (438.8,), True),
        # Lines 3 and 6 of 292.5 Hz lie at 2 and 4; line 1 is another's, 0.9 Hz off.
        ((0.01, 0.02, 0.03), (439.7, 877.6, 1_755.2), False),
        ((0.03,), (1_755.2,), False),
        ((0.0,), (438.8,), False),
    ],
)
def test_lines_of_one_shaft_turn_together(sizes, lines_hz, agree):
    assert run_of_lines(sizes, lines_hz).lines_agree == agree


@pytest.mark.parametrize("rate_hz", [4.5, 5.5, 6.5])
def test_a_shallow_tremble_of_one_rate_is_no_motor(rate_hz):
    rng = np.random.default_rng(14)
    time_s = np.arange(3 * 48_000) / 48_000.0
    bend = 1.0 + 0.002 * np.sin(2 * np.pi * rate_hz * time_s)
    turns = np.cumsum(196.0 * bend) / 48_000.0
    samples = 0.1 * np.cos(2 * np.pi * turns) + 0.02 * rng.standard_normal(time_s.size)
    assert analyse(recording_of(samples, 48_000.0)).readings[0].value is None


@pytest.mark.parametrize(("over_db", "is_refused"), [(-12.0, True), (-19.0, False)])
def test_a_second_shaft_counts_within_15_db(over_db, is_refused):
    both = two_shafts(np.random.default_rng(15), 6_500.0, 5_700.0, over_db)
    reading = analyse(recording_of(both, 48_000.0), TURBINE).readings[0]
    assert (reading.value is None) == is_refused


def test_two_speeds_in_turns_are_refused():
    rng = np.random.default_rng(16)
    parts = []
    for speed_hz, duration_s in ((4_620.0, 1.1), (6_877.0, 0.6), (4_620.0, 0.6)):
        handpiece = Handpiece(steady_hz=speed_hz, start_s=None, release_s=None)
        truth = make(handpiece, rng, duration_s=duration_s)
        parts.append(truth.samples / truth.scale)
    samples = np.concatenate(parts)
    samples *= 0.3 / np.abs(samples).max()
    reading = analyse(recording_of(samples, 48_000.0), TURBINE).readings[0]
    assert reading.value is None
    assert reading.why.key == "sound.no_speed.several_tones"


@pytest.mark.parametrize(("others", "refusal"), [(0, None), (7, "several_tones")])
def test_lines_too_weak_for_one_spectrum_count_on_average(others, refusal):
    rng = np.random.default_rng(17)
    power = rng.exponential(1.0, (80, 2_600))
    power[:, 60] *= 6.0
    # Beside the series, and no series of their own.
    power[:, [35, 83, 101, 146, 197, 259, 331][:others]] *= 4.0
    lines = np.log1p(power).astype(np.float32)
    plateau = Plateau(np.arange(80), np.full(80, 60.0 * BIN_HZ), 1.0)
    claim = claim_of(plateau, lines, lines, BIN_HZ, low_hz=80.0, high_hz=750.0, is_known=True)
    assert claim.refusal == refusal
