"""``turnwell restore``: bring a backup back."""

import argparse
from datetime import UTC, datetime
from pathlib import Path

from turnwell.cli.exits import ANSWERED
from turnwell.errors import InputError
from turnwell.web.running.opening import open_new_records

__all__ = ["add_to", "run"]

_EXAMPLE = """example:
  turnwell restore /media/stick/turnwell-20260301T101500Z.zip --replace

Stop the server first. Everything is verified before anything is touched; what was there is moved
aside and kept.
"""


def add_to(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.epilog = _EXAMPLE
    parser.add_argument("file", metavar="FILE", type=Path, help="a backup")
    parser.add_argument(
        "--replace", action="store_true", help="move the records that are there aside"
    )


def run(arguments: argparse.Namespace) -> int:
    """Bring the backup back."""
    if not arguments.file.is_file():
        raise InputError(f"{arguments.file} is not there")
    home = open_new_records()
    from turnwell.web.running.restore import restore

    restored = restore(arguments.file, replace=arguments.replace, now=datetime.now(UTC))
    made = restored.manifest.made_at.astimezone()
    print(f"The records of {made:%Y-%m-%d %H:%M} are back in {home}.")
    if not restored.manifest.has_evidence:
        print("That backup holds no files; those of the data folder stay as they are.")
    if restored.kept_aside is not None:
        print(f"What was there is kept in {restored.kept_aside}.")
    return ANSWERED
