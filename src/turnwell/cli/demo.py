"""``turnwell demo``: the page with an invented shop to look around in."""

import argparse
import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from turnwell.cli.exits import ANSWERED
from turnwell.cli.serve import port_number
from turnwell.web.running.doors import bench_door
from turnwell.web.running.session import run_page

__all__ = ["add_to", "run"]

SEED = 1
_EXAMPLE = """examples:
  turnwell demo             gone when it is stopped
  turnwell demo --keep      kept in ~/.turnwell-demo, and opened again from there

Your own records are not touched.
"""


def add_to(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.epilog = _EXAMPLE
    parser.add_argument(
        "--port", type=port_number, metavar="N", help="port; without it one that is free"
    )
    parser.add_argument("--keep", action="store_true", help="keep the invented shop for next time")


def run(arguments: argparse.Namespace) -> int:
    """Serve the invented shop until stopped."""
    with _home(keep=arguments.keep) as home:
        # Only these two say where records lie; the demo's are never those of the user.
        os.environ["TURNWELL_HOME"] = str(home)
        os.environ.pop("TURNWELL_DATABASE_URL", None)
        run_page(bench_door(port=arguments.port), wants_link=True, fill=_fill_once)
    return ANSWERED


@contextmanager
def _home(*, keep: bool) -> Iterator[Path]:
    """Give the demo's data folder."""
    if keep:
        yield Path.home() / ".turnwell-demo"
        return
    with TemporaryDirectory(prefix="turnwell-demo-") as folder:
        yield Path(folder)


def _fill_once(now: datetime) -> None:
    """Invent the shop, unless this folder has it."""
    from turnwell.web.jobs.models import Job

    if Job.objects.exists():
        return
    from turnwell import demo

    print("Inventing a shop with three years of jobs ...", flush=True)
    demo.fill(seed=SEED, now=now)
