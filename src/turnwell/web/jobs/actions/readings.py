"""Computes the readings of what was measured, and stores them with the core that made them."""

from collections.abc import Iterable

from turnwell import __version__
from turnwell.web.handpieces.limits import limits_for
from turnwell.web.jobs.analysis.measurements import reading_of
from turnwell.web.jobs.models import Measurement, StoredReading, Test
from turnwell.web.jobs.tests_on_file import standing_tests

__all__ = ["compute_readings"]


def compute_readings(test: Test, measurement: Measurement | None = None) -> list[StoredReading]:
    """Compute the readings of one measurement, or of all that count for a test, anew.

    Called inside the transaction of the write that made it necessary.
    """
    limits = limits_for(test.job.handpiece)
    rows = []
    for measured in [measurement] if measurement is not None else _measured_for(test):
        result = reading_of(measured, test, limits.get(measured.reading_key))
        measured.readings.all().delete()
        rows.append(
            StoredReading(
                test=test,
                measurement=measured,
                key=result.key,
                value=result.value,
                verdict=result.verdict.value,
                record=result.as_record(),
                core="measure",
                core_version=__version__,
            )
        )
    return StoredReading.objects.bulk_create(rows)


def _measured_for(test: Test) -> Iterable[Measurement]:
    for record in standing_tests(test.job):
        if record.test.pk == test.pk:
            return record.measurements
    return ()
