"""Real bearing records of the Case Western Reserve University bearing data center.

The records are not part of the project: TURNWELL_RECORDS names the folder that holds them.
"""

import os
from pathlib import Path

import numpy as np
import pytest

from turnwell.sound.orders import Bearing, Part, bearing_reading, given_turning, orders_of

FOLDER = os.environ.get("TURNWELL_RECORDS")
pytestmark = pytest.mark.skipif(
    FOLDER is None, reason="TURNWELL_RECORDS does not name a folder of real bearing records"
)

# 6205 deep-groove bearing at the drive end, shaft at about 1797 rpm.
BEARING = Bearing(9, 7.94e-3, 39.04e-3)


def heard(name: str, rate_hz: float):
    from scipy.io import loadmat

    record = loadmat(Path(str(FOLDER)) / name)
    key = next(key for key in record if key.endswith("DE_time"))
    samples = record[key].ravel().astype(np.float32)
    shaft = given_turning(samples, rate_hz, 1797 / 60)
    return orders_of(samples, rate_hz, (shaft,), edge_hz=0.45 * rate_hz, bearing=BEARING)


def test_a_damaged_inner_ring_is_named():
    orders = heard("12k_DE_IR007_0.mat", 12_000.0)
    assert orders is not None
    assert orders.named_part is Part.INNER_RING
    inner = orders.parts[2]
    assert inner.place == pytest.approx(5.398, abs=0.02)
    assert inner.strongest is not None
    assert inner.strongest.level_db > 20.0
    assert bearing_reading(orders).value > 20.0


def test_a_whole_bearing_names_nothing():
    orders = heard("Normal_Normal_0.mat", 48_000.0)
    assert orders is not None
    assert orders.named_part is None
    assert not any(found.stands_out for found in orders.parts)
    for found in orders.parts:
        assert found.strongest is not None
        assert found.strongest.level_db <= 12.0
