"""The options that every command on many files has."""

import argparse
from pathlib import Path

from turnwell.cli.arguments import count

__all__ = ["FOLDER_OPTIONS", "add_folder_options", "table_target"]

# Those that mean nothing where there is one file.
FOLDER_OPTIONS = ("out", "recursive", "jobs")


def add_folder_options(group: argparse._ArgumentGroup, *, things: str) -> None:
    """Add them to a heading.

    Parameters
    ----------
    group : argument group
    things : str
        What the command calls the files it takes: ``"recordings"``.
    """
    group.add_argument(
        "--out",
        type=Path,
        metavar="FILE.csv|json",
        help="write the table there; stopped, the same command goes on where it was",
    )
    group.add_argument("--recursive", action="store_true", help="the folders below it too")
    group.add_argument(
        "--jobs", type=count, metavar="N", help=f"{things} at a time; one for each core"
    )


def table_target(arguments: argparse.Namespace) -> Path | None:
    """Give where the table goes; refuses a name that does not say its form."""
    out: Path | None = arguments.out
    if out is not None and out.suffix.lower() not in {".csv", ".json"}:
        arguments.refuse(f"--out is {out.name!r}; its name must end in .csv or .json")
    if out is not None and arguments.json:
        arguments.refuse("--out has the form that its name ends in; leave --json out")
    return out
