"""``turnwell backup``: write one file of the whole book, while it runs."""

import argparse
import json
import sys
from datetime import UTC, datetime
from pathlib import Path

from turnwell.cli.exits import ANSWERED, BAD_INPUT
from turnwell.web.running.opening import open_records

__all__ = ["add_to", "run"]

_EXAMPLE = """example:
  turnwell backup /media/stick

A folder gets a file with the time in its name. The secret and the keys of the certificates are left
out: with them a thief could sign in as anybody. Without them everybody signs in again after a
restore, and tablets install the certificate again. --with-secrets takes them along.
"""


def add_to(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.epilog = _EXAMPLE
    parser.add_argument("file", metavar="FILE", type=Path, help="new file, or a folder for it")
    parser.add_argument("--with-secrets", action="store_true", help="take secret and keys along")
    parser.add_argument("--json", action="store_true", help="print one JSON document")


def run(arguments: argparse.Namespace) -> int:
    """Write the backup; exit 1 says that some evidence was missing or damaged."""
    open_records()
    from turnwell.web.running.backup import write_backup

    backup = write_backup(
        arguments.file, now=datetime.now(UTC), with_secrets=arguments.with_secrets
    )
    if arguments.json:
        print(json.dumps(backup.as_dict()))
    else:
        megabytes = backup.path.stat().st_size / 1e6
        print(f"Wrote {backup.path}, {megabytes:,.1f} MB, {len(backup.manifest.files)} files.")
    if backup.is_whole:
        return ANSWERED
    manifest = backup.manifest
    print(
        f"turnwell backup: the backup is written, but {len(manifest.missing)} stored files are "
        f"missing and {len(manifest.damaged)} damaged; `turnwell check` names them",
        file=sys.stderr,
    )
    return BAD_INPUT
