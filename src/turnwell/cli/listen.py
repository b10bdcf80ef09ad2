"""``turnwell listen``: measure a recording of a running handpiece."""

import argparse
import json
import sys

from turnwell.cli.exits import ANSWERED, CANNOT_ANSWER
from turnwell.cli.lines import reading_line
from turnwell.sound import Expectation, Listening, analyse, read_recording
from turnwell.sound.expectation import CLASSES

__all__ = ["add_to", "run"]

_EXAMPLE = """example:
  turnwell listen run.m4a --class air_turbine_4_hole --label-rpm 400000 --label-kpa 240
"""


def add_to(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.epilog = _EXAMPLE
    parser.add_argument("file", metavar="FILE", help="sound or phone video of the run")
    parser.add_argument(
        "--class",
        dest="handpiece_class",
        metavar="KEY",
        choices=sorted(CLASSES),
        help="handpiece class: " + ", ".join(sorted(CLASSES)),
    )
    parser.add_argument("--label-rpm", type=_number, metavar="RPM", help="speed on the label")
    parser.add_argument("--label-kpa", type=_number, metavar="KPA", help="pressure on the label")
    parser.add_argument(
        "--pressure-kpa", type=_number, metavar="KPA", help="drive pressure during this run"
    )
    parser.add_argument(
        "--ratio",
        type=_ratio,
        metavar="M:B",
        help="motor turns to bur turns: 8:1 reducing, 1:5 increasing",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON document")


def run(arguments: argparse.Namespace) -> int:
    """Listen, print, and say by the exit code whether there is a speed."""
    expectation = Expectation(
        handpiece_class=arguments.handpiece_class,
        label_speed_rpm=arguments.label_rpm,
        label_pressure_kpa=arguments.label_kpa,
        ratio=arguments.ratio,
        pressure_kpa=arguments.pressure_kpa,
    )
    listening = analyse(read_recording(arguments.file), expectation)
    if arguments.json:
        json.dump(listening.as_dict(), sys.stdout, allow_nan=False)
        print()
    else:
        print(_table(listening))
    return ANSWERED if listening.answered else CANNOT_ANSWER


def _table(listening: Listening) -> str:
    """Write the same in words."""
    facts = listening.recording
    lines = [
        f"{facts.duration_s:.2f} s, {facts.rate_hz:,.0f} samples a second, {facts.codec}",
        *(
            f"  {segment.kind.value:<10} {segment.start_s:7.2f} to {segment.stop_s:.2f} s"
            for segment in listening.segments
        ),
        *(reading_line(reading) for reading in listening.readings),
        *(f"note: {finding.as_dict()['message']}" for finding in listening.gate),
    ]
    return "\n".join(lines)


def _number(text: str) -> float:
    try:
        value = float(text.replace(",", ""))
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number") from None
    if not 0.0 < value < 1e9:
        raise argparse.ArgumentTypeError(f"{text!r} must be above 0")
    return value


def _ratio(text: str) -> float:
    """Read ``8:1`` or ``1:5`` as motor turns for one turn of the bur."""
    motor, colon, bur = text.partition(":")
    try:
        ratio = float(motor) / float(bur) if colon else float(motor)
    except (ValueError, ZeroDivisionError):
        raise argparse.ArgumentTypeError(f"{text!r} is not a ratio such as 8:1") from None
    if not 0.001 <= ratio <= 1000.0:
        raise argparse.ArgumentTypeError(f"{text!r} is not a ratio such as 8:1")
    return ratio
