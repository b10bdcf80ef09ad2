"""Campaigns of seeded cases: octaves, false speeds, disturbances, coverage of the intervals.

    python -m benchmarks campaigns
    python -m benchmarks.campaigns 1000 octaves coverage

Each case draws from a generator seeded by its campaign and number alone, so that the figures depend
neither on the number of processes nor on their order.
"""

import os
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context

from benchmarks._sound_cases import CASES, Outcome, outcome_of

WHOLE = {"clock": 1_000, "coverage": 1_000, "disturbed": 2_000, "empty": 10_000, "octaves": 10_000}
AIMS = {
    "clock": "93 to 97 % held",
    "coverage": "93 to 97 % held",
    "disturbed": "0 wrong",
    "empty": "0.1 % answered",
    "octaves": "0 wrong",
}


def rows(cases: int | None = None, names: tuple[str, ...] = ()) -> Iterator[dict[str, str]]:
    """Yield one line for each group of cases of each campaign."""
    # Set before the processes start: several threads each would only get in one another's way.
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    with ProcessPoolExecutor(mp_context=get_context("spawn")) as pool:
        for name in names or sorted(CASES):
            count = WHOLE[name] if cases is None else cases
            groups: dict[str, list[Outcome]] = {}
            for outcome in pool.map(partial(outcome_of, name), range(count), chunksize=25):
                groups.setdefault(outcome.group, []).append(outcome)
            for group, outcomes in sorted(groups.items()):
                yield _row(name, group, outcomes)


def _row(name: str, group: str, outcomes: list[Outcome]) -> dict[str, str]:
    answered = [outcome for outcome in outcomes if outcome.answered]
    held = [outcome.held for outcome in answered]
    wrong = answered if name == "empty" else [outcome for outcome in answered if outcome.is_wrong]
    return {
        "campaign": name,
        "group": group,
        "cases": f"{len(outcomes):,}",
        "answered": f"{len(answered):,}",
        "wrong": f"{len(wrong):,}",
        "interval holds": f"{100 * sum(held) / len(held):.1f} %" if held else "-",
        "aim": AIMS[name],
    }


def main(words: list[str]) -> int:
    """Print the campaigns asked for with a number of cases."""
    from benchmarks.__main__ import printed

    printed(rows(int(words[0]) if words else None, tuple(words[1:])))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
