"""The whole analysis: what it asks, and what missing rows leave open."""

import numpy as np
import pytest

from turnwell.measure import Verdict
from turnwell.steam import Cycle, Load, LoadItem, Record, analyse
from turnwell.steam.water import saturation_pressure_kpa

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
