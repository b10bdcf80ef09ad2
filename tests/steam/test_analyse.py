"""The whole analysis: what it asks, and what missing rows leave open."""

from dataclasses import replace

import numpy as np
import pytest

from turnwell.errors import CannotTellError
from turnwell.measure import Verdict
from turnwell.steam import Cycle, FaultKey, Load, LoadItem, Record, StageKind, analyse
from turnwell.steam.water import saturation_pressure_kpa, saturation_temperature_c
from turnwell.words import text_of

PLAN = Cycle(set_c=134.0, band_k=4.0, hold_s=180.0)


def a_run(*, rest_kpa: float = 101.3, without: tuple[float, float] | None = None) -> Record:
    """One row a second: rest, heating, 240 s at 134.6 °C, exhaust, rest."""
    time_s = np.arange(0.0, 721.0)
    temperature = np.interp(
        time_s, (0.0, 60.0, 360.0, 600.0, 660.0, 720.0), (60.0, 60.0, 134.6, 134.6, 90.0, 88.0)
    )
    pressure = np.maximum(saturation_pressure_kpa(temperature), rest_kpa)
    keep = np.ones(time_s.size, dtype=bool)
    if without is not None:
        keep = (time_s < without[0]) | (time_s > without[1])
    return Record(time_s[keep], temperature[keep], pressure[keep])


def asked(record: Record, load: Load | None = None) -> set[str]:
    return {question.key for question in analyse(record, PLAN, load=load).questions}


def test_a_rest_that_is_not_the_air_of_the_place_is_asked_about():
    assert "place" in asked(a_run(rest_kpa=83.0))
    assert "place" not in asked(a_run(rest_kpa=98.0))


def test_what_was_said_is_not_asked():
    turbines = (LoadItem("Air turbines", 4, 70.0, 0.46),)
    assert "wet_at_start" in asked(a_run(), Load(turbines, pouches=4))
    assert "wet_at_start" not in asked(a_run(), Load(turbines, pouches=4, water_before_g=0.0))


@pytest.mark.parametrize("key", ["time_in_band_s", "f0_min"])
def test_rows_that_are_missing_prove_nothing_either_way(key: str):
    whole = analyse(a_run(), PLAN).reading(key)
    broken = analyse(a_run(without=(400.0, 560.0)), PLAN).reading(key)
    assert whole is not None
    assert broken is not None
    assert whole.value is not None
    assert broken.value is not None
    assert broken.high is not None
    assert broken.value < 0.7 * whole.value
    assert broken.high > 0.95 * whole.value
    assert broken.verdict is Verdict.NOT_PROVEN


def pumped(*, after_kpa: float, rest_kpa: float = 101.3) -> Record:
    """A run with two vacua to 15 kPa before the heating, and a pressure kept for 900 s after it."""
    times = (0, 60, 160, 210, 310, 460, 700, 760, 860, 1660, 1690, 1760)
    kpa = (101.3, 101.3, 15, 170, 15, 310, 310, 102, after_kpa, after_kpa, 101.3, 101.3)
    time_s = np.arange(0.0, 1761.0)
    pressure = np.interp(time_s, times, kpa) + (rest_kpa - 101.3)
    temperature = saturation_temperature_c(np.maximum(pressure - (rest_kpa - 101.3), 40.0))
    return Record(time_s, temperature, pressure, atmosphere_kpa=rest_kpa)


def test_standing_at_the_air_is_no_drying_where_a_pump_could_have_drawn():
    review = analyse(pumped(after_kpa=101.3), replace(PLAN, dry_s=720.0))
    assert review.course.stage(StageKind.DRYING) is None
    drying = review.reading("drying_time_s")
    assert drying is not None
    assert drying.verdict is Verdict.CANNOT_TELL
    assert [fault.key for fault in review.faults] == [FaultKey.DRYING_SHORTENED]
    assert "No vacuum was drawn" in text_of(review.faults[0].evidence)


def test_a_vacuum_for_as_long_as_planned_is_within():
    review = analyse(pumped(after_kpa=7.0), replace(PLAN, dry_s=900.0))
    drying = review.reading("drying_time_s")
    assert drying is not None
    assert drying.verdict is Verdict.WITHIN
    assert review.faults == ()


def test_without_a_pump_standing_proves_no_drying():
    """A gravity cycle that stands at the air after its exhaust: dried or merely stood."""
    record = a_run()
    late = np.arange(721.0, 1621.0)
    longer = replace(
        record,
        time_s=np.append(record.time_s, late),
        temperature_c=np.append(record.temperature_c, np.full(late.size, 88.0)),
        pressure_kpa=np.append(record.pressure_kpa, np.full(late.size, 101.3)),
    )
    drying = analyse(longer, replace(PLAN, dry_s=600.0)).reading("drying_time_s")
    assert drying is not None
    assert drying.verdict is Verdict.NOT_PROVEN
    assert "only stood" in text_of(drying.why)


def test_less_than_nothing_is_refused_with_what_to_check():
    with pytest.raises(CannotTellError, match=r"falls to -1\d.* kPa absolute.* check its height"):
        analyse(pumped(after_kpa=7.0, rest_kpa=83.4), PLAN)


def test_a_record_that_begins_under_pressure_tells_nothing_of_the_air_removal():
    whole = pumped(after_kpa=7.0)
    rows = whole.time_s >= 420.0
    late = replace(
        whole,
        time_s=whole.time_s[rows] - 420.0,
        temperature_c=whole.temperature_c[rows],
        pressure_kpa=whole.pressure_kpa[rows],
    )
    for key in ("air_removal_pulses", "air_removal_depth_kpa"):
        found = analyse(late, PLAN).reading(key)
        assert found is not None
        assert found.verdict is Verdict.CANNOT_TELL
