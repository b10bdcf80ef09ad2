"""What waits today: open jobs by what is to be done next, and instruments whose check is overdue.

The groups are read in two queries however many jobs are open: one gives where each open job
stands, one fetches the first few of each group.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Max, Q
from django.db.models.functions import Coalesce

from turnwell.measure import Verdict
from turnwell.web.accounts.models import User
from turnwell.web.handpieces.names import complaints_said, reading_name
from turnwell.web.jobs.models import Job, Stage, StoredReading, Waiting
from turnwell.web.jobs.queries import JobQuerySet
from turnwell.web.jobs.reading_groups import may_stay_open
from turnwell.web.shop.models import Instrument

__all__ = [
    "BenchGroup",
    "BenchLine",
    "OverdueInstrument",
    "bench_groups",
    "bench_lines",
    "group_head",
    "group_jobs",
    "group_keys",
    "overdue_instruments",
]

SHOWN_A_GROUP = 8
OLD_AFTER_DAYS = 7
# What weighs most in one line about a test comes first.
WORST_FIRST = (Verdict.OUTSIDE, Verdict.NOT_PROVEN, Verdict.CANNOT_TELL, Verdict.WITHIN)


@dataclass(frozen=True, slots=True)
class GroupKind:
    """One group: which jobs, what it is called for the shop and for an office."""

    key: str
    head: str
    note: str
    office_head: str
    stages: tuple[Stage, ...] = ()
    waiting: Waiting = Waiting.NOTHING

    @property
    def jobs(self) -> Q:
        """Which open jobs belong to it."""
        if self.waiting:
            return Q(waiting_for=self.waiting)
        return Q(waiting_for="", stage__in=self.stages)


def _to_do(stage: Stage, key: str, head: str, office_head: str) -> GroupKind:
    return GroupKind(key, head, "waits for you", office_head, (stage,))


GROUPS = (
    _to_do(Stage.PROVED, "to-go-back", "To hand back", "Ready to come back to you"),
    _to_do(Stage.REBUILT, "to-prove", "To prove", "Repaired, to be tested"),
    _to_do(Stage.AGREED, "to-rebuild", "To rebuild", "Agreed, to be repaired"),
    _to_do(Stage.TAKEN_IN, "to-test", "To test as received", "Received, to be tested"),
    _to_do(Stage.TESTED_AS_RECEIVED, "to-tear-down", "To tear down", "Tested, to be opened"),
    _to_do(Stage.TORN_DOWN, "to-estimate", "To estimate", "Opened, being looked at"),
    _to_do(Stage.ESTIMATED, "to-send", "Estimate to send", "An estimate is written"),
    _to_do(
        Stage.NOT_WORTH_REPAIRING,
        "to-return",
        "To hand back unrepaired",
        "Not worth repairing, comes back as it is",
    ),
    GroupKind(
        "answer", "The office’s answer", "waits", "Waits for your answer", (), Waiting.ANSWER
    ),
    GroupKind("parts", "Parts", "waits", "Waits for parts", (), Waiting.PARTS),
    GroupKind("sent-out", "Sent out", "waits", "Sent out to be repaired", (), Waiting.SENT_OUT),
)


def group_keys() -> frozenset[str]:
    """Give the keys that `bench_groups` may be asked for alone."""
    return frozenset(kind.key for kind in GROUPS)


@dataclass(frozen=True, slots=True)
class BenchLine:
    """One job in a list.

    Parameters
    ----------
    complaint : str
        What the office said, in short.
    verdict : Verdict or None
        What weighs most in the latest test, None where nothing was measured.
    verdict_of : str
        Which reading that is, or how many.
    owner : str
        Whom it waits for; empty where it waits for the shop.
    days : int
        Days in this stage, or waiting.
    """

    job: Job
    complaint: str
    verdict: Verdict | None
    verdict_of: str
    owner: str
    days: int

    @property
    def is_old(self) -> bool:
        """True where it has stood still for a week."""
        return self.days >= OLD_AFTER_DAYS


@dataclass(frozen=True, slots=True)
class BenchGroup:
    """Jobs that wait for the same thing."""

    key: str
    head: str
    note: str
    count: int
    lines: tuple[BenchLine, ...]

    @property
    def more(self) -> int:
        """How many are not shown."""
        return self.count - len(self.lines)


@dataclass(frozen=True, slots=True)
class OverdueInstrument:
    """An instrument whose check was due."""

    instrument: Instrument
    due_on: date
    days: int


def bench_groups(user: User, now: datetime, *, shown: int = SHOWN_A_GROUP) -> list[BenchGroup]:
    """Give the groups that hold open jobs of this person's, each with the oldest of its jobs."""
    jobs = Job.objects.visible_to(user).open()
    # In the order of the index of open jobs, so that nothing but open jobs is read.
    rows = jobs.order_by("-stage_since", "-pk").values_list(
        "pk", "stage", "waiting_for", Coalesce("waiting_since", "stage_since")
    )
    by_place: dict[tuple[str, str], list[tuple[datetime, int]]] = {}
    for key, stage, waiting_for, since in rows:
        by_place.setdefault((stage, waiting_for), []).append((since, key))
    waiting = {
        kind: sorted(
            one for place, ones in by_place.items() if _belongs(kind, *place) for one in ones
        )
        for kind in (GROUPS if user.is_shop else _office_order())
    }
    first = {kind: [key for _, key in ones[:shown]] for kind, ones in waiting.items()}
    fetched = Job.objects.filter(pk__in=[key for keys in first.values() for key in keys])
    lines = {line.job.pk: line for line in bench_lines(fetched.with_handpiece(), now)}
    return [
        _group(kind, user, len(waiting[kind]), [lines[key] for key in keys])
        for kind, keys in first.items()
        if keys
    ]


def group_head(user: User, key: str) -> str:
    """Give what a group is called for this person.

    Parameters
    ----------
    key : str
        One of `group_keys`.
    """
    kind = next(kind for kind in GROUPS if kind.key == key)
    return kind.head if user.is_shop else kind.office_head


def group_jobs(user: User, key: str) -> JobQuerySet:
    """Give all jobs of a group, oldest first."""
    kind = next(kind for kind in GROUPS if kind.key == key)
    jobs = Job.objects.visible_to(user).open().filter(kind.jobs)
    return jobs.with_handpiece().order_by(Coalesce("waiting_since", "stage_since"), "pk")


def bench_lines(jobs: Iterable[Job], now: datetime) -> list[BenchLine]:
    """Give a line for each job; two queries for all of them.

    Parameters
    ----------
    jobs : iterable of Job
        With handpiece, model and office fetched along.
    """
    jobs = list(jobs)
    verdicts = _worst_verdicts([job.pk for job in jobs])
    lines = []
    for job in jobs:
        verdict, verdict_of = verdicts.get(job.pk, (None, ""))
        owner = (job.waiting_owner or _waits_for(job)) if job.waiting_for else ""
        days = max((now - _since(job)).days, 0)
        said = complaints_said(job.complaints, job.complaint_words)
        lines.append(BenchLine(job, said, verdict, verdict_of, owner, days))
    return lines


def overdue_instruments(today: date) -> list[OverdueInstrument]:
    """Give the instruments in use whose latest check is due, longest overdue first."""
    standing = Q(checks__corrected_by__isnull=True, checks__is_taken_back=False)
    due = (
        Instrument.objects.filter(is_retired=False)
        .annotate(due_on=Max("checks__due_on", filter=standing))
        .filter(due_on__lt=today)
        .order_by("due_on", "name")
    )
    return [OverdueInstrument(row, row.due_on, (today - row.due_on).days) for row in due]


def _group(kind: GroupKind, user: User, count: int, lines: Sequence[BenchLine]) -> BenchGroup:
    head = kind.head if user.is_shop else kind.office_head
    note = kind.note if user.is_shop else ""
    return BenchGroup(kind.key, head, note, count, tuple(lines))


def _office_order() -> list[GroupKind]:
    """Give the groups with what an office must do itself first."""
    return sorted(GROUPS, key=lambda kind: kind.waiting != Waiting.ANSWER)


def _belongs(kind: GroupKind, stage: str, waiting_for: str) -> bool:
    if kind.waiting or waiting_for:
        return kind.waiting == waiting_for
    return stage in kind.stages


def _since(job: Job) -> datetime:
    return job.waiting_since or job.stage_since


def _waits_for(job: Job) -> str:
    return job.office.name if job.waiting_for == Waiting.ANSWER else "nobody named"


def _worst_verdicts(job_ids: Sequence[int]) -> dict[int, tuple[Verdict, str]]:
    """Give what weighs most in each job's latest test, with the name of the reading."""
    rows = (
        StoredReading.objects.filter(test__job__in=job_ids)
        .exclude(recording__corrected_by__isnull=False)
        .exclude(measurement__corrected_by__isnull=False)
        .exclude(verdict=Verdict.NO_LIMIT)
        .values_list("test__job", "test__when", "key", "verdict")
    )
    tests: dict[int, dict[str, list[tuple[str, str]]]] = {}
    for job, when, key, verdict in rows:
        tests.setdefault(job, {}).setdefault(when, []).append((key, verdict))
    return {
        job: _worst(by_when.get("final") or by_when["as_received"])
        for job, by_when in tests.items()
    }


def _worst(readings: Sequence[tuple[str, str]]) -> tuple[Verdict, str]:
    # What a recording may leave open does not stand before what it was made for.
    asked = [
        (key, said)
        for key, said in readings
        if said != Verdict.CANNOT_TELL or not may_stay_open(key)
    ]
    readings = asked or readings
    for verdict in WORST_FIRST:
        keys = [key for key, said in readings if said == verdict]
        if not keys:
            continue
        if verdict is Verdict.WITHIN:
            return verdict, f"{len(keys)} readings" if len(keys) > 1 else reading_name(keys[0])
        return verdict, reading_name(keys[0])
    return Verdict.CANNOT_TELL, reading_name(readings[0][0])
