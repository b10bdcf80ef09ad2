"""Tests, measurements, and the readings computed from them."""

from math import inf, nan

import pytest

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import (
    a_blank_test,
    a_gauge,
    a_handpiece,
    a_job,
    a_model,
    bring_to,
    measure_speed,
)
from turnwell.catalogue import load
from turnwell.errors import ChangedMeanwhileError, InputError, NotAllowedError, StageError
from turnwell.web.jobs import actions
from turnwell.web.jobs.measurands import MEASURANDS, in_own_unit
from turnwell.web.jobs.models import Measurement, Stage, StoredReading, Test
from turnwell.web.jobs.tests_on_file import standing_tests

pytestmark = pytest.mark.django_db


def measure(test: Test, **fields: object) -> Measurement:
    return actions.add_measurement(
        **{
            "by": theo_the_technician(),
            "test": test,
            "reading_key": "chuck_extraction_force",
            "values": [27.0, 28.0, 26.0],
            "unit": "N",
        }
        | fields
    )


def test_a_measurement_gives_a_reading_with_its_interval() -> None:
    # [JCGM100] 4.2.3: the standard uncertainty of the mean of 26, 27, 28 is 1 / sqrt(3); Student's
    # t for 2 degrees of freedom and 95 % is 4.303 (table G.2, from memory).
    row = measure(a_blank_test(a_job())).readings.get()

    assert row.value == pytest.approx(27.0)
    assert row.reading.low == pytest.approx(27.0 - 4.303 / 3**0.5, abs=0.001)
    assert row.reading.limit.low == 22.0
    assert row.verdict == "within"


def test_the_gauge_goes_into_the_interval() -> None:
    test = a_blank_test(a_job())
    gauge = a_gauge(name="pull gauge", kind="force_gauge", unit="N", resolution=1, stated_error=3)

    with_gauge = measure(test, instrument=gauge).readings.get().reading
    without = measure(test).readings.get().reading
    assert with_gauge.half_width > without.half_width


def test_one_value_says_that_its_spread_is_unknown() -> None:
    test = a_blank_test(a_job())
    gauge = a_gauge(name="pull gauge", kind="force_gauge", unit="N", resolution=1, stated_error=0)
    reading = measure(test, values=[27.0], instrument=gauge).readings.get().reading

    # a step of 1 N: 1 / sqrt(12), twice 1.96 sigma for infinite degrees of freedom
    assert reading.half_width == pytest.approx(1.959964 / 12**0.5, rel=1e-6)
    assert reading.why.key == "measure.one_value"


@pytest.mark.parametrize("values", [[27.0], [27.0, 27.0, 27.0]])
def test_no_interval_is_made_up(values: list[float]) -> None:
    reading = measure(a_blank_test(a_job()), values=values).readings.get().reading

    assert reading.value is None
    assert reading.verdict.value == "cannot tell"


def test_values_are_kept_as_typed_and_read_in_the_own_unit() -> None:
    measurement = measure(
        a_blank_test(a_job()), reading_key="run_out", values=[0.001, 0.0012], unit="in"
    )

    assert measurement.values == [0.001, 0.0012]
    reading = measurement.readings.get().reading
    assert (reading.value, reading.unit) == (pytest.approx(0.0011 * 25.4), "mm")


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"reading_key": "colour"}, "nothing that is measured"),
        ({"unit": "psi"}, "not measured in"),
        ({"values": []}, "1 to 20"),
        ({"values": [1.0] * 21}, "1 to 20"),
        ({"values": [nan]}, "not a number"),
        ({"values": [inf]}, "not a number"),
        ({"values": [-1.0]}, "outside 0 to"),
        ({"values": [1e300]}, "is the unit right"),
        ({"instrument_note": "a\x00b"}, "control character"),
    ],
)
def test_it_refuses_bad_values(fields: dict[str, object], said: str) -> None:
    test = a_blank_test(a_job())

    with pytest.raises(InputError, match=said):
        measure(test, **fields)
    assert not Measurement.objects.exists()
    assert not StoredReading.objects.exists()


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"drive_pressure_kpa": 35 * 100.0}, "is the unit right"),
        ({"drive_pressure_kpa": nan}, "outside 0 to"),
        ({"drive_pressure_kpa": -1.0}, "outside 0 to"),
        ({"mounted": ""}, "what sat in the chuck"),
        ({"mounted": "finger"}, "what sat in the chuck"),
        ({"stand": "x" * 81}, "at most 80"),
    ],
)
def test_it_refuses_a_bad_set_up(fields: dict[str, object], said: str) -> None:
    job = a_job()

    with pytest.raises(InputError, match=said):
        a_blank_test(job, **fields)
    assert not Test.objects.exists()
    job.refresh_from_db()
    assert job.version == 1


def test_people_of_an_office_may_not_test() -> None:
    with pytest.raises(NotAllowedError):
        a_blank_test(a_job(), by=bea_of_birch_lane())


def test_a_test_as_received_comes_before_the_opening() -> None:
    job = bring_to(a_job(), Stage.TORN_DOWN)

    with pytest.raises(StageError, match="torn down"):
        a_blank_test(job)
    with pytest.raises(StageError, match="torn down"):
        measure_speed(job.tests.get())
    with pytest.raises(StageError):
        actions.leave_out_test(
            by=theo_the_technician(), job=job, when=Test.When.AS_RECEIVED, because="seized"
        )


def test_a_final_test_comes_after_the_rebuild() -> None:
    with pytest.raises(StageError, match="final"):
        a_blank_test(bring_to(a_job(), Stage.TORN_DOWN), Test.When.FINAL)


def test_a_test_is_left_out_only_for_a_reason() -> None:
    with pytest.raises(InputError, match="why the test is left out"):
        actions.leave_out_test(
            by=theo_the_technician(), job=a_job(), when=Test.When.AS_RECEIVED, because=" "
        )


def test_nothing_is_measured_in_a_test_that_was_left_out() -> None:
    job = a_job()
    test = actions.leave_out_test(
        by=theo_the_technician(), job=job, when=Test.When.AS_RECEIVED, because="seized"
    )
    with pytest.raises(InputError, match="left out"):
        measure(test)


@pytest.mark.parametrize(
    ("model", "pressure", "verdict", "why"),
    [
        ({}, 240.0, "within", "jobs.spread_only"),
        ({}, 246.0, "within", "jobs.spread_only"),
        ({}, 200.0, "not proven", "jobs.away_from_label_pressure"),
        ({}, None, "not proven", "jobs.pressure_not_written"),
        ({"label_pressure_kpa": None}, 240.0, "not proven", "jobs.label_pressure_unknown"),
    ],
)
def test_the_label_speed_holds_at_the_label_pressure_only(
    model: dict[str, object], pressure: float | None, verdict: str, why: str
) -> None:
    job = a_job(a_handpiece(model=a_model(**model)))
    measure_speed(a_blank_test(job, drive_pressure_kpa=pressure))

    reading = StoredReading.objects.get().reading
    assert (reading.verdict.value, reading.why.key) == (verdict, why)
    assert (reading.limit.low, reading.limit.high) == (360_000.0, 440_000.0)


def test_a_corrected_measurement_counts_in_place_of_the_old() -> None:
    job = a_job()
    test = a_blank_test(job)
    wrong = measure(test, values=[2.7, 2.8])
    measure(test, correction=actions.Correction(wrong, "decimal point slipped"))

    [record] = standing_tests(job)
    assert [row.value for row in record.readings] == [27.0]
    assert Measurement.objects.count() == 2
    with pytest.raises(ChangedMeanwhileError):
        measure(test, correction=actions.Correction(wrong, "again"))


def test_a_corrected_set_up_keeps_the_evidence_and_computes_anew() -> None:
    job = a_job(a_handpiece(model=a_model()))
    wrong = a_blank_test(job, drive_pressure_kpa=200.0)
    measure_speed(wrong)
    right = a_blank_test(job, correction=actions.Correction(wrong, "gauge misread"))

    [record] = standing_tests(job)
    assert record.test == right
    assert [row.verdict for row in record.readings] == ["within"]
    assert record.measurements[0].test == wrong


def test_a_correction_is_of_the_same_kind_and_job() -> None:
    job = a_job()
    measurement = measure(a_blank_test(job))
    with pytest.raises(InputError, match="not an entry"):
        a_blank_test(job, correction=actions.Correction(measurement, "x"))
    with pytest.raises(InputError, match="not an entry"):
        measure(a_blank_test(a_job()), correction=actions.Correction(measurement, "x"))
    with pytest.raises(InputError, match="reason of the correction"):
        measure(measurement.test, correction=actions.Correction(measurement, " "))


def test_every_default_limit_is_in_the_unit_of_its_measurand() -> None:
    for kind in load().classes.values():
        for limit in kind.limits:
            assert limit.unit == MEASURANDS[limit.reading_key].unit, (kind.key, limit.reading_key)


@pytest.mark.parametrize(
    ("key", "typed", "unit", "kept"),
    [
        # NIST SP 811 (2008), B.8: 1 psi is 6.894757 kPa, 1 in is 25.4 mm, exactly.
        ("start_pressure", 10.0, "psi", 68.94757),
        ("drive_air_pressure", 2.4, "bar", 240.0),
        ("run_out", 0.01, "in", 0.254),
        ("temperature_head", 104.0, "°F", 40.0),
        ("stall_torque", 1.2, "mN·m", 1.2),
        ("spray_water_flow", 0.06, "L/min", 60.0),
    ],
)
def test_units_are_converted_as_published(key: str, typed: float, unit: str, kept: float) -> None:
    assert in_own_unit(MEASURANDS[key], typed, unit) == pytest.approx(kept, rel=1e-6)
