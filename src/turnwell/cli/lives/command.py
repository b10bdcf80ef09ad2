"""One table: read, summed up, printed."""

import argparse
import json
import sys
from pathlib import Path

from turnwell.cli.arguments import at_least_zero, positive
from turnwell.cli.exits import ANSWERED, CANNOT_ANSWER
from turnwell.cli.write import print_lines
from turnwell.errors import UnreadableFileError

__all__ = ["add_to", "run"]

STDIN = "-"

_EXAMPLE = """example:
  turnwell lives turbines.csv --unit cycles --group shop

where turbines.csv holds lives, one a row:
  id,entry,exit,failed,cause,shop
  T1,0,812,1,bearing,north
  T2,150,1240,0,,south

or returns, with event 1 for a return and 0 for the end of observation:
  id,time,event
  T1,310,1
  T1,812,0

entry, cause, group and office may be left out; so may start, cost, group and
office of returns. All of it stands in docs/how-to-lives.md.

Exit codes: 0 answered, 1 bad input (row and column are named), 2 usage,
3 nothing failed (what can be said then is printed all the same), or the
table cannot answer.
"""


def add_to(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.epilog = _EXAMPLE
    parser.set_defaults(refuse=parser.error)
    parser.add_argument("file", metavar="FILE.csv", help="a table; - for standard input")
    parser.add_argument(
        "--unit", choices=("cycles", "days"), help="what ages are counted in (days)"
    )
    parser.add_argument("--group", metavar="COL", help="compare the groups that this column names")
    parser.add_argument(
        "--office", metavar="COL", help="lives of one office may be alike: the column with its name"
    )
    parser.add_argument(
        "--at",
        metavar="AGE",
        type=at_least_zero,
        nargs="+",
        action="extend",
        default=[],
        help="ages at which survival, or mean returns, are printed (round ones)",
    )
    parser.add_argument(
        "--shape-assumed",
        metavar="B",
        type=positive,
        help="Weibull shape of the bound that is given where nothing failed (1.5, common practice)",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON document")


def run(arguments: argparse.Namespace) -> int:
    """Read, sum up, print, and say by the exit code whether the table answers."""
    from turnwell.life.lives import Clock
    from turnwell.life.summary_of import ASSUMED_SHAPE, summary_of
    from turnwell.life.table import read_table

    content, name = _content(arguments.file)
    table = read_table(
        content,
        name,
        clock=None if arguments.unit is None else Clock(arguments.unit),
        group=arguments.group,
        office=arguments.office,
    )
    summary = summary_of(
        table, ages=arguments.at, assumed_shape=arguments.shape_assumed or ASSUMED_SHAPE
    )
    if arguments.json:
        json.dump(summary.as_dict(), sys.stdout, allow_nan=False)
        print()
    else:
        from turnwell.cli.lives.text import summary_lines

        print_lines(summary_lines(summary))
    return ANSWERED if summary.answered and summary.failures else CANNOT_ANSWER


def _content(file: str) -> tuple[bytes, str]:
    """Give a table's bytes and name; one byte more than the reader takes, which then says so."""
    from turnwell.life.table.content import MAX_BYTES

    if file == STDIN:
        return sys.stdin.buffer.read(MAX_BYTES + 1), "standard input"
    path = Path(file)
    try:
        if path.exists() and not path.is_file():
            raise UnreadableFileError(f"{path} is no plain file; give a table as CSV")
        with path.open("rb") as opened:
            return opened.read(MAX_BYTES + 1), path.name
    except OSError as error:
        raise UnreadableFileError(f"{path} cannot be read: {error.strerror or error}") from error
