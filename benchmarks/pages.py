"""Pages with 100,000 jobs and 20,000 handpieces in the embedded database, for one user.

Time is taken at the server: from the request to the whole answer, through every middleware, without
a network. "Work" is the processor's share of it, which other programs disturb less. Then the weight
of the first page as a browser loads it, compressed. Aims: 60 ms at the 95th percentile for any page
and for search, 300 kB for the first page without charts.
"""

import gzip
import os
import re
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from django.test import Client

OFFICES, HANDPIECES, JOBS = 200, 20_000, 100_000
OPEN_JOBS = 60
ROUNDS, WARM_ROUNDS = 100, 5
AIM = "60 ms"


def rows() -> Iterator[dict[str, str]]:
    """Seed a database and measure each page."""
    with tempfile.TemporaryDirectory(prefix="turnwell-bench-") as folder:
        os.environ["TURNWELL_HOME"] = folder
        os.environ.pop("TURNWELL_DATABASE_URL", None)
        from turnwell.web.running.opening import open_new_records

        open_new_records()
        from turnwell.web.running.preparing import prepare

        prepare(datetime.now(UTC))
        codes = seed()
        client = signed_in()
        rng = Random(1)  # noqa: S311  # picks rows to ask for
        for name, address in addresses(codes, rng).items():
            yield timed(client, name, address)
        yield first_page(client, Path(folder) / "static")


def seed() -> dict[str, list[str]]:
    """Fill the database; gives codes and serials to ask for."""
    from turnwell.web.accounts.actions import create_owner_if_none
    from turnwell.web.handpieces.models import Handpiece
    from turnwell.web.jobs.models import Job, Stage, StageChange
    from turnwell.web.offices.models import Office
    from turnwell.web.shared.codes import new_code

    owner = create_owner_if_none()
    now = datetime.now(UTC)
    offices = Office.objects.bulk_create(Office(name=f"Office {n:03}") for n in range(OFFICES))
    classes = ("air_turbine_4_hole", "low_speed_air_motor", "contra_angle", "electric_motor")
    handpieces = Handpiece.objects.bulk_create(
        (
            Handpiece(
                code=new_code("H", n),
                class_key=classes[n % len(classes)],
                serial=f"S{n:06}",
                serial_folded=f"s{n:06}",
                office=offices[n % OFFICES],
            )
            for n in range(HANDPIECES)
        ),
        batch_size=2000,
    )
    jobs = []
    for n in range(JOBS):
        handpiece = handpieces[n % HANDPIECES]
        taken_in = now - timedelta(minutes=5 * (JOBS - n))
        is_open = n >= JOBS - OPEN_JOBS
        stage = list(Stage)[n % 5] if is_open else Stage.HANDED_BACK
        jobs.append(
            Job(
                code=new_code("J", n),
                handpiece=handpiece,
                office=handpiece.office,
                complaint_words="screams and has no torque",
                sterilized_by=Job.SterilizedBy.OFFICE,
                taken_in_at=taken_in,
                taken_in_by=owner,
                stage=stage,
                stage_since=taken_in + timedelta(hours=0 if is_open else 30),
                ended_at=None if is_open else taken_in + timedelta(hours=30),
            )
        )
    jobs = Job.objects.bulk_create(jobs, batch_size=2000)
    StageChange.objects.bulk_create(
        (
            StageChange(job=job, to_stage=Stage.TAKEN_IN, at=job.taken_in_at, by=owner)
            for job in jobs
        ),
        batch_size=2000,
    )
    return {
        "handpieces": [handpiece.code for handpiece in handpieces],
        "serials": [handpiece.serial for handpiece in handpieces],
        "jobs": [job.code for job in jobs],
        "open jobs": [job.code for job in jobs[-OPEN_JOBS:]],
        "offices": [str(office.pk) for office in offices],
    }


def addresses(codes: dict[str, list[str]], rng: Random) -> dict[str, Callable[[], str]]:
    """Give for each page what to ask for, another row each time."""

    def one_of(key: str, form: str) -> Callable[[], str]:
        return lambda: form.format(rng.choice(codes[key]))

    return {
        "today": lambda: "/",
        "job, handed back": one_of("jobs", "/jobs/{}/"),
        "job, open": one_of("open jobs", "/jobs/{}/"),
        "handpiece": one_of("handpieces", "/handpieces/{}/"),
        "handpieces": lambda: "/handpieces/",
        "office": one_of("offices", "/offices/{}/"),
        "offices": lambda: "/offices/",
        "search, whole serial": one_of("serials", "/search/?q={}"),
        "search, part of a serial": lambda: f"/search/?q={rng.randrange(100, 999)}",
        "search, office": lambda: f"/search/?q=office+{rng.randrange(OFFICES):03}",
        "search, nothing there": lambda: "/search/?q=zzzz",
        "code": one_of("handpieces", "/c/{}/"),
        "catalogue": lambda: "/catalogue/",
    }


def signed_in() -> "Client":
    """Give a browser in which the owner is signed in."""
    from django.test import Client

    from turnwell.web.accounts.actions import create_owner_if_none

    client = Client(headers={"host": "localhost"}, raise_request_exception=False)
    client.force_login(create_owner_if_none())
    return client


def timed(client: "Client", name: str, address: Callable[[], str]) -> dict[str, str]:
    """Measure one page."""
    spans: list[float] = []
    work: list[float] = []
    statuses = set()
    size = 0
    for _ in range(WARM_ROUNDS + ROUNDS):
        asked = address()
        begun, worked = time.perf_counter(), time.process_time()
        answer = client.get(asked)
        work.append(1e3 * (time.process_time() - worked))
        spans.append(1e3 * (time.perf_counter() - begun))
        statuses.add(answer.status_code)
        size = max(size, len(answer.content))
    spans = sorted(spans[WARM_ROUNDS:])
    return {
        "page": name,
        "p50": f"{statistics.median(spans):.1f} ms",
        "p95": f"{spans[int(0.95 * len(spans))]:.1f} ms",
        "aim": AIM,
        "work p95": f"{sorted(work[WARM_ROUNDS:])[int(0.95 * ROUNDS)]:.1f} ms",
        "size": f"{size / 1e3:.0f} kB",
        "status": ", ".join(str(status) for status in sorted(statuses)),
    }


def first_page(client: "Client", static: Path) -> dict[str, str]:
    """Weigh the page of today with all it names, each compressed as it is sent."""
    page = client.get("/").content
    names = set(re.findall(rb'(?:href|src)="/static/([^"?]+)', page))
    weight = len(gzip.compress(page))
    seen: set[str] = set()
    waiting = [name.decode() for name in names]
    while waiting:
        name = waiting.pop()
        if name in seen or not (static / name).is_file():
            continue
        seen.add(name)
        content = (static / name).read_bytes()
        packed = static / f"{name}.gz"
        weight += packed.stat().st_size if packed.is_file() else len(content)
        waiting += _named_in(name, content)
    return {
        "page": f"first page with {len(seen)} files",
        "p50": "",
        "p95": "",
        "aim": "300 kB",
        "work p95": "",
        "size": f"{weight / 1e3:.0f} kB",
        "status": "",
    }


def _named_in(name: str, content: bytes) -> list[str]:
    """Give the static files that a style sheet or module names; all its faces, used or not."""
    folder = Path(name).parent
    found: list[bytes] = []
    if name.endswith(".css"):
        found = re.findall(rb"url\([\"']?([^\"')]+)", content)
    elif name.endswith(".js") and "vega" not in name:
        found = re.findall(rb"^\s*import[^\"';]*[\"'](\.[^\"']+)", content, flags=re.MULTILINE)
    return [os.path.normpath(folder / word.decode()) for word in found if b":" not in word]
