"""``turnwell cause``: rank the causes of a failure from what was seen."""

import argparse
import json
from collections.abc import Iterator
from pathlib import Path

from turnwell import catalogue, cause
from turnwell.cli.cause_file import read_case
from turnwell.cli.exits import ANSWERED, CANNOT_ANSWER
from turnwell.cli.lines import reading_line
from turnwell.words import text_of

__all__ = ["add_to", "run"]

SHOWN = 5

_EXAMPLE = """example:
  turnwell cause job.toml

where job.toml holds what was said and looked for; what was not looked for is left out:
  class = "air_turbine_4_hole"
  complaint = ["leaks_water_or_air"]
  seen = ["leak_found", "o_rings_hard"]
  not_seen = ["repaired_lately"]
  lubricated = "yes"                  # or "never", "not known"
  label_speed_rpm = 400000

  [readings]                          # 95 % interval; the class's limits hold
  free_running_speed = { value = 352000, low = 351500, high = 352500 }

  [office]                            # true seen, false looked and not seen
  drying_cut_short = true
  earlier_causes = { seals_hardened = 1 }

All keys stand in docs/how-to-cause.md. Exit codes: 0 one cause leads or two are left,
1 bad input, 2 usage, 3 cannot tell or nothing listed fits (the ranking is printed then too).
"""


def add_to(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.epilog = _EXAMPLE
    parser.add_argument("file", metavar="FILE", type=Path, help="the evidence, as TOML")
    parser.add_argument("--json", action="store_true", help="print one JSON document")


def run(arguments: argparse.Namespace) -> int:
    """Rank, print, and say by the exit code whether the evidence answers."""
    case = read_case(arguments.file, catalogue.load())
    ladder = cause.rank(
        case.table,
        complaints=case.answers.complaints,
        seen=case.answers.seen,
        not_seen=case.answers.not_seen,
        is_open=case.is_open,
    )
    readings = [found.as_dict() for found in case.readings]
    if arguments.json:
        print(json.dumps(ladder.as_dict() | {"readings": readings}, allow_nan=False))
    else:
        print("\n".join([*(reading_line(found) for found in case.readings), *_lines(ladder)]))
    return ANSWERED if ladder.is_answered else CANNOT_ANSWER


def _lines(ladder: cause.Ladder) -> Iterator[str]:
    """Write the ladder as lines of a terminal."""
    yield text_of(ladder.wording)
    yield from (f"! {text_of(message)}" for message in ladder.says)
    for place, rung in enumerate(ladder.rungs[:SHOWN], start=1):
        yield ""
        yield f"{place}  {rung.name}  {rung.probability:.2f} ({rung.low:.2f} to {rung.high:.2f})"
        for side, items in (("for", rung.evidence_for), ("against", rung.evidence_against)):
            for item in items:
                yield f"     {side:8}{text_of(item.message)}"
    if ladder.rungs[0].caution:
        yield ""
        yield f"Caution with the first: {ladder.rungs[0].caution}"
    for heading, looks in (
        ("Look next", ladder.look_next),
        ("At the next visit", ladder.look_at_visit),
    ):
        if looks:
            yield ""
            yield heading
            yield from (f"  - {text_of(look.message)}" for look in looks)
    yield ""
    yield "The range is from thin knowledge. The ranking closes no job: you name the cause."
