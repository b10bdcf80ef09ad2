"""Reading a table and answering it: a million rows, and the whole command on a small file.

python -m benchmarks life_table
"""

import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from turnwell.life import read_table, summary_of

ROWS = 1_000_000
CAUSES = ("bearing", "chuck", "seals")


def rows() -> Iterator[dict[str, str]]:
    """Yield one line a measurement."""
    for what, content in (
        ("lives", lives()),
        ("lives, decimal commas", lives().replace(b",", b";").replace(b".", b",")),
        ("lives, every cell in quotes", quoted(lives())),
        ("lives, dates", dated()),
        ("returns", returns()),
    ):
        begin = time.perf_counter()
        table = read_table(content, "table.csv")
        read = time.perf_counter()
        summary_of(table)
        answered = time.perf_counter()
        yield {
            "what": f"{ROWS:,} rows of {what}",
            "size": f"{len(content) / 1e6:.0f} MB",
            "read": f"{read - begin:.2f} s",
            "answered": f"{answered - read:.2f} s",
            "peak memory": f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3:.0f} MB",
        }
    yield from commands()


def commands() -> Iterator[dict[str, str]]:
    """Yield the time of the whole command: its help, and 100 rows."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "small.csv"
        path.write_bytes(b"\n".join(lives(100).split(b"\n")))
        program = "import sys; from turnwell.cli.main import main; sys.exit(main())"
        for words in (["--help"], [str(path)], [str(path), "--json"]):
            taken = []
            for _ in range(5):
                begin = time.perf_counter()
                subprocess.run(
                    [sys.executable, "-c", program, "lives", *words],
                    check=True,
                    capture_output=True,
                )
                taken.append(time.perf_counter() - begin)
            shown = " ".join(word for word in words if word != str(path))
            yield {
                "what": f"turnwell lives {shown or '(100 rows)'}",
                "size": "",
                "read": "",
                "answered": f"{min(taken):.2f} s",
                "peak memory": "",
            }


def lives(count: int = ROWS) -> bytes:
    """Write lives with late entry, causes, four groups."""
    random = np.random.default_rng(1)
    ends = random.weibull(1.7, count) * 600.0 + 1.0
    entries = ends * random.random(count) * 0.5
    failed = random.random(count) < 0.3
    lines = ["id,entry,exit,failed,cause,group"]
    lines += [
        f"u{n:07d},{entry:.2f},{end:.2f},{did:d},{CAUSES[n % 3] if did else ''},g{n % 4}"
        for n, (entry, end, did) in enumerate(zip(entries, ends, failed, strict=True))
    ]
    return "\n".join(lines).encode()


def dated() -> bytes:
    """Write lives between dates of ten years."""
    random = np.random.default_rng(2)
    first = np.datetime64("2014-01-01") + random.integers(0, 2000, ROWS)
    last = first + random.integers(1, 1500, ROWS)
    failed = random.random(ROWS) < 0.3
    lines = ["id,entry,exit,failed"]
    lines += [
        f"u{n:07d},{a},{b},{did:d}"
        for n, (a, b, did) in enumerate(zip(first, last, failed, strict=True))
    ]
    return "\n".join(lines).encode()


def returns() -> bytes:
    """Write half as many units, each with one return and its end, in two groups."""
    random = np.random.default_rng(3)
    lines = ["id,time,event,group"]
    for n, at in enumerate((random.random(ROWS // 2) * 900.0).tolist()):
        lines += [f"u{n:07d},{at + 0.01:.2f},1,g{n % 2}", f"u{n:07d},1000,0,g{n % 2}"]
    return "\n".join(lines).encode()


def quoted(content: bytes) -> bytes:
    """Put every cell in quotes."""
    return b"\n".join(b'"' + line.replace(b",", b'","') + b'"' for line in content.split(b"\n"))
