"""Campaigns of seeded cases: octaves, false speeds, disturbances, coverage of the intervals.

    python -m benchmarks campaigns
    python -m benchmarks.campaigns --cases 1000 --processes 1 octaves coverage

Each campaign is printed as soon as it is done. Each case draws from a generator seeded by its
campaign and number alone, so that the figures depend neither on the number of processes nor on
their order.
"""

import argparse
import os
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context

import numpy as np
from scipy.stats import beta

from benchmarks._sound_cases import CASES, Outcome, outcome_of

WHOLE = {"clock": 1_000, "coverage": 1_000, "disturbed": 2_000, "empty": 10_000, "octaves": 10_000}
AIMS = {
    "clock": "93 to 97 % held",
    "coverage": "93 to 97 % held",
    "disturbed": "0 wrong",
    "empty": "0.1 % answered",
    "octaves": "0 wrong",
}


def measured(
    cases: int | None = None, names: tuple[str, ...] = (), *, processes: int | None = None
) -> Iterator[dict[str, str]]:
    """Yield one line for each group of cases of a campaign, when the campaign is done."""
    # Set before the processes start: several threads each would only get in one another's way.
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    # Spawned, not forked: a fork would copy the threads of the linear algebra half.
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        for name in names or sorted(CASES):
            count = WHOLE[name] if cases is None else cases
            groups: dict[str, list[Outcome]] = {}
            for outcome in pool.map(partial(outcome_of, name), range(count), chunksize=25):
                groups.setdefault(outcome.group, []).append(outcome)
            for group, outcomes in sorted(groups.items()):
                yield _row(name, group, outcomes)
            yield _row(name, "all", [one for outcomes in groups.values() for one in outcomes])


def _row(name: str, group: str, outcomes: list[Outcome]) -> dict[str, str]:
    answered = [outcome for outcome in outcomes if outcome.answered]
    held = [outcome.held for outcome in answered if np.isfinite(outcome.error)]
    wander = [outcome.wander_held for outcome in answered if outcome.wander_held is not None]
    wrong = answered if name == "empty" else [outcome for outcome in answered if outcome.is_wrong]
    return {
        "campaign": name,
        "group": group,
        "cases": f"{len(outcomes):,}",
        "answered": f"{len(answered):,}",
        "wrong": f"{len(wrong):,}",
        "wrong, 95 % bounds": _bounds(len(wrong), len(outcomes)),
        "interval holds": f"{100 * sum(held) / len(held):.1f} %" if held else "-",
        "wander holds": f"{100 * sum(wander) / len(wander):.1f} %" if wander else "-",
        "aim": AIMS[name],
    }


def _bounds(count: int, cases: int) -> str:
    """Exact binomial bounds of a share."""
    low = float(beta.ppf(0.025, count, cases - count + 1)) if count else 0.0
    high = float(beta.ppf(0.975, count + 1, cases - count)) if count < cases else 1.0
    return f"{100 * low:.2f} to {100 * high:.2f} %"


def _printed(row: dict[str, str], *, is_head: bool) -> None:
    """Print one line at once, with the names of the columns over the first."""
    widths = {**dict.fromkeys(row, 8), "campaign": 10, "group": 20, "wrong, 95 % bounds": 18}
    widths |= {"interval holds": 14, "wander holds": 12}
    for line in [dict(zip(row, row, strict=True)), row] if is_head else [row]:
        print("  " + "  ".join(f"{line[key]:<{widths[key]}}" for key in row).rstrip(), flush=True)


def main(words: list[str] | None = None) -> int:
    """Print the campaigns asked for with a number of cases."""
    parser = argparse.ArgumentParser(prog="benchmarks.campaigns")
    parser.add_argument("names", nargs="*", help=f"of {', '.join(sorted(CASES))}; all without")
    parser.add_argument("--cases", type=int, help="of each; the whole count without")
    parser.add_argument("--processes", type=int, help="at a time; one a core without")
    asked = parser.parse_args(sys.argv[1:] if words is None else words)
    unknown = set(asked.names) - set(CASES)
    if unknown:
        parser.error(f"no campaign {', '.join(sorted(unknown))}")
    every = measured(asked.cases, tuple(asked.names), processes=asked.processes)
    for number, row in enumerate(every):
        _printed(row, is_head=number == 0)
    return 0


if __name__ == "__main__":
    sys.exit(main())
