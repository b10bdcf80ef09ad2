"""The whole shop's lives and returns: 200 offices, 20,000 handpieces, 100,000 jobs.

Read from the database, brought up to date after one write, taken from the file, and what is made of
them. "Cold" is the first reading of a process without a file. Aims: 600 ms from cold, 25 ms for the
stamp that tells that nothing changed.
"""

import os
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from turnwell.web.accounts.models import User
    from turnwell.web.handpieces.models import Handpiece
    from turnwell.web.jobs.models import Job
    from turnwell.web.offices.models import Office

OFFICES, HANDPIECES, JOBS = 200, 20_000, 100_000
VISITS_AN_OFFICE = 12
YEARS = 8
SETTLED, AGREED, COUNTED = 0.7, 0.8, 0.6
ROUNDS = 5
CLASSES = ("air_turbine_4_hole", "low_speed_air_motor", "contra_angle", "electric_motor")


def rows() -> Iterator[dict[str, str]]:
    """Seed a database and measure each step."""
    with tempfile.TemporaryDirectory(prefix="turnwell-bench-") as folder:
        os.environ["TURNWELL_HOME"] = folder
        os.environ.pop("TURNWELL_DATABASE_URL", None)
        from turnwell.web.running.opening import open_new_records

        open_new_records()
        from django.core.management import call_command

        call_command("migrate", verbosity=0)
        seed()
        yield from measured(Path(folder))


def measured(home: Path) -> Iterator[dict[str, str]]:
    """Measure each step on a database that is open."""
    from turnwell.web.jobs.models import Job
    from turnwell.web.lives.records import keeping, shop_records
    from turnwell.web.lives.records.file import read_file, write_file
    from turnwell.web.lives.records.shop import records_of
    from turnwell.web.lives.records.snapshot import brought_up_to_date, read_snapshot
    from turnwell.web.lives.records.stamp import stamp_now

    now = datetime.now(UTC)
    now_s = int(now.timestamp())
    path = home / "records.npz"

    yield timed("read all from cold", "600 ms", read_snapshot)
    snapshot = read_snapshot()
    yield timed("stamp: did anything change?", "25 ms", stamp_now)
    yield timed("write the file", "", lambda: write_file(path, snapshot))
    yield timed("read the file", "", lambda: read_file(path))

    def one_write() -> None:
        job = Job.objects.order_by("pk")[50_000]
        job.version += 1
        job.save()

    yield timed(
        "bring up to date after one write",
        "",
        lambda: brought_up_to_date(snapshot),
        before=one_write,
    )
    yield timed("stretches and returns from the arrays", "", lambda: records_of(snapshot, now_s))

    def forgotten() -> None:
        keeping.forget()
        keeping.path_of_file().unlink(missing_ok=True)

    yield timed("records, cold, no file", "", lambda: shop_records(now), before=forgotten)
    yield timed("records, new process, file", "", lambda: shop_records(now), before=keeping.forget)
    yield timed("records, nothing changed", "", lambda: shop_records(now))
    yield from questions(now)


def questions(now: datetime) -> Iterator[dict[str, str]]:
    """Measure what pages ask of the records."""
    from turnwell.web.lives.records import shop_records

    records = shop_records(now)
    year_s = 365 * 86_400
    office = int(records.offices.pk[0])
    since_s = records.now_s - 3 * year_s

    yield timed(
        "tallies of a year, all offices",
        "",
        lambda: records.tallies(records.now_s - year_s, records.now_s),
    )
    yield timed(
        "histories of 3 years, all offices",
        "",
        lambda: records.calendar_histories(since_s=since_s, until_s=records.now_s),
    )
    yield timed(
        "histories of 3 years, one office",
        "",
        lambda: records.calendar_histories(since_s=since_s, until_s=records.now_s, office=office),
    )
    yield timed("lives after every repair", "", records.repair_lives)
    yield timed(
        "lives after one kind, one class",
        "",
        lambda: records.repair_lives(kind="cartridge", class_key=CLASSES[0]),
    )
    yield timed("first lives", "", records.first_lives)
    yield timed("under warranty", "", records.under_warranty)
    yield timed("pace of the shop", "", records.pace)


def timed(
    name: str,
    aim: str,
    what: Callable[[], object],
    *,
    before: Callable[[], object] | None = None,
) -> dict[str, str]:
    """Measure one step: wall and processor, median and worst."""
    spans, work = [], []
    for _ in range(ROUNDS):
        if before is not None:
            before()
        begun, worked = time.perf_counter(), time.process_time()
        what()
        work.append(1e3 * (time.process_time() - worked))
        spans.append(1e3 * (time.perf_counter() - begun))
    return {
        "step": name,
        "median": f"{statistics.median(spans):.1f} ms",
        "worst": f"{max(spans):.1f} ms",
        "work": f"{statistics.median(work):.1f} ms",
        "aim": aim,
    }


def seed() -> None:
    """Fill the database with invented lives: stays a few hundred days apart, no claim to truth."""
    from turnwell.web.accounts.actions import create_owner_if_none
    from turnwell.web.offices.models import Office

    rng = Random(1)  # noqa: S311  # invents rows
    owner = create_owner_if_none()
    now = datetime.now(UTC).replace(microsecond=0)
    offices = Office.objects.bulk_create(
        Office(name=f"Office {n:03}", time_zone="Europe/Vienna") for n in range(OFFICES)
    )
    handpieces = _handpieces(rng, offices, now)
    jobs = _jobs(rng, handpieces, owner, now)
    _causes(rng, jobs, owner)
    _answers(rng, jobs, owner)
    _visits(rng, offices, owner, now)


def _handpieces(rng: Random, offices: list["Office"], now: datetime) -> list["Handpiece"]:
    from turnwell.web.handpieces.models import Handpiece
    from turnwell.web.shared.codes import new_code

    made = []
    for n in range(HANDPIECES):
        is_counted = rng.random() < COUNTED
        since = now - timedelta(days=rng.uniform(400, 365 * YEARS))
        counted = since + timedelta(days=rng.uniform(30, 300))
        made.append(
            Handpiece(
                code=new_code("H", n),
                class_key=CLASSES[n % len(CLASSES)],
                serial=f"S{n:06}",
                serial_folded=f"s{n:06}",
                office=offices[n % OFFICES],
                in_service_since=since.date() if rng.random() < 0.8 else None,
                known_cycles=int(4 * (counted - since).days) if is_counted else None,
                known_cycles_on=counted.date() if is_counted else None,
                retired_on=(now - timedelta(days=rng.uniform(0, 200))).date()
                if rng.random() < 0.03
                else None,
                is_loan=rng.random() < 0.01,
            )
        )
    return Handpiece.objects.bulk_create(made, batch_size=2000)


def _jobs(rng: Random, handpieces: list["Handpiece"], owner: "User", now: datetime) -> list["Job"]:
    from turnwell.web.jobs.models import Job, Stage
    from turnwell.web.shared.codes import new_code

    stays = JOBS // HANDPIECES
    reasons = [Job.Reason.FAULT] * 17 + [
        Job.Reason.PLANNED,
        Job.Reason.PLANNED,
        Job.Reason.TEST_ONLY,
    ]
    ends = [Stage.HANDED_BACK] * 19 + [Stage.HANDED_BACK_UNREPAIRED]
    made = []
    for handpiece in handpieces:
        span = 365 * YEARS
        days = sorted(rng.uniform(0, span) for _ in range(stays))
        for number, day in enumerate(days):
            taken_in = now - timedelta(days=span - day + 12 * (stays - number))
            ended = taken_in + timedelta(hours=rng.uniform(20, 240))
            made.append(
                Job(
                    handpiece=handpiece,
                    office=handpiece.office,
                    reason=rng.choice(reasons),
                    complaint_words="screams and has no torque",
                    sterilized_by=Job.SterilizedBy.OFFICE,
                    known_cycles=int(1500 + 4 * day) if rng.random() < COUNTED else None,
                    taken_in_at=taken_in,
                    taken_in_by=owner,
                    stage=rng.choice(ends),
                    stage_since=ended,
                    ended_at=ended,
                )
            )
    made.sort(key=lambda job: job.taken_in_at)
    for number, job in enumerate(made):
        job.code = new_code("J", number)
    return Job.objects.bulk_create(made, batch_size=2000)


def _causes(rng: Random, jobs: list["Job"], owner: "User") -> None:
    from turnwell.catalogue import load
    from turnwell.web.jobs.models import ConfirmedCause

    keys = sorted(load().causes)
    ConfirmedCause.objects.bulk_create(
        (
            ConfirmedCause(
                job=job,
                cause_key=rng.choice(keys),
                is_after_ladder=True,
                is_own_view=True,
                entered_by=owner,
                entered_at=job.ended_at,
            )
            for job in jobs
            if rng.random() < SETTLED
        ),
        batch_size=2000,
    )


def _answers(rng: Random, jobs: list["Job"], owner: "User") -> None:
    from turnwell.web.jobs.models import EstimateAnswer, EstimateOption, OptionKind

    options = EstimateOption.objects.bulk_create(
        (
            EstimateOption(
                job=job,
                kind=rng.choice(OptionKind.values[:4]),
                parts_price=Decimal(rng.randrange(20, 200)),
                labour_price=Decimal(rng.randrange(20, 90)),
                tax_percent=Decimal(20),
                tax_amount=Decimal("18.40"),
                currency="EUR",
                warranty_months=rng.choice((0, 3, 6, 12)),
                entered_by=owner,
                entered_at=job.taken_in_at,
            )
            for job in jobs
            if rng.random() < AGREED
        ),
        batch_size=2000,
    )
    EstimateAnswer.objects.bulk_create(
        (
            EstimateAnswer(
                job=option.job,
                answer=EstimateAnswer.Answer.AGREED,
                option=option,
                answered_by="Bea",
                answered_at=option.entered_at,
                entered_by=owner,
                entered_at=option.entered_at,
            )
            for option in options
        ),
        batch_size=2000,
    )


def _visits(rng: Random, offices: list["Office"], owner: "User", now: datetime) -> None:
    from turnwell.web.visits.models import Visit

    Visit.objects.bulk_create(
        Visit(
            office=office,
            visited_on=(now - timedelta(days=rng.uniform(0, 365 * YEARS))).date(),
            why="Care looked at",
            was_training=rng.random() < 0.2,
            entered_by=owner,
        )
        for office in offices
        for _ in range(VISITS_AN_OFFICE)
    )
