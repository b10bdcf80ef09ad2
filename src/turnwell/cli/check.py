"""``turnwell check``: verify every stored file, link and migration."""

import argparse
import json

from turnwell.cli.exits import ANSWERED, BAD_INPUT
from turnwell.web.running.opening import open_records

__all__ = ["add_to", "run"]

_EXAMPLE = """example:
  turnwell check --json

Exit codes: 0 all is well, 1 something is missing, damaged or not migrated.
"""
_WORDS = {
    "database": "The database is damaged",
    "loose": "Rows point to rows that are not there",
    "migrations": "Not migrated yet (the next start does it)",
    "missing": "Stored files that are missing",
    "damaged": "Stored files that are no longer what was received",
    "orphans": "Bytes that no record speaks of (harmless)",
}
_SHOWN = 10


def add_to(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.epilog = _EXAMPLE
    parser.add_argument("--json", action="store_true", help="print one JSON document")


def run(arguments: argparse.Namespace) -> int:
    """Check and print."""
    open_records()
    from turnwell.web.running.checking import check_records

    report = check_records()
    if arguments.json:
        print(json.dumps(report.as_dict()))
        return ANSWERED if report.is_sound else BAD_INPUT
    for name, words in _WORDS.items():
        found: tuple[str, ...] = getattr(report, name)
        if found:
            print(f"{words}: {len(found)}")
            print("".join(f"  {item}\n" for item in found[:_SHOWN]), end="")
            if len(found) > _SHOWN:
                print(f"  and {len(found) - _SHOWN} more; --json lists all")
    state = "All is well" if report.is_sound else "Not all is well"
    print(f"{state}: {report.files} stored files read.")
    return ANSWERED if report.is_sound else BAD_INPUT
