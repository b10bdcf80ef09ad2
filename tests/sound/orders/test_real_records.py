"""Real bearing records of the Case Western Reserve University bearing data center.

The records are not part of the project: TURNWELL_RECORDS names the folder that holds them.
"""

import os
from pathlib import Path

import numpy as np
import pytest

from turnwell.sound import Bearing, Expectation, Listening, analyse, recording_of
from turnwell.sound.orders import Part

FOLDER = os.environ.get("TURNWELL_RECORDS")
pytestmark = pytest.mark.skipif(
    FOLDER is None, reason="TURNWELL_RECORDS does not name a folder of real bearing records"
)

# 6205 deep-groove bearing at the drive end, shaft at about 1797 rpm.
BEARING = Bearing(9, 7.94e-3, 39.04e-3)


def heard(name: str, rate_hz: float) -> Listening:
    from scipy.io import loadmat

    record = loadmat(Path(str(FOLDER)) / name)
    key = next(key for key in record if key.endswith("DE_time"))
    samples = record[key].ravel()
    known = Expectation(shaft_speed_rpm=1797.0, bearing=BEARING)
    return analyse(recording_of(0.9 * samples / np.abs(samples).max(), rate_hz), known)


def test_a_damaged_inner_ring_is_named():
    listening = heard("12k_DE_IR007_0.mat", 12_000.0)
    assert listening.orders.named_part is Part.INNER_RING
    inner = listening.orders.parts[2]
    assert inner.place == pytest.approx(5.398, abs=0.02)
    found = listening.reading("bearing_evidence")
    assert found.verdict == "outside"
    assert found.value > 20.0


def test_a_whole_bearing_names_nothing():
    listening = heard("Normal_Normal_0.mat", 48_000.0)
    assert listening.gate == ()
    assert listening.reading("bearing_evidence").verdict == "cannot tell"
    assert not any(found.stands_out for found in listening.orders.parts)
    for found in listening.orders.parts:
        assert found.strongest.level_db <= 12.0
