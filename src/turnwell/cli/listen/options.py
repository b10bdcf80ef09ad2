"""The options of ``turnwell listen``: how they are read, and what they say of the handpiece."""

import argparse
from math import radians
from pathlib import Path

from turnwell.cli.arguments import at_least_zero, count, list_of, number, positive
from turnwell.cli.folder.options import add_folder_options
from turnwell.cli.listen.heard import Calibrated
from turnwell.sound import Expectation
from turnwell.sound.expectation import CLASSES
from turnwell.sound.orders.bearing import Bearing

__all__ = ["EXAMPLES", "add_options", "calibrated_of", "expectation_of"]

EXAMPLES = """examples:
  turnwell listen run.m4a --class air_turbine_4_hole --label-rpm 400000
  turnwell listen motor.wav --class contra_angle_reducing --ratio 8:1
  turnwell listen run.wav --balls 8 --ball-mm 1 --pitch-mm 4.76 --contact-deg 15
  turnwell listen run.wav --json
  turnwell listen run.wav --track run.csv --plot run.svg
  turnwell listen run.wav --calibrator tone.wav --calibrator-db 94 --hours 6
  turnwell listen --compare before.wav after.wav --plot change.svg
  turnwell listen recordings --recursive --out recordings.csv

A name that begins with a dash comes after two dashes:
  turnwell listen --json -- -run.wav

Exit codes: 0 answered, 1 bad input, 2 usage, 3 the recording cannot answer.
Of a folder: 0 at least one recording answered, 3 none did,
1 none could be read, 130 stopped by Ctrl-C.
"""

KG_M2_PER_G_MM2 = 1e-9

_USAGE = """turnwell listen [options] FILE
       turnwell listen [options] --compare BEFORE AFTER
       turnwell listen [options] FOLDER"""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the arguments, each under the heading of what it is about."""
    parser.usage = _USAGE
    parser.epilog = EXAMPLES
    parser.set_defaults(refuse=parser.error)
    parser.add_argument(
        "paths",
        metavar="FILE",
        nargs="+",
        help="sound or phone video of the run; a folder of them; two of them with --compare",
    )
    _add_handpiece(parser.add_argument_group("the handpiece"))
    _add_bearing(parser.add_argument_group("its bearing: balls, ball and pitch together"))
    _add_earlier(parser.add_argument_group("what was measured before or beside"))
    _add_level(parser.add_argument_group("how loud it is"))
    _add_output(parser.add_argument_group("what is made of a recording, or of two"))
    folder = parser.add_argument_group("a folder of recordings")
    add_folder_options(folder, things="recordings")


def expectation_of(arguments: argparse.Namespace) -> Expectation:
    """Give what the options say of the handpiece.

    Raises
    ------
    InputError
        If a value does not belong.
    """
    inertia: float | None = arguments.inertia_gmm2
    return Expectation(
        handpiece_class=arguments.handpiece_class,
        label_speed_rpm=arguments.label_rpm,
        label_pressure_kpa=arguments.label_kpa,
        ratio=arguments.ratio,
        pressure_kpa=arguments.pressure_kpa,
        bearing=_bearing(arguments),
        shaft_speed_rpm=arguments.speed_rpm,
        baseline_coast_down_s=arguments.baseline_coast_s,
        baseline_roughness_db=arguments.baseline_roughness_db,
        inertia_kg_m2=None if inertia is None else inertia * KG_M2_PER_G_MM2,
        clock_ppm=arguments.clock_ppm,
    )


def _bearing(arguments: argparse.Namespace) -> Bearing | None:
    """Give the bearing's geometry; refuses a part of it, which says nothing."""
    needed = (arguments.balls, arguments.ball_mm, arguments.pitch_mm)
    if all(value is None for value in (*needed, arguments.contact_deg)):
        return None
    if any(value is None for value in needed):
        arguments.refuse("a bearing needs --balls, --ball-mm and --pitch-mm together")
    return Bearing(
        balls=arguments.balls,
        ball_m=arguments.ball_mm / 1e3,
        pitch_m=arguments.pitch_mm / 1e3,
        contact_rad=radians(arguments.contact_deg or 0.0),
    )


def calibrated_of(arguments: argparse.Namespace) -> Calibrated | None:
    """Give what the options say of a sound calibrator; None without its recording."""
    if arguments.calibrator is None:
        for name in ("calibrator_db", "hours"):
            if getattr(arguments, name) is not None:
                arguments.refuse(f"--{name.replace('_', '-')} goes with --calibrator FILE")
        return None
    return Calibrated(arguments.calibrator, arguments.calibrator_db or 94.0, arguments.hours or 8.0)


def _add_handpiece(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--class",
        dest="handpiece_class",
        metavar="KEY",
        choices=sorted(CLASSES),
        help="handpiece class: " + ", ".join(sorted(CLASSES)),
    )
    group.add_argument("--label-rpm", type=positive, metavar="RPM", help="speed on the label")
    group.add_argument("--label-kpa", type=positive, metavar="KPA", help="pressure on the label")
    group.add_argument(
        "--pressure-kpa", type=positive, metavar="KPA", help="drive pressure during this run"
    )
    group.add_argument(
        "--ratio",
        type=_ratio,
        metavar="M:B",
        help="motor turns to bur turns: 8:1 reducing, 1:5 increasing; "
        "or teeth of the gears, the bur's first: 72:9",
    )
    group.add_argument(
        "--inertia-gmm2",
        type=positive,
        metavar="GMM2",
        help="inertia of rotor and bur, g mm2; sound alone gives no torque",
    )


def _add_bearing(group: argparse._ArgumentGroup) -> None:
    group.add_argument("--balls", type=count, metavar="N", help="number of balls")
    group.add_argument("--ball-mm", type=positive, metavar="MM", help="diameter of a ball")
    group.add_argument(
        "--pitch-mm", type=positive, metavar="MM", help="diameter of the circle of their middles"
    )
    group.add_argument(
        "--contact-deg", type=at_least_zero, metavar="DEG", help="contact angle, 0 if left out"
    )


def _add_earlier(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--speed-rpm",
        type=positive,
        metavar="RPM",
        help="speed of the shaft that is heard, by another tachometer; narrows the search",
    )
    group.add_argument(
        "--baseline-coast-s",
        type=list_of(positive),
        metavar="S,S,...",
        help="earlier coast-down times (90 %% to 10 %%) of this handpiece, same bur and pressure",
    )
    group.add_argument(
        "--baseline-roughness-db",
        type=list_of(number),
        metavar="DB,DB,...",
        help="earlier roughness of it, likewise; --baseline-roughness-db=-31,-30 when below 0",
    )
    group.add_argument(
        "--clock-ppm",
        type=at_least_zero,
        default=Expectation().clock_ppm,
        metavar="PPM",
        help="bound of the recorder's clock error, parts in a million (%(default)g)",
    )


def _add_level(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--calibrator",
        type=Path,
        metavar="FILE",
        help="recording of a sound calibrator: same microphone, settings and gain",
    )
    group.add_argument(
        "--calibrator-db",
        type=float,
        choices=(94.0, 114.0),
        metavar="94|114",
        help="what it makes at 1 kHz, dB (94)",
    )
    group.add_argument(
        "--hours", type=_hours, metavar="H", help="hours a day at this level, for the dose (8)"
    )


def _add_output(group: argparse._ArgumentGroup) -> None:
    group.add_argument("--json", action="store_true", help="print one JSON document")
    group.add_argument(
        "--compare", action="store_true", help="two recordings: BEFORE a repair and AFTER it"
    )
    group.add_argument(
        "--same-recorder",
        action="store_true",
        help="one recorder made both, so that its clock's error cancels",
    )
    group.add_argument(
        "--track",
        type=Path,
        metavar="FILE.csv",
        help="write the speed over time, one instant a line",
    )
    group.add_argument(
        "--plot", type=Path, metavar="FILE.png|svg", help="draw speed, coast-down and orders"
    )
    group.add_argument("--force", action="store_true", help="replace files that are there already")


def _hours(text: str) -> float:
    hours = positive(text)
    if hours > 24.0:
        raise argparse.ArgumentTypeError(f"{text!r} is more than the 24 hours of a day")
    return hours


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
