"""Roughness: against noise whose power in an order is known."""

from functools import cache

import numpy as np
import pytest
from scipy import signal, stats

from tests.sound.condition.sounds import coasting, rough, turning_of
from turnwell.measure import Verdict
from turnwell.sound.condition.between_lines import Room, _density, coast_noise
from turnwell.sound.condition.roughness import roughness_limit, roughness_of
from turnwell.sound.gate.findings import GateFinding
from turnwell.sound.speed.turning import Turning
from turnwell.words import Message

RATE_HZ = 48_000.0
QUIET = ((0.0, 0.55), (4.6, 5.0))


def heard(truth, **changed):
    given = {"free_hz": truth.handpiece.steady_hz, "quiet": QUIET, "edge_hz": 24_000.0} | changed
    return roughness_of(truth.samples, RATE_HZ, (turning_of(truth),), **given)


@cache
def sound(seed, over_line_db=-15.0, *, power=1.0, **changed):
    rng = np.random.default_rng(seed)
    return rough(coasting(**changed), rng, over_line_db=over_line_db, power=power)


@pytest.mark.parametrize("over_line_db", [-20.0, -12.0, -4.0])
@pytest.mark.parametrize("power", [0.5, 2.0])
def test_the_known_roughness_is_found(over_line_db, power):
    made = sound(1, over_line_db, power=power)
    found = heard(made.truth).level_db
    assert found.value == pytest.approx(made.level_db, abs=0.6)


def test_the_interval_holds_the_truth_in_nearly_all_of_many_coast_downs():
    held = 0
    for seed in range(16):
        made = sound(seed, steady_hz=5_000.0 + 100.0 * seed)
        found = heard(made.truth).level_db
        held += found.low <= made.level_db <= found.high
    assert held >= 13


def test_gain_does_not_matter():
    made = sound(2)
    fainter = heard(made.truth.heard_as(0.05 * made.truth.samples)).level_db
    assert fainter.value == pytest.approx(heard(made.truth).level_db.value, abs=1e-3)


def test_the_noise_of_the_room_is_taken_off():
    made = sound(3, -18.0, room_db=-22.0)
    turning = turning_of(made.truth)
    coast = coast_noise(made.truth.samples, RATE_HZ, turning, free_hz=6_500.0)
    raw_db = 10.0 * np.log10(coast.noise / coast.line)
    found = heard(made.truth).level_db
    assert raw_db - made.level_db > 1.0
    assert found.low <= made.level_db <= found.high


def test_two_coast_downs_say_how_much_they_differ():
    first, second = sound(4), sound(5, -13.0)
    both = np.concatenate([first.truth.samples, second.truth.samples])
    later = turning_of(second.truth)
    moved = Turning(later.kind, later.time_s + 5.0, later.rotation_hz, later.sd_hz)
    found = roughness_of(
        both,
        RATE_HZ,
        (turning_of(first.truth), moved),
        free_hz=6_500.0,
        quiet=QUIET,
        edge_hz=24_000.0,
    ).level_db
    assert found.value == pytest.approx(0.5 * (first.level_db + second.level_db), abs=0.4)
    # Student's t of one degree of freedom: 12.7 times half their difference.
    assert found.high - found.low > 12.0


def test_lines_leave_nothing_between_them():
    """A smooth handpiece in a silent room: lines alone, 60 dB and more above what is left."""
    made = sound(6, -120.0, room_db=-120.0, amplitudes=(1.0, 1.0, 1.0), exponent=1.0)
    turning = turning_of(made.truth)
    coast = coast_noise(made.truth.samples, RATE_HZ, turning, free_hz=6_500.0)
    assert 10.0 * np.log10(coast.noise / coast.line) < -55.0


def test_the_density_is_that_of_welch():
    """Against scipy.signal.welch with its own Blackman-Harris window."""
    samples = np.random.default_rng(7).standard_normal(48_000).astype(np.float32)
    size = 256
    frames = np.lib.stride_tricks.sliding_window_view(samples, size)[:: size // 2]
    _, usual = signal.welch(
        samples, RATE_HZ, window="blackmanharris", nperseg=size, noverlap=size // 2, detrend=False
    )
    own = _density(frames, RATE_HZ).mean(axis=0)
    assert own[1:-1] == pytest.approx(usual[1:-1], rel=2e-3)


def test_the_limit_is_the_one_sided_bound_for_one_more_value():
    """95 % upper prediction bound: mean + t(0.95, n - 1) s sqrt(1 + 1/n) [scipy.stats.t]."""
    earlier = (-21.0, -20.2, -20.9, -19.8)
    limit = roughness_limit(earlier)
    bound = np.mean(earlier) + stats.t.ppf(0.95, 3) * np.std(earlier, ddof=1) * np.sqrt(1.25)
    assert limit.low is None
    assert limit.high == pytest.approx(bound, abs=0.005)


def test_two_earlier_values_set_no_limit():
    assert roughness_limit((-20.0, -21.0)) is None
    reading = heard(sound(8).truth, baseline_db=(-20.0, -21.0)).reading
    assert reading.verdict == Verdict.NO_LIMIT


@pytest.mark.parametrize(("over_line_db", "verdict"), [(-15.0, "within"), (-9.0, "outside")])
def test_the_verdict_is_held_against_the_own_earlier_values(over_line_db, verdict):
    made, usual = sound(9, over_line_db), sound(9).level_db
    earlier = (usual - 0.5, usual + 0.5, usual - 0.3, usual + 0.7, usual)
    assert heard(made.truth, baseline_db=earlier).reading.verdict.value == verdict


def test_smoother_than_before_is_within():
    made, usual = sound(10, -20.0), sound(9).level_db
    earlier = (usual - 0.5, usual + 0.5, usual - 0.3, usual + 0.7, usual)
    assert heard(made.truth, baseline_db=earlier).reading.verdict == Verdict.WITHIN


@pytest.mark.parametrize(
    ("key", "changed"),
    [
        ("no_quiet", {"quiet": ()}),
        ("no_quiet", {"quiet": ((0.0, 0.01),)}),
        ("edge", {"edge_hz": 12_000.0}),
        ("edge", {"free_hz": 11_000.0}),
        ("short", {"free_hz": 8_900.0}),
        ("gate", {"gate": (GateFinding("clipped", Message("sound.gate.silent"), ("level",)),)}),
    ],
)
def test_what_cannot_be_told_is_refused(key, changed):
    roughness = heard(sound(11).truth, **changed)
    assert roughness.why.key == f"condition.roughness.{key}"
    assert roughness.reading.verdict == Verdict.CANNOT_TELL
    assert roughness.as_dict() is None


def test_a_handpiece_quieter_than_the_room_is_refused():
    roughness = heard(sound(12, -40.0, room_db=-15.0).truth)
    assert roughness.why.key == "condition.roughness.room"


def test_less_than_three_decibels_above_the_room_is_refused():
    roughness = heard(sound(3, -24.0, room_db=-22.0).truth)
    assert roughness.why.key == "condition.roughness.room"


def test_an_unsteady_room_widens_the_interval():
    made = sound(13, -15.0, room_db=-25.0)
    uneven = made.truth.samples.copy()
    uneven[: int(0.4 * RATE_HZ)] *= 1.8
    steady = heard(made.truth).level_db
    unsteady = heard(made.truth.heard_as(uneven)).level_db
    assert unsteady.high - unsteady.low > 1.2 * (steady.high - steady.low)


def test_a_long_silence_is_heard_in_bounded_work():
    samples = np.random.default_rng(14).standard_normal(3_000_000).astype(np.float32)
    room = Room.heard(samples, RATE_HZ, ((0.0, 60.0),))
    assert room.density.shape[0] == 24
    assert room.density.mean() == pytest.approx(2.0 / RATE_HZ, rel=0.02)


def test_air_that_flows_before_the_run_up_is_heard_is_not_the_room():
    made = sound(15, -15.0)
    late = heard(made.truth, quiet=((0.0, 0.65), (3.5, 5.0))).level_db
    assert late.low <= made.level_db <= late.high
