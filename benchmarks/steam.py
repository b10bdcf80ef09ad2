"""How fast cycle records are read: ``python -m benchmarks steam``.

Each line is a time and the side it is held against: a record of an hour, a whole process, a year's
folder, and saturation beside the general-purpose library called point by point.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from CoolProp.CoolProp import PropsSI
from tests.steam.truth.cycles import simulate
from tests.steam.truth.faults import Case, clean_case
from tests.steam.truth.files import Shape, draw_shape, written
from tests.steam.truth.plans import Kind, draw
from tests.steam.truth.scoring import cycle_of, record_of
from tests.steam.truth.sensors import Logger, logged

from turnwell.steam import analyse
from turnwell.steam.reading import read_record
from turnwell.steam.water import saturation_temperature_c

YEAR = 3_000
START = "import sys; from turnwell.cli.main import main; sys.exit(main())"
COMMAND = (sys.executable, "-c", START, "steam")
JUDGED = (0, 1)


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    with tempfile.TemporaryDirectory() as folder:
        yield from an_hour(Path(folder))
        yield from saturation()
        yield from a_year(Path(folder))


def row(what: str, measured: str, aim: str) -> dict[str, str]:
    return {"what": what, "measured": measured, "aim": aim}


def quickest(call: Callable[[], object], repeats: int = 7) -> float:
    taken = []
    for _ in range(repeats):
        begin = time.perf_counter()
        call()
        taken.append(time.perf_counter() - begin)
    return min(taken)


def plain_shape() -> Shape:
    """Give the shape of a plain table: semicolons, English headings, kPa absolute."""
    shape = draw_shape(np.random.default_rng(0))
    return replace(
        shape,
        delimiter=";",
        decimal=".",
        thousands="",
        tongue="en",
        headers=True,
        time="s",
        fahrenheit=False,
        pressure="kPa",
        gauge=False,
        unit_at="header",
        zero_said=True,
        jacket=False,
        probe=False,
        target=False,
        number=False,
        stage=False,
        broken=0,
        duplicates=0,
        reversed_=0,
        encoding="utf-8",
    )


def hour() -> Case:
    """Give a run of an hour, a row a second."""
    rng = np.random.default_rng(1)
    plan = draw(Kind.DYNAMIC_121, rng)
    short_s = simulate(replace(plan, rest_after_s=1.0)).time_s[-1]
    truth = simulate(replace(plan, rest_after_s=3_601.0 - short_s))
    logger = Logger()
    return Case(truth, logger, logged(truth, logger, rng), frozenset(), frozenset())


def an_hour(folder: Path) -> Iterator[dict[str, str]]:
    """Time reading, analysing, and the whole command, with an empty interpreter beside it."""
    case = hour()
    record, cycle = record_of(case), cycle_of(case)
    file = written(case.truth, case.record, plain_shape(), np.random.default_rng(1))
    path = folder / "hour.csv"
    path.write_bytes(file.content)
    count = record.time_s.size
    taken = quickest(lambda: analyse(record, cycle))
    yield row(f"analysis of {count:,} rows", f"{1e3 * taken:.1f} ms", "30 ms")
    plain = quickest(lambda: np.loadtxt(path, delimiter=";", skiprows=_skipped(file.content)))
    taken = quickest(lambda: read_record(file.content, path.name))
    measured = f"{1e3 * taken:.0f} ms, {taken / plain:.1f} x numpy.loadtxt"
    yield row(f"reading {count:,} rows, columns detected", measured, "-")
    whole = quickest(lambda: run(*COMMAND, str(path), "--set-c", "121", "--hold-min", "15"))
    empty = quickest(lambda: run(sys.executable, "-c", "import numpy"))
    measured = f"{whole:.2f} s; {empty:.2f} s is starting Python with numpy"
    yield row("turnwell steam, whole process", measured, "0.8 s")


def _skipped(content: bytes) -> int:
    """Lines before the first row of numbers."""
    lines = content.decode().splitlines()
    return next(number for number, line in enumerate(lines) if line[:1].isdigit())


def run(*words: str) -> None:
    """Run a process; a command that could not do its work is an error here."""
    done = subprocess.run(words, capture_output=True, check=False, text=True)
    if done.returncode not in JUDGED:
        raise RuntimeError(done.stderr)


@dataclass(frozen=True, slots=True)
class Cost:
    """What a process and all below it took: time, processor, memory of the largest of them."""

    wall_s: float
    cpu_s: float
    peak_mib: float


# A process counts the memory of the one that began it: a small one stands between.
BETWEEN = """
import resource, subprocess, sys, time
begin = time.perf_counter()
code = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(code, time.perf_counter() - begin, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)
"""


def cost_of(*words: str) -> Cost:
    """Run a process and give what it took; memory is in KiB on Linux only."""
    done = subprocess.run(
        (sys.executable, "-c", BETWEEN, *words), capture_output=True, check=True, text=True
    )
    code, wall_s, cpu_s, peak_mib = map(float, done.stdout.split())
    if code not in JUDGED:
        raise RuntimeError(f"{words} ended with {code:.0f}")
    return Cost(wall_s, cpu_s, peak_mib)


def saturation() -> Iterator[dict[str, str]]:
    """Time a million saturation temperatures beside CoolProp, point by point."""
    pressure_kpa = np.random.default_rng(0).uniform(1.0, 400.0, 1_000_000)
    ours = quickest(lambda: saturation_temperature_c(pressure_kpa), 3)
    few = pressure_kpa[:20_000].tolist()
    theirs = quickest(lambda: [PropsSI("T", "P", 1e3 * p, "Q", 1, "Water") for p in few], 2)
    ratio = theirs * pressure_kpa.size / len(few) / ours
    measured = f"{ours:.2f} s, {ratio:.0f} x faster than CoolProp point by point"
    yield row("saturation of 1,000,000 values", measured, "0.5 s, 50 x")


def a_year(parent: Path) -> Iterator[dict[str, str]]:
    """Time a folder of a year; memory is that of the largest process."""
    contents = []
    for seed in range(30):
        case = clean_case(list(VACUUM)[seed % len(VACUUM)], seed, interval_s=5.0)
        shape = plain_shape()
        contents.append(written(case.truth, case.record, shape, np.random.default_rng(seed)))
    for count in (YEAR // 10, YEAR):
        folder = parent / f"{count} files"
        folder.mkdir()
        for number in range(count):
            unlike = f"Run {number}\r\n".encode()
            (folder / f"{number:04d}.csv").write_bytes(unlike + contents[number % 30].content)
        out = parent / f"{count}.csv"
        used = cost_of(*COMMAND, str(folder), "--set-c", "134", "--out", str(out))
        lines = len(out.read_text(encoding="utf-8").splitlines()) - 1
        measured = (
            f"{used.wall_s:.1f} s on {os.cpu_count()} cores, {used.cpu_s:.1f} s of processor, "
            f"{used.peak_mib:.0f} MiB, {lines:,} lines"
        )
        yield row(f"folder of {count:,} files", measured, "60 s for 3,000")


VACUUM = (Kind.DYNAMIC_134, Kind.SINGLE_VACUUM_134, Kind.WEAK_PUMP_134)
