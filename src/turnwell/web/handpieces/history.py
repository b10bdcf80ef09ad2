"""What was measured on a handpiece over all its jobs, and its own baseline.

A corrected set-up is a new row while its evidence stays on the old one, so readings are gathered
along the trail of corrections; a test that was taken back gives none.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from statistics import fmean

from django.db.models import Q

from turnwell.measure import Reading
from turnwell.web.handpieces.models import Handpiece
from turnwell.web.jobs.models import Job, StoredReading, Test
from turnwell.web.jobs.queries import JobQuerySet

__all__ = [
    "Baseline",
    "OverTime",
    "Stand",
    "TestedOnce",
    "baselines",
    "earlier_values",
    "latest_stand",
    "over_time",
    "same_set_up",
    "tests_of_jobs",
]

# Two drive pressures closer than this are taken as the same (common practice: what a gauge at the
# handpiece can tell apart).
SAME_PRESSURE = 0.03
MOST_COLUMNS = 6
BASELINE_KEYS = ("free_running_speed", "coast_down_time", "roughness", "start_pressure", "run_out")
# What tells first how a handpiece ages; other readings get the columns these leave.
FIRST_COLUMNS = (
    "free_running_speed",
    "coast_down_time",
    "roughness",
    "bearing_evidence",
    "start_pressure",
    "run_out",
)
FEWEST_FOR_BASELINE = 2
COUNTS_STANDING = Q(
    recording__isnull=False,
    recording__is_taken_back=False,
    recording__corrected_by__isnull=True,
) | Q(
    measurement__isnull=False,
    measurement__is_taken_back=False,
    measurement__corrected_by__isnull=True,
)


@dataclass(slots=True)
class TestedOnce:
    """One test of a handpiece with its readings by key, the latest of each.

    `recordings` are the keys of the recordings that gave some of them, oldest first.
    """

    job: Job
    test: Test
    readings: dict[str, Reading] = field(default_factory=dict)
    recordings: list[int] = field(default_factory=list)

    @property
    def at(self) -> datetime:
        """When it was tested."""
        return self.test.entered_at


@dataclass(frozen=True, slots=True)
class Baseline:
    """What a handpiece gave when it was last known to run true: the mean of its final tests."""

    key: str
    unit: str
    mean: float
    lowest: float
    highest: float
    count: int


def tests_of_jobs(jobs: JobQuerySet) -> list[TestedOnce]:
    """Give the tests of a handpiece's jobs that hold readings, oldest first; two queries."""
    tests = list(
        Test.objects.filter(job__in=jobs).select_related("job").order_by("entered_at", "pk")
    )
    last = _last_of_trail(tests)
    rows = StoredReading.objects.filter(COUNTS_STANDING, test__job__in=jobs)
    held: dict[int, TestedOnce] = {}
    for row in rows.order_by("pk"):
        test = last[row.test_id]
        if not test.is_taken_back:
            once = held.setdefault(test.pk, TestedOnce(test.job, test))
            once.readings[row.key] = row.reading
            if row.recording_id is not None and row.recording_id not in once.recordings:
                once.recordings.append(row.recording_id)
    return sorted(held.values(), key=lambda once: (once.at, once.test.pk))


@dataclass(frozen=True, slots=True)
class Stand:
    """How a handpiece stands: its latest test, beside the one as received of the same job."""

    latest: TestedOnce
    readings: Sequence[tuple[Reading, Reading | None]]


@dataclass(frozen=True, slots=True)
class OverTime:
    """The same readings test by test: a column a reading, a row a test, newest first."""

    keys: tuple[str, ...]
    rows: Sequence[tuple[TestedOnce, Sequence[tuple[str, Reading | None]]]]


def latest_stand(tests: Sequence[TestedOnce]) -> Stand | None:
    """Give the latest test with what it was as received, or None where nothing was measured."""
    if not tests:
        return None
    latest = tests[-1]
    before: Mapping[str, Reading] = {}
    if latest.test.when == Test.When.FINAL:
        same_job = [once for once in tests[:-1] if once.job == latest.job]
        before = same_job[0].readings if same_job else {}
    pairs = [(reading, before.get(key)) for key, reading in latest.readings.items()]
    return Stand(latest, pairs)


def over_time(tests: Sequence[TestedOnce]) -> OverTime | None:
    """Give the readings that at least two tests hold, and one could tell, test by test."""
    counts = Counter(key for once in tests for key in once.readings)
    told = {key for once in tests for key, one in once.readings.items() if one.value is not None}
    known = [key for key, count in counts.items() if count > 1 and key in told]
    first = [key for key in FIRST_COLUMNS if key in known]
    keys = tuple([*first, *(key for key in known if key not in first)][:MOST_COLUMNS])
    if not keys:
        return None
    rows = [(once, [(key, once.readings.get(key)) for key in keys]) for once in reversed(tests)]
    return OverTime(keys, rows)


def baselines(tests: Sequence[TestedOnce]) -> list[Baseline]:
    """Give the own baseline of each reading that final tests hold at least twice."""
    finals = [once for once in tests if once.test.when == Test.When.FINAL]
    found = []
    for key in BASELINE_KEYS:
        held = [once.readings[key] for once in finals if key in once.readings]
        values = [reading.value for reading in held if reading.value is not None]
        if len(values) >= FEWEST_FOR_BASELINE:
            unit = held[-1].unit
            found.append(Baseline(key, unit, fmean(values), min(values), max(values), len(values)))
    return found


def earlier_values(
    handpiece: Handpiece, reading_key: str, like: Test, *, but: Job | None = None
) -> tuple[float, ...]:
    """Give what earlier final tests of this handpiece gave with the same set-up.

    Parameters
    ----------
    like : Test
        The test at hand: the same thing mounted, the same spray, drive pressures within 3 %.
    but : Job or None
        A job whose own tests do not count.
    """
    values = []
    for once in tests_of_jobs(handpiece.jobs.all()):
        reading = once.readings.get(reading_key)
        is_other = once.test.when == Test.When.FINAL and (but is None or once.job.pk != but.pk)
        if reading is None or reading.value is None:
            continue
        if is_other and same_set_up(once.test, like):
            values.append(reading.value)
    return tuple(values)


def same_set_up(one: Test, other: Test) -> bool:
    """Tell whether two tests were made alike: same thing mounted, spray, pressures within 3 %."""
    if (one.mounted, one.is_spray_on) != (other.mounted, other.is_spray_on):
        return False
    pressures = (one.drive_pressure_kpa, other.drive_pressure_kpa)
    if pressures[0] is None or pressures[1] is None:
        return False
    return abs(pressures[0] - pressures[1]) <= SAME_PRESSURE * max(pressures[0], pressures[1])


def _last_of_trail(tests: Sequence[Test]) -> Mapping[int, Test]:
    """Give for each test the one that holds in its place after all corrections."""
    by_key = {test.pk: test for test in tests}
    follower = {test.corrects_id: test.pk for test in tests if test.corrects_id is not None}
    last = {}
    for test in tests:
        key = test.pk
        while key in follower:
            key = follower[key]
        last[test.pk] = by_key[key]
    return last
