"""Whatever the recording holds, order analysis answers or says that it cannot; no warnings."""

import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.sound.orders.cases import MINIATURE
from turnwell.sound.orders import bearing_reading, orders_of
from turnwell.sound.segment import SegmentKind
from turnwell.sound.speed.turning import Turning


def stretch(kind: SegmentKind, first_s: float, last_s: float, *speeds_hz: float) -> Turning:
    speed_hz = np.array(speeds_hz)
    time_s = np.linspace(first_s, last_s, speed_hz.size)
    return Turning(kind, time_s, speed_hz, 1e-4 * np.abs(speed_hz))


STEADY = stretch(SegmentKind.STEADY, 0.5, 2.5, 6_500.0, 6_480.0, 6_500.0)
DOWN = stretch(SegmentKind.COAST_DOWN, 2.5, 3.9, 6_500.0, 3_000.0, 1_200.0, 0.0)


@pytest.mark.parametrize("kind", ["silence", "constant", "one click", "half silent", "1 bit"])
@pytest.mark.parametrize("bearing", [MINIATURE, None])
def test_sounds_without_a_line_name_nothing(kind, bearing):
    samples = np.zeros(4 * 48_000, np.float32)
    if kind == "constant":
        samples += 0.3
    if kind == "one click":
        samples[150_000] = 1.0
    if kind == "half silent":
        samples[::2] = 0.01 * np.random.default_rng(1).standard_normal(samples.size // 2)
        samples[140_000:] = 0.0
    if kind == "1 bit":
        samples = np.sign(np.random.default_rng(2).standard_normal(samples.size))
    orders = orders_of(
        samples.astype(np.float32), 48_000.0, (STEADY, DOWN), edge_hz=21_600.0, bearing=bearing
    )
    assert orders is None or orders.named_part is None
    assert bearing_reading(orders).value is None


@settings(max_examples=30, deadline=None)
@given(
    rate_hz=st.sampled_from([8_000.0, 16_000.0, 44_100.0, 192_000.0]),
    speed_hz=st.floats(20.0, 9_000.0),
    end=st.floats(0.0, 1.2),
    edge_share=st.floats(0.05, 0.48),
)
def test_any_rate_edge_and_speed_is_answered(rate_hz, speed_hz, end, edge_share):
    rng = np.random.default_rng(3)
    samples = (0.1 * rng.standard_normal(int(1.5 * rate_hz))).astype(np.float32)
    stretches = (
        stretch(SegmentKind.STEADY, -0.1, 0.7, speed_hz, speed_hz),
        stretch(SegmentKind.COAST_DOWN, 0.8, 1.9, speed_hz, end * speed_hz),
    )
    orders = orders_of(samples, rate_hz, stretches, edge_hz=edge_share * rate_hz, bearing=MINIATURE)
    if orders is not None:
        document = orders.as_dict()
        assert all(np.isfinite(row["level_db"]).all() for row in document["spectra"])
        evidence = orders.evidence_as_dict()
        assert evidence is not None
        assert len(evidence["parts"]) == 4


def test_steady_pieces_that_follow_one_another_are_judged_as_one():
    samples = np.random.default_rng(6).standard_normal(4 * 48_000).astype(np.float32)
    pieces = (
        stretch(SegmentKind.STEADY, 0.5, 1.5, 2_000.0, 2_000.0),
        stretch(SegmentKind.STEADY, 1.52, 2.5, 2_000.0, 2_000.0),
    )
    turns = []
    for given_pieces in (pieces[:1], pieces):
        orders = orders_of(samples, 48_000.0, given_pieces, edge_hz=21_600.0, bearing=MINIATURE)
        assert orders is not None
        turns.append(orders.spectra[0].turns)
    assert turns == pytest.approx([2_000, 4_000], abs=3)


def test_a_speed_that_is_hardly_known_is_not_used():
    samples = np.random.default_rng(4).standard_normal(4 * 48_000).astype(np.float32)
    vague = Turning(STEADY.kind, STEADY.time_s, STEADY.rotation_hz, 0.01 * STEADY.rotation_hz)
    assert orders_of(samples, 48_000.0, (vague,), edge_hz=21_600.0, bearing=MINIATURE) is None


def test_memory_is_bounded_however_long_the_recording_is():
    """Of two minutes no more is held than of twenty seconds."""
    peaks = []
    for seconds in (20, 120):
        samples = np.random.default_rng(5).standard_normal(seconds * 48_000).astype(np.float32)
        steady = stretch(SegmentKind.STEADY, 1.0, seconds - 1.0, 700.0, 705.0, 700.0)
        tracemalloc.start()
        orders_of(samples, 48_000.0, (steady,), edge_hz=21_600.0, bearing=MINIATURE)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < 1.1 * peaks[0]
