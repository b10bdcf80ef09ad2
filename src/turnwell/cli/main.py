"""The ``turnwell`` command: finds the subcommand, runs it, turns our errors into one line.

A subcommand is a module of `turnwell.cli` with ``add_to(parser)``, which adds its arguments and
help, and ``run(arguments) -> int``, which returns the exit code. Its module is imported only when
it is asked for, so that ``--help`` stays quick.
"""

import argparse
import os
import sys
from collections.abc import Sequence
from importlib import import_module

from turnwell import __version__
from turnwell.cli.exits import ANSWERED, BAD_INPUT, CANNOT_ANSWER, STOPPED
from turnwell.errors import CannotTellError, TurnwellError

__all__ = ["COMMANDS", "THREADS", "main"]

THREADS = "OMP_NUM_THREADS"
COMMANDS = {
    "serve": "open the bench and the book as a page on this machine",
    "demo": "the same with an invented shop to look around in",
    "listen": "measure a recording of a running handpiece",
    "steam": "read the record of a steam sterilizer",
    "lives": "say from a table how long things last or how often they come back",
    "cause": "rank the causes of a failure from what was seen",
    "backup": "write one file of the whole book, while it runs",
    "restore": "bring a backup back",
    "check": "verify every stored file, link and migration",
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line; gives the exit code.

    Parameters
    ----------
    argv : sequence of str or None
        Arguments without the program's name; those of the process when None.
    """
    # Every array is small: more threads of the linear algebra would only wait for one another.
    os.environ.setdefault(THREADS, "1")
    words = list(sys.argv[1:] if argv is None else argv)
    chosen = words[0] if words and words[0] in COMMANDS else None
    parser = _parser(chosen)
    arguments = parser.parse_args(words)
    try:
        return int(import_module(f"turnwell.cli.{chosen}").run(arguments))
    except BrokenPipeError:
        # Whoever read the output has closed it; what is left is not owed to anyone.
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115  (closed at exit)
        return ANSWERED
    except KeyboardInterrupt:
        print(f"turnwell {chosen}: stopped", file=sys.stderr)
        return STOPPED
    except CannotTellError as error:
        print(f"turnwell {chosen}: {error}", file=sys.stderr)
        return CANNOT_ANSWER
    except TurnwellError as error:
        print(f"turnwell {chosen}: {error}", file=sys.stderr)
        return BAD_INPUT


def _parser(chosen: str | None) -> argparse.ArgumentParser:
    """Build the parser; only the chosen subcommand's module is imported."""
    parser = argparse.ArgumentParser(
        prog="turnwell",
        description="The bench and the book of a person who repairs dental handpieces.",
        epilog="Exit codes: 0 answered, 1 bad input, 2 usage, 3 the evidence cannot answer.",
    )
    parser.add_argument("--version", action="version", version=f"turnwell {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, summary in COMMANDS.items():
        command = commands.add_parser(
            name,
            help=summary,
            description=summary.capitalize() + ".",
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        if name == chosen:
            import_module(f"turnwell.cli.{name}").add_to(command)
    return parser
