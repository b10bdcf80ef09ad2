"""What a command refuses before it works: options of another use, files it could not write."""

import argparse
from collections.abc import Collection, Iterable
from pathlib import Path

from turnwell.cli.write import refuse_taken

__all__ = ["PICTURE_ENDINGS", "refuse_options", "refuse_target"]

PICTURE_ENDINGS = (".png", ".svg")


def refuse_options(arguments: argparse.Namespace, names: Iterable[str], why: str) -> None:
    """Refuse options that mean nothing in this use.

    Parameters
    ----------
    arguments : argparse.Namespace
        With the parser's own way out as `refuse`.
    names : iterable of str
        Of the options, as the namespace has them.
    why : str
        What they go with: ``"goes with one record"``.
    """
    for name in names:
        if getattr(arguments, name):
            arguments.refuse(f"--{name.replace('_', '-')} {why}; leave it out")


def refuse_target(arguments: argparse.Namespace, name: str, endings: Collection[str]) -> None:
    """Refuse a file that could not be written; nothing where the option was not given.

    Parameters
    ----------
    arguments : argparse.Namespace
    name : str
        Of the option whose value is the file's path.
    endings : collection of str
        Of which its name must have one.

    Raises
    ------
    InputError
        If the file is there and may not be replaced, or its folder is not.
    """
    path: Path | None = getattr(arguments, name)
    if path is None:
        return
    if path.suffix.lower() not in endings:
        wanted = " or ".join(endings)
        arguments.refuse(f"--{name} is {path.name!r}; its name must end in {wanted}")
    refuse_taken(path, force=arguments.force)
