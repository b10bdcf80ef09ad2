"""The options of ``turnwell steam``: of the cycle, the place, the file's columns."""

import argparse
from pathlib import Path

from turnwell.cli.arguments import count, number, positive
from turnwell.cli.folder.options import add_folder_options

__all__ = ["EXAMPLES", "add_options"]

EXAMPLES = """examples:
  turnwell steam run.csv
  turnwell steam run.csv --set-c 134 --band-k 3 --hold-min 3.5 --dry-min 10
  turnwell steam run.csv --list-cycles
  turnwell steam run.csv --altitude 560 --load load.toml --plot run.svg
  turnwell steam roll.txt --columns time=1,temperature=3,pressure=4 \\
      --units C,bar --pressure-zero gauge
  turnwell steam records --recursive --out records.csv

What the options do not say is not guessed: without --dry-min a drying time
has no limit, without --load the water left is "cannot tell".

Exit codes: 0 answered, 1 bad input, 2 usage, 3 the record cannot answer, or
its columns, units or zero are open and an option must say them.
Of several records: 0 at least one answered, 3 none did,
1 none could be read, 130 stopped by Ctrl-C.
"""

_USAGE = """turnwell steam [options] FILE
       turnwell steam [options] FILE FILE ...
       turnwell steam [options] FOLDER"""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the arguments, each under the heading of what it is about."""
    parser.usage = _USAGE
    parser.epilog = EXAMPLES
    parser.set_defaults(refuse=parser.error)
    parser.add_argument(
        "paths",
        metavar="FILE",
        nargs="*",
        help="a record as CSV, plain text, .xlsx or .ods; several; or folders of them",
    )
    _add_cycle(parser.add_argument_group("the cycle that was set: its name, or its values"))
    _add_place(parser.add_argument_group("the place, the sensors, the load"))
    _add_columns(parser.add_argument_group("what detection leaves open in a file"))
    _add_output(parser.add_argument_group("what is made of it"))
    add_folder_options(
        parser.add_argument_group("several records, or a folder of them"), things="records"
    )


def _add_cycle(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--cycle", metavar="NAME", help="a cycle of the catalogue; values beside it replace its own"
    )
    group.add_argument(
        "--list-cycles", action="store_true", help="print the catalogue's cycles, and stop"
    )
    group.add_argument(
        "--set-c", type=positive, metavar="C", help="sterilization temperature, °C: 121, 134"
    )
    group.add_argument(
        "--band-k", type=positive, metavar="K", help="width of the band above it, kelvin"
    )
    group.add_argument(
        "--hold-min", type=positive, metavar="MIN", help="shortest time in the band, minutes"
    )
    group.add_argument("--dry-min", type=positive, metavar="MIN", help="planned drying, minutes")
    group.add_argument(
        "--dry-kpa",
        type=positive,
        metavar="KPA",
        help="pressure that the drying must come down to, kPa absolute",
    )
    group.add_argument(
        "--air-removal", choices=("gravity", "dynamic"), help="how the air is taken out"
    )
    group.add_argument("--pulses", type=count, metavar="N", help="planned air-removal pulses")


def _add_place(group: argparse._ArgumentGroup) -> None:
    place = group.add_mutually_exclusive_group()
    place.add_argument(
        "--atmosphere",
        type=positive,
        metavar="KPA",
        help="air pressure of the place, kPa (101.325)",
    )
    place.add_argument(
        "--altitude", type=number, metavar="M", help="its height above the sea, metres, instead"
    )
    group.add_argument(
        "--temperature-bound-k",
        type=positive,
        metavar="K",
        help="the temperature sensor is true within ± this (0.5)",
    )
    group.add_argument(
        "--pressure-bound-kpa",
        type=positive,
        metavar="KPA",
        help="the pressure sensor is true within ± this (2)",
    )
    group.add_argument(
        "--load", type=Path, metavar="FILE.toml", help="what lay in it; see the docs for its form"
    )
    group.add_argument(
        "--reference-c",
        type=positive,
        metavar="C",
        help="another F beside F0: its reference temperature, °C",
    )
    group.add_argument(
        "--z-k", type=positive, metavar="K", help="and its z, kelvin (10); goes with --reference-c"
    )


def _add_columns(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--columns",
        default="",
        metavar="NAME=N,...",
        help="columns from 1: time=1,temperature=2,pressure=3; also date, stage, "
        "second_temperature",
    )
    group.add_argument(
        "--units",
        metavar="UNIT,UNIT",
        default="",
        help="of temperature, pressure and time: C, F; kPa, bar, mbar, psi, mmHg, inHg; s, min",
    )
    group.add_argument(
        "--pressure-zero",
        choices=("absolute", "gauge"),
        help="what its pressure is counted from: a vacuum, or the air outside",
    )


def _add_output(group: argparse._ArgumentGroup) -> None:
    group.add_argument("--json", action="store_true", help="print one JSON document")
    group.add_argument(
        "--plot",
        type=Path,
        metavar="FILE.png|svg",
        help="draw temperature, pressure and stages of one record",
    )
    group.add_argument("--force", action="store_true", help="replace files that are there already")
