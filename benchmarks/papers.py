"""Times of papers and charts: each paper, the first and the median of the next.

    python -m benchmarks.papers

The target is 0.5 s a paper. The first call in a process loads the typesetter, the chart library and
the chart renderer; a server loads them before it is asked.
"""

import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from statistics import median

TARGET_S = 0.5
AGAIN = 9


def papers_to_print() -> dict[str, Callable[[int], bytes]]:
    """Give each paper as a function of a number that makes its values new."""
    from tests.papers import sheets

    from turnwell import papers

    def sheet(number: int) -> bytes:
        one = sheets.a_sheet()
        # Another steady speed: nothing drawn before can be taken again.
        after = replace(one.trace.after, steady_rpm=(400_000.0 + 1000 * number, 4e5, 5e5))
        return papers.test_sheet(replace(one, trace=replace(one.trace, after=after)))

    return {
        "test sheet": sheet,
        "test sheet, four pages": lambda _: papers.test_sheet(sheets.a_long_sheet()),
        "estimate": lambda _: papers.estimate(sheets.an_estimate()),
        "label": lambda _: papers.label(sheets.a_label()),
    }


def timed(act: Callable[[], object]) -> float:
    """Give the seconds one call takes."""
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def main() -> None:
    """Print the table."""
    if sys.argv[1:]:
        name = sys.argv[1]
        print_paper = papers_to_print()[name]
        first = timed(lambda: print_paper(0))
        again = median(timed(lambda n=n: print_paper(n)) for n in range(1, AGAIN + 1))
        print(f"{name:24}{first:10.3f}{again:10.3f}   {'yes' if again <= TARGET_S else 'NO'}")
        return
    print(f"{'paper':24}{'first s':>10}{'next s':>10}   within {TARGET_S} s")
    for name in papers_to_print():
        # A process each: what one paper loads must not help the next.
        subprocess.run([sys.executable, "-m", "benchmarks.papers", name], check=True)


if __name__ == "__main__":
    main()
