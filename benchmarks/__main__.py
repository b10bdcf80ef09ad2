"""``python -m benchmarks [NAME]``: prints a table for each module here, or for the one named.

A module offers ``rows()``, which yields one dict a line with the same keys throughout, or
``main()``, which prints for itself. Nothing is asserted: a table is for reading beside the last.
"""

import importlib
import os
import platform
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

HERE = Path(__file__).parent


def names() -> list[str]:
    """Give the modules there are."""
    return sorted(path.stem for path in HERE.glob("*.py") if not path.stem.startswith("_"))


def printed(rows: Iterable[dict[str, str]]) -> None:
    """Print rows as a table."""
    table = list(rows)
    if not table:
        print("  nothing was measured")
        return
    columns = list(table[0])
    widths = {name: max(len(name), *(len(row[name]) for row in table)) for name in columns}
    for row in [{name: name for name in columns}, *table]:
        print("  " + "  ".join(f"{row[name]:<{widths[name]}}" for name in columns).rstrip())


def main(words: list[str]) -> int:
    """Run the benchmarks asked for."""
    # As the command sets it: every array is small, and more threads only wait for one another.
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    unknown = [word for word in words if word not in names()]
    if unknown:
        print(f"no benchmark {unknown[0]!r}; there are: {', '.join(names())}", file=sys.stderr)
        return 2
    if len(words) != 1:
        # Each in a process of its own, so that none finds the other's memory and modules.
        codes = [
            subprocess.run([sys.executable, "-m", "benchmarks", name], check=False).returncode
            for name in words or names()
        ]
        return max(codes)
    for name in words:
        machine = f"{platform.machine()}, {platform.system()}, {os.cpu_count()} cores"
        print(f"\n{name} (Python {platform.python_version()}, {machine})", flush=True)
        module = importlib.import_module(f"benchmarks.{name}")
        if hasattr(module, "rows"):
            printed(module.rows())
        else:
            sys.argv = [f"benchmarks.{name}"]
            module.main()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
