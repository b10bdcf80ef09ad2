"""Damaged parts are found and named, whole bearings are not, and what cannot be heard is said."""

import numpy as np
import pytest
from scipy import stats

from tests.sound.defects import Defect, defective
from tests.sound.orders.cases import MINIATURE, Case, case, order_of
from tests.sound.orders.test_spectrum import spectrum_of, turned_noise, with_line
from turnwell.sound.orders import Bearing, Part, orders_of
from turnwell.sound.orders.decision import decide
from turnwell.sound.orders.evidence import judge
from turnwell.sound.segment import SegmentKind
from turnwell.sound.speed.turning import Turning
from turnwell.words import text_of

RINGS_AND_BALL = (Part.OUTER_RING, Part.INNER_RING, Part.BALL)


@pytest.mark.parametrize("part", RINGS_AND_BALL)
@pytest.mark.parametrize(("rate_hz", "amplitude"), [(96_000.0, 0.03), (48_000.0, 0.1)])
def test_a_damaged_ring_or_ball_is_named(part: Part, rate_hz: float, amplitude: float):
    orders = case(21, part, amplitude, rate_hz=rate_hz).orders()
    assert orders is not None
    assert orders.named_part is part
    others = [found for found in orders.parts if found.part is not part]
    assert not any(found.stands_out for found in others)


def test_a_damaged_ball_of_a_loud_bearing_speaks_for_no_cage():
    """A ball's impulses swell once a turn of the cage, which shows in the envelope by itself."""
    orders = case(22, Part.BALL, 0.3).orders()
    assert orders is not None
    assert [found.part for found in orders.parts if found.stands_out] == [Part.BALL]


def test_a_rubbing_cage_is_named_from_the_slow_part_of_the_coast_down():
    orders = case(23, Part.CAGE, 0.3).orders()
    assert orders is not None
    assert orders.named_part is Part.CAGE
    cage = orders.parts[0]
    assert cage.spectrum is not None
    assert cage.spectrum.speed_high_hz <= 2_700.0
    assert orders.decision is not None
    assert "not damaged" not in text_of(orders.decision.why)


def test_without_a_coast_down_a_cage_is_out_of_reach():
    orders = case(23, Part.CAGE, 1.0, coasts=False).orders()
    assert orders is not None
    cage = orders.parts[0]
    assert not cage.is_reached
    assert cage.false_alarm is None
    why = orders.why_out_of_reach(cage)
    assert why is not None
    assert "slowly" in text_of(why)
    assert orders.named_part is None


def test_at_full_speed_48_khz_hears_no_inner_ring():
    orders = case(24, Part.INNER_RING, 3.0, rate_hz=48_000.0, coasts=False).orders()
    assert orders is not None
    inner = next(line for line in orders.lines if line.part == "inner_ring")
    assert inner.why_not is not None
    assert "more samples a second" in text_of(inner.why_not)
    assert not orders.parts[2].is_reached


@pytest.mark.parametrize("seed", range(30, 36))
def test_a_whole_bearing_is_not_named(seed: int):
    orders = case(seed).orders()
    assert orders is not None
    assert orders.named_part is None
    assert orders.decision is not None
    assert "would have been seen" in text_of(orders.decision.why)


def test_the_chance_of_a_false_alarm_holds_in_noise():
    """Of 120 spectra of noise the least chance of four parts is no smaller than it says."""
    rng = np.random.default_rng(5)
    bearing = Bearing(9, 7.94e-3, 39.04e-3)
    least = []
    for _ in range(120):
        parts = judge((spectrum_of(turned_noise(600, rng)),), bearing)
        least.append(min(found.false_alarm for found in parts if found.is_reached))
    found = np.array(least)
    # All parts and places are counted, so the least of them is itself a chance.
    assert stats.binomtest(int(np.sum(found <= 0.1)), 120, 0.1, "greater").pvalue > 0.01
    assert stats.binomtest(int(np.sum(found <= 0.01)), 120, 0.01, "greater").pvalue > 0.01
    # Nor is it so careful as to be of no use.
    assert np.sum(found <= 0.3) > 12


def test_a_recording_full_of_strange_lines_raises_its_own_limit():
    rng = np.random.default_rng(6)
    bearing = Bearing(9, 7.94e-3, 39.04e-3)
    clean = turned_noise(2_000, rng)
    strange = clean
    for order in np.arange(0.3, 15.5, 0.043):
        strange = with_line(strange, order + rng.uniform(0, 0.02), 0.08)
    limit = {
        name: next(f for f in judge((spectrum_of(t),), bearing) if f.part is Part.INNER_RING)
        for name, t in (("clean", clean), ("strange", strange))
    }
    assert limit["strange"].limit_db > limit["clean"].limit_db + 3.0
    assert not limit["strange"].stands_out


def test_a_few_strange_lines_elsewhere_make_a_line_here_less_of_a_surprise():
    """They hardly widen the scatter of all bins, but combs at random places meet them."""
    rng = np.random.default_rng(61)
    bearing = Bearing(9, 7.94e-3, 39.04e-3)
    clean = with_line(turned_noise(2_000, rng), 5.415, 0.07)
    strange = clean
    for order in np.arange(0.2, 15.8, 0.35):
        if abs(order % 5.415) > 0.2:
            strange = with_line(strange, order + rng.uniform(0, 0.1), 0.15)
    spectra = [spectrum_of(t, stretch=SegmentKind.COAST_DOWN) for t in (clean, strange)]
    assert spectra[1].overdispersion < 1.5
    alone, among = (judge((spectrum,), bearing)[2] for spectrum in spectra)
    assert alone.stands_out
    assert among.surprise < 0.3 * alone.surprise
    assert among.limit_db > alone.limit_db + 1.5


def test_a_speed_that_may_be_off_widens_the_search():
    rng = np.random.default_rng(62)
    bearing = Bearing(9, 7.94e-3, 39.04e-3)
    beyond = 1.006 * bearing.span(Part.OUTER_RING).high
    noise = with_line(turned_noise(2_000, rng), beyond, 0.2)
    for speed_error, is_found in ((0.0, False), (0.005, True)):
        outer = judge((spectrum_of(noise, speed_error=speed_error),), bearing)[1]
        assert outer.stands_out is is_found


def test_lines_that_stand_out_only_together_name_nothing():
    rng = np.random.default_rng(63)
    bearing = Bearing(9, 7.94e-3, 39.04e-3)
    noise = turned_noise(2_000, rng)
    for order in (3.585, 7.17, 10.755):
        noise = with_line(noise, order, 0.035)
    parts = judge((spectrum_of(noise, stretch=SegmentKind.COAST_DOWN),), bearing)
    assert parts[1].stands_out
    decision = decide(parts, bearing)
    assert decision.named is None
    assert "none clearly by itself" in text_of(decision.why)


def test_two_parts_of_like_strength_are_not_told_apart():
    rng = np.random.default_rng(7)
    bearing = Bearing(9, 7.94e-3, 39.04e-3)
    noise = turned_noise(2_000, rng)
    for order in (3.585, 5.415):
        noise = with_line(noise, order, 0.12)
    parts = judge((spectrum_of(noise, stretch=SegmentKind.COAST_DOWN),), bearing)
    decision = decide(parts, bearing)
    assert decision.named is None
    assert "neither leads" in text_of(decision.why)


def test_parts_of_one_order_are_said_to_be_inseparable():
    rng = np.random.default_rng(8)
    bearing = Bearing(7, 0.79375e-3, 4.7625e-3)
    noise = with_line(turned_noise(2_000, rng), 2.9167 * 2, 0.4)
    decision = decide(judge((spectrum_of(noise),), bearing), bearing)
    assert decision.named is None
    assert "cannot tell them apart" in text_of(decision.why)


def test_lines_of_the_sound_itself_name_nothing_where_an_envelope_can_be_had():
    """A slow shaft: balls of a whole bearing make a pure line, impulses ring high up."""
    rng = np.random.default_rng(9)
    rate_hz, count = 24_000.0, 240_000
    time_s = np.arange(count) / rate_hz
    shaft = Turning(SegmentKind.STEADY, time_s[[0, -1]], np.full(2, 50.0), np.full(2, 0.05))
    bearing = Bearing(9, 7.94e-3, 39.04e-3)
    noise = 0.01 * rng.standard_normal(count)
    turn = 2 * np.pi * 50.0 * 3.585 * time_s
    pure = noise + 0.1 * np.cos(turn) + 0.1 * np.cos(2 * turn)
    orders = orders_of(
        pure.astype(np.float32), rate_hz, (shaft,), edge_hz=10_800.0, bearing=bearing
    )
    assert orders is not None
    assert orders.named_part is None
    struck = np.zeros(count)
    struck[
        (np.cumsum(1 + 0.01 * rng.standard_normal(1_700)) / (50 * 3.585) * rate_hz).astype(int)
    ] = 1
    ring = np.exp(-time_s[:400] * 4_000) * np.sin(2 * np.pi * 6_000 * time_s[:400])
    sound = noise + 0.05 * np.convolve(struck, ring)[:count]
    orders = orders_of(
        sound.astype(np.float32), rate_hz, (shaft,), edge_hz=10_800.0, bearing=bearing
    )
    assert orders is not None
    assert orders.named_part is Part.OUTER_RING


def test_a_tone_from_elsewhere_is_no_part_of_the_bearing():
    """A whine at a constant frequency meets the order of the outer ring while the speed is held."""
    made = case(27)
    steady = made.stretches[0]
    whine_hz = MINIATURE.order(Part.OUTER_RING) * float(np.mean(steady.rotation_hz))
    whine = 0.1 * made.truth.line_1_rms * np.cos(2 * np.pi * whine_hz * made.truth.time_s)
    whining = made.truth.heard_as(made.truth.samples + whine)
    alone = Case(whining, made.stretches[:1]).orders()
    assert alone is not None
    assert alone.parts[1].stands_out
    assert alone.named_part is None
    assert alone.decision is not None
    assert "tone from elsewhere" in text_of(alone.decision.why)
    coasting = Case(whining, made.stretches).orders()
    assert coasting is not None
    assert not coasting.parts[1].stands_out


def test_two_lines_at_a_constant_speed_name_a_part():
    orders = case(28, Part.OUTER_RING, 0.3, coasts=False).orders()
    assert orders is not None
    assert orders.named_part is Part.OUTER_RING


def test_too_short_a_stretch_gives_no_orders():
    made = case(25)
    steady = made.stretches[0]
    few = Turning(steady.kind, steady.time_s[:2], steady.rotation_hz[:2], steady.sd_hz[:2])
    short = Turning(few.kind, few.time_s[0] + np.array([0.0, 0.005]), few.rotation_hz, few.sd_hz)
    assert Case(made.truth, (short,)).orders() is None
    assert Case(made.truth, ()).orders() is None


def test_a_defect_in_one_of_two_runs_is_found():
    made = case(26)
    order = order_of(Part.OUTER_RING, MINIATURE.ratio)
    struck = defective(made.truth, Defect(order, 0.1), np.random.default_rng(1))
    steady, down = made.stretches
    half = down.time_s.size // 2
    parts = [
        Turning(down.kind, down.time_s[s], down.rotation_hz[s], down.sd_hz[s])
        for s in (slice(0, half), slice(half - 1, None))
    ]
    orders = Case(struck, (steady, *parts)).orders()
    assert orders is not None
    assert orders.named_part is Part.OUTER_RING
