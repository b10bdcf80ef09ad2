"""Tells the three uses of the command apart: one recording, two, a folder."""

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from turnwell.cli.exits import ANSWERED, CANNOT_ANSWER
from turnwell.cli.folder.options import FOLDER_OPTIONS, table_target
from turnwell.cli.listen.heard import heard_in
from turnwell.cli.listen.options import add_options, calibrated_of, expectation_of
from turnwell.cli.uses import PICTURE_ENDINGS, refuse_options, refuse_target
from turnwell.cli.write import print_lines, write_whole
from turnwell.sound import Expectation, Listening, analyse, read_recording

__all__ = ["add_to", "run"]

# Options that belong to some of the three uses only.
_OF_ONE = ("track",)
_OF_ONE_OR_TWO = ("plot",)
_OF_TWO = ("same_recorder",)


def add_to(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    add_options(parser)


def run(arguments: argparse.Namespace) -> int:
    """Listen to one recording, compare two, or take a whole folder."""
    expectation = expectation_of(arguments)
    paths: list[str] = arguments.paths
    if arguments.compare:
        return _two(arguments, expectation)
    refuse_options(arguments, _OF_TWO, "goes with --compare")
    if len(paths) != 1:
        arguments.refuse("give one recording or one folder; two recordings go with --compare")
    if Path(paths[0]).is_dir():
        return _folder(arguments, expectation)
    return _one(arguments, expectation)


def _one(arguments: argparse.Namespace, expectation: Expectation) -> int:
    """Listen, print, and say by the exit code whether there is a speed."""
    refuse_options(arguments, FOLDER_OPTIONS, "goes with a folder of recordings")
    refuse_target(arguments, "track", (".csv",))
    refuse_target(arguments, "plot", PICTURE_ENDINGS)
    listening = heard_in(arguments.paths[0], expectation, calibrated_of(arguments))
    document = listening.as_dict()
    if arguments.json:
        json.dump(document, sys.stdout, allow_nan=False)
        print()
    else:
        from turnwell.cli.listen.text import listening_lines

        print_lines(listening_lines(listening, document))
    _write_targets(arguments, listening, document)
    return ANSWERED if listening.answered else CANNOT_ANSWER


def _write_targets(
    arguments: argparse.Namespace, listening: Listening, document: dict[str, Any]
) -> None:
    """Write the files that are wanted, after the answer is out."""
    if arguments.track is not None:
        from turnwell.cli.listen.track import track_csv

        write_whole(arguments.track, track_csv(listening).encode())
    if arguments.plot is not None:
        from turnwell.cli.listen.plot import write_plot

        write_plot(arguments.plot, document)


def _folder(arguments: argparse.Namespace, expectation: Expectation) -> int:
    from turnwell.cli.listen.folder import Asked, listen_to_folder

    refuse_options(arguments, (*_OF_ONE, *_OF_ONE_OR_TWO), "goes with one recording")
    return listen_to_folder(
        Asked(
            folder=Path(arguments.paths[0]),
            expectation=expectation,
            calibrated=calibrated_of(arguments),
            out=table_target(arguments),
            as_json=arguments.json,
            recursive=arguments.recursive,
            jobs=arguments.jobs,
            force=arguments.force,
        )
    )


def _two(arguments: argparse.Namespace, expectation: Expectation) -> int:
    """Compare, print, and say by the exit code whether any change can be told."""
    refuse_options(arguments, FOLDER_OPTIONS, "goes with a folder of recordings")
    refuse_options(arguments, _OF_ONE, "goes with one recording")
    if len(arguments.paths) != 2 or any(Path(path).is_dir() for path in arguments.paths):
        arguments.refuse("--compare needs two recordings, BEFORE and AFTER")
    refuse_target(arguments, "track", (".csv",))
    refuse_target(arguments, "plot", PICTURE_ENDINGS)
    from turnwell.sound.condition.change import ChangeVerdict
    from turnwell.sound.condition.comparison import compare

    calibrated = calibrated_of(arguments)
    before, after = (
        analyse(read_recording(path), expectation)
        if calibrated is None
        else heard_in(path, expectation, calibrated)
        for path in arguments.paths
    )
    comparison = compare(
        before,
        after,
        same_recorder=arguments.same_recorder,
        clock_ppm=expectation.clock_ppm,
    )
    if arguments.json:
        json.dump(comparison.as_dict(), sys.stdout, allow_nan=False)
        print()
    else:
        from turnwell.cli.listen.compare import comparison_lines

        print_lines(comparison_lines(comparison))
    if arguments.plot is not None:
        from turnwell.cli.listen.plot import write_plot

        write_plot(arguments.plot, after.as_dict(), before.as_dict())
    told = [c for c in comparison.changes if c.verdict is not ChangeVerdict.CANNOT_TELL]
    return ANSWERED if told else CANNOT_ANSWER
