"""Tells the uses of the command apart: one record, or several and folders."""

import argparse
import json
import sys
from pathlib import Path

from turnwell.cli.exits import ANSWERED, CANNOT_ANSWER
from turnwell.cli.folder.options import FOLDER_OPTIONS, table_target
from turnwell.cli.steam.options import add_options
from turnwell.cli.uses import PICTURE_ENDINGS, refuse_options, refuse_target
from turnwell.cli.write import print_lines

__all__ = ["add_to", "run"]


def add_to(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    add_options(parser)


def run(arguments: argparse.Namespace) -> int:
    """Read one record, or a table of many."""
    if arguments.list_cycles:
        from turnwell.cli.steam.cycles import cycle_lines

        print_lines(cycle_lines())
        return ANSWERED
    if not arguments.paths:
        arguments.refuse("give a record, several, or a folder of them")
    paths = tuple(map(Path, arguments.paths))
    if len(paths) > 1 or paths[0].is_dir():
        return _many(arguments, paths)
    return _one(arguments, paths[0])


def _one(arguments: argparse.Namespace, path: Path) -> int:
    """Read, print, and say by the exit code whether anything of the run could be told."""
    from turnwell.cli.steam.asks import asking_lines
    from turnwell.cli.steam.given import given_of
    from turnwell.cli.steam.reviewed import reviewed
    from turnwell.steam.reading import UnsureLayoutError

    refuse_options(arguments, FOLDER_OPTIONS, "goes with several records or a folder")
    refuse_target(arguments, "plot", PICTURE_ENDINGS)
    try:
        review = reviewed(path, given_of(arguments))
    except UnsureLayoutError as error:
        print_lines(asking_lines(error.proposal, path.name), stream=sys.stderr)
        return CANNOT_ANSWER
    if arguments.json:
        json.dump(review.as_dict(), sys.stdout, allow_nan=False)
        print()
    else:
        from turnwell.cli.steam.text import review_lines
        from turnwell.steam.reading.grid import place_of

        print_lines(review_lines(review, place_of(path.name)))
    if arguments.plot is not None:
        from turnwell.cli.steam.plot import write_plot

        write_plot(arguments.plot, review.as_dict())
    return ANSWERED if review.answered else CANNOT_ANSWER


def _many(arguments: argparse.Namespace, paths: tuple[Path, ...]) -> int:
    from turnwell.cli.steam.given import given_of
    from turnwell.cli.steam.many import Asked, read_many

    refuse_options(arguments, ["plot"], "goes with one record")
    return read_many(
        Asked(
            paths=paths,
            given=given_of(arguments),
            out=table_target(arguments),
            as_json=arguments.json,
            recursive=arguments.recursive,
            jobs=arguments.jobs,
            force=arguments.force,
        )
    )
