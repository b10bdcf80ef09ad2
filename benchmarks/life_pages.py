"""The office review and the round with 200 offices, 20,000 handpieces and 100,000 jobs.

Time at the server from the request to the whole answer. "First" is the first such page of a process
and pays for its modules; "cold" has neither the shop's records nor an answer; "after a write" has
the records of before; "again" is the same page when nothing changed. Aims: the review 0.5 s, the
round 1.5 s from cold, both 0.1 s again.
"""

import os
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

from benchmarks.life_records import seed

AIMS = {"office review": "500 ms", "the round": "1,500 ms"}


def rows() -> Iterator[dict[str, str]]:
    """Seed a database and measure each page."""
    with tempfile.TemporaryDirectory(prefix="turnwell-bench-") as folder:
        os.environ["TURNWELL_HOME"] = folder
        os.environ.pop("TURNWELL_DATABASE_URL", None)
        from turnwell.web.running.opening import open_new_records

        open_new_records()
        from turnwell.web.running.preparing import prepare

        prepare(datetime.now(UTC))
        seed()
        yield from _measured(Path(folder))


def _measured(home: Path) -> Iterator[dict[str, str]]:
    from benchmarks.pages import signed_in
    from turnwell.web.jobs.models import Job
    from turnwell.web.lives.records import keeping
    from turnwell.web.offices.models import Office

    client = signed_in()
    office = Office.objects.order_by("pk")[17]
    addresses = {"office review": f"/offices/{office.pk}/review/", "the round": "/round/"}
    for name, address in addresses.items():
        client.get("/offices/")  # what any first request of a process pays
        first = _seconds(lambda at=address: client.get(at))
        cold = _seconds(lambda at=address: client.get(at), keeping.forget, _without_file(home))
        again = _seconds(lambda at=address: client.get(at))
        job = Job.objects.order_by("?").first()
        written = _seconds(lambda at=address: client.get(at), lambda one=job: _count_up(one))
        yield {
            "page": name,
            "first": f"{1000 * first:,.0f} ms",
            "cold": f"{1000 * cold:,.0f} ms",
            "after a write": f"{1000 * written:,.0f} ms",
            "again": f"{1000 * again:,.0f} ms",
            "aim cold / again": f"{AIMS[name]} / 100 ms",
        }


def _seconds(ask: Callable[[], object], *before: Callable[[], object]) -> float:
    for step in before:
        step()
    start = time.perf_counter()
    ask()
    return time.perf_counter() - start


def _without_file(home: Path) -> Callable[[], None]:
    path = home / "cache" / "lives" / "records.npz"
    return lambda: path.unlink(missing_ok=True)


def _count_up(job: object) -> None:
    """Write to a job as an action does: its version goes up."""
    job.version += 1  # type: ignore[attr-defined]  # a Job
    job.save(update_fields=["version"])  # type: ignore[attr-defined]  # a Job
