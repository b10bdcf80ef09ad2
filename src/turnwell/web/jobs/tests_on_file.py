"""The tests of a job with all that hangs on them, in four queries.

A corrected set-up is a new row; what was recorded and measured under the old row stays there and
counts for the new one. The tests given here are those that hold, each with the whole trail's
evidence.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from turnwell.web.jobs.models import Job, Measurement, Recording, StoredReading, Test
from turnwell.web.shared.entries import Entry

__all__ = [
    "JobTests",
    "TestOnFile",
    "job_tests",
    "standing",
    "standing_tests",
    "with_evidence",
]

AnyEntry = TypeVar("AnyEntry", bound=Entry)


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

    @property
    def heard(self) -> Recording | None:
        """The last recording that a speed was heard in."""
        for row in reversed(self.recordings):
            if len((row.listening or {}).get("track", {}).get("time_s", ())) > 1:
                return row
        return None


@dataclass(frozen=True, slots=True)
class JobTests:
    """The tests of a job that hold, oldest first, and every row ever written for them."""

    standing: Sequence[TestOnFile]
    tests: Sequence[Test]
    recordings: Sequence[Recording]
    measurements: Sequence[Measurement]


def standing(rows: Iterable[AnyEntry]) -> list[AnyEntry]:
    """Keep the entries that hold, of all of one kind that were written for a job."""
    rows = list(rows)
    corrected = {row.corrects_id for row in rows}  # type: ignore[attr-defined]  # abstract base
    return [row for row in rows if row.pk not in corrected and not row.is_taken_back]


def standing_tests(job: Job) -> Sequence[TestOnFile]:
    """Give the tests of a job that hold, oldest first, with what hangs on them."""
    return job_tests(job).standing


def job_tests(job: Job) -> JobTests:
    """Read all tests of a job."""
    tests = list(
        Test.objects.filter(job=job).select_related("pressure_gauge", "microphone", "entered_by")
    )
    for test in tests:
        test.job = job
    recordings = list(Recording.objects.filter(test__job=job).select_related("file", "entered_by"))
    measurements = list(
        Measurement.objects.filter(test__job=job).select_related("instrument", "entered_by")
    )
    heir = _heirs(tests)
    records = {test.pk: TestOnFile(test) for test in standing(tests)}
    by_trail = {pk: records[last] for pk, last in heir.items() if last in records}
    for recording in standing(recordings):
        if recording.test_id in by_trail:
            by_trail[recording.test_id].recordings.append(recording)
    for measurement in standing(measurements):
        if measurement.test_id in by_trail:
            by_trail[measurement.test_id].measurements.append(measurement)
    _hang_readings(by_trail)
    return JobTests(list(records.values()), tests, recordings, measurements)


def _hang_readings(by_trail: dict[int, TestOnFile]) -> None:
    """Hang on each test the readings whose source holds."""
    recorded = {row.pk for test in by_trail.values() for row in test.recordings}
    measured = {row.pk for test in by_trail.values() for row in test.measurements}
    if not recorded and not measured:
        return
    for row in StoredReading.objects.filter(test__in=by_trail):
        if row.recording_id in recorded or row.measurement_id in measured:
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


def with_evidence(records: Iterable[TestOnFile], when: Test.When) -> list[TestOnFile]:
    """Keep the tests of one time that hold evidence or the reason why there is none."""
    return [record for record in records if record.test.when == when and record.answers]
