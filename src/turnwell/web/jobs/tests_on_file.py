"""The tests of a job with all that hangs on them, in four queries.

A corrected set-up is a new row; what was recorded and measured under the old row stays there and
counts for the new one. The tests given here are those that hold, each with the whole trail's
evidence.
"""

from dataclasses import dataclass, field

from turnwell.web.jobs.models import Job, Measurement, Recording, StoredReading, Test

__all__ = ["TestOnFile", "standing_test_of", "standing_tests", "with_evidence"]


@dataclass(slots=True)
class TestOnFile:
    """A test that holds, with its evidence that holds and the readings computed from it."""

    test: Test
    recordings: list[Recording] = field(default_factory=list)
    measurements: list[Measurement] = field(default_factory=list)
    readings: list[StoredReading] = field(default_factory=list)

    __test__ = False

    @property
    def answers(self) -> bool:
        """True where something was recorded or measured, or where words say why not."""
        return bool(self.test.left_out_because or self.recordings or self.measurements)


def standing_tests(job: Job) -> list[TestOnFile]:
    """Give the tests of a job that hold, oldest first, with what hangs on them."""
    tests = list(Test.objects.filter(job=job).select_related("pressure_gauge", "microphone"))
    heir = _heirs(tests)
    records = {
        test.pk: TestOnFile(test)
        for test in tests
        if heir[test.pk] == test.pk and not test.is_taken_back
    }
    by_trail: dict[int, TestOnFile] = {
        pk: records[last] for pk, last in heir.items() if last in records
    }
    recordings = Recording.objects.standing().filter(test__in=by_trail)
    for recording in recordings.select_related("file", "entered_by"):
        by_trail[recording.test_id].recordings.append(recording)
    measurements = Measurement.objects.standing().filter(test__in=by_trail)
    for measurement in measurements.select_related("instrument", "entered_by"):
        by_trail[measurement.test_id].measurements.append(measurement)
    _hang_readings(by_trail)
    return list(records.values())


def _hang_readings(by_trail: dict[int, TestOnFile]) -> None:
    """Hang on each test the readings whose source holds, in the order of their sources."""
    sources = {record.pk for test in by_trail.values() for record in test.recordings}
    measured = {record.pk for test in by_trail.values() for record in test.measurements}
    for row in StoredReading.objects.filter(test__in=by_trail):
        if row.recording_id in sources or row.measurement_id in measured:
            by_trail[row.test_id].readings.append(row)


def _heirs(tests: list[Test]) -> dict[int, int]:
    """Give for each test the last of the corrections that lead on from it."""
    follower = {test.corrects_id: test.pk for test in tests if test.corrects_id is not None}
    heirs = {}
    for test in tests:
        last = test.pk
        while last in follower:
            last = follower[last]
        heirs[test.pk] = last
    return heirs


def standing_test_of(test: Test) -> Test:
    """Give the test that holds in place of this one, itself where it was not corrected."""
    while (later := Test.objects.filter(corrects=test).first()) is not None:
        test = later
    return test


def with_evidence(records: list[TestOnFile], when: Test.When) -> list[TestOnFile]:
    """Keep the tests of one time that hold evidence or the reason why there is none."""
    return [record for record in records if record.test.when == when and record.answers]
