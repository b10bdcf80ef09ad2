"""Missing values, cut records and pressures that cannot be: answered or "cannot tell", no crash."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.steam.scene import DYNAMIC, GRAVITY, dried, dynamic, gravity
from turnwell.errors import CannotTellError
from turnwell.measure import Verdict
from turnwell.steam.cycle import Cycle, Sensors
from turnwell.steam.faults import faults_of
from turnwell.steam.readings import LethalityScale, readings_of
from turnwell.steam.record import Record
from turnwell.steam.stages import course_of
from turnwell.words import text_of

RUNS = (dried(dynamic()).record(step_s=5), gravity().record(step_s=5))


def answer(record: Record, cycle: Cycle) -> None:
    try:
        course = course_of(record, cycle)
    except CannotTellError:
        return
    readings = readings_of(record, cycle, course, Sensors(), other=LethalityScale(134.0, 10.0))
    for reading in readings:
        assert text_of(reading.why)
        assert (reading.value is None) == (reading.verdict is Verdict.CANNOT_TELL)
    assert all(text_of(fault.evidence) for fault in faults_of(record, cycle, course, Sensors()))


@settings(max_examples=60, deadline=None)
@given(
    st.integers(0, 1),
    st.sampled_from([DYNAMIC, GRAVITY, Cycle(), Cycle(set_c=134.0)]),
    st.integers(0, 2**32 - 1),
    st.floats(0.0, 1.0),
    st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)),
)
def test_holes_and_cuts(
    which: int, cycle: Cycle, seed: int, share: float, cut: tuple[float, float]
):
    run, rng = RUNS[which], np.random.default_rng(seed)
    first, last = sorted(int(part * (run.time_s.size - 3)) for part in cut)
    rows = slice(first, last + 3)
    temperature, pressure = run.temperature_c[rows].copy(), run.pressure_kpa[rows].copy()
    temperature[rng.random(temperature.size) < share] = np.nan
    pressure[rng.random(pressure.size) < share] = np.nan
    record = replace(run, time_s=run.time_s[rows], temperature_c=temperature, pressure_kpa=pressure)
    answer(record, cycle)


@pytest.mark.parametrize("pressure_kpa", [-5.0, 0.0, 101.3, 1e5, np.nan])
@pytest.mark.parametrize("cycle", [DYNAMIC, Cycle()])
def test_pressures_that_cannot_be(pressure_kpa: float, cycle: Cycle):
    answer(replace(RUNS[0], pressure_kpa=np.full(RUNS[0].time_s.size, pressure_kpa)), cycle)
