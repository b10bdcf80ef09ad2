"""The invented cycle records hold the run that they claim, and the story that the offices have."""

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from turnwell.demo.cycles import STEP_S, Run, record_bytes
from turnwell.steam import Cycle, Record, StageKind
from turnwell.steam.stages import course_of

RUN = Run(datetime(2026, 5, 8, 17, 12), atmosphere_kpa=83.4)  # noqa: DTZ001  (a bare clock)


def read(run: Run, seed: int = 3) -> Record:
    lines = record_bytes(run, np.random.default_rng(seed)).decode().splitlines()[1:]
    cells = [line.split(";") for line in lines]
    clocks = [datetime.fromisoformat(row[0]) for row in cells]
    return Record(
        np.array([(clock - clocks[0]).total_seconds() for clock in clocks]),
        np.array([float(row[1]) for row in cells]),
        np.array([float(row[2]) for row in cells]),
        atmosphere_kpa=run.atmosphere_kpa,
        started_at=clocks[0],
    )


@pytest.mark.parametrize("dry_s", [1210.0, 500.0])
def test_a_run_has_its_stages_in_their_lengths(dry_s: float) -> None:
    course = course_of(read(replace(RUN, dry_s=dry_s)), Cycle(set_c=134.0, band_k=4.0))
    # Three with steam, and the vacuum before the heating.
    assert len(course.pulses) == RUN.pulses + 1
    plateau, drying = course.stage(StageKind.PLATEAU), course.stage(StageKind.DRYING)
    assert plateau is not None
    assert plateau.duration_s == pytest.approx(RUN.hold_s, abs=60.0)
    assert drying is not None
    assert drying.duration_s == pytest.approx(dry_s, abs=4 * STEP_S)


def test_a_run_without_a_pump_reaches_its_plateau() -> None:
    run = replace(RUN, set_c=121.0, hold_s=1230.0, dry_s=1810.0, pulses=0)
    course = course_of(read(run), Cycle(set_c=121.0, band_k=4.0))
    plateau = course.stage(StageKind.PLATEAU)
    assert plateau is not None
    assert plateau.duration_s == pytest.approx(1230.0, abs=90.0)


def test_the_same_seed_gives_the_same_record() -> None:
    first = record_bytes(RUN, np.random.default_rng(5))
    assert first == record_bytes(RUN, np.random.default_rng(5))
    assert first != record_bytes(RUN, np.random.default_rng(6))
