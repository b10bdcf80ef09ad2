"""A sterilizer's cycle record: stages, lethality, saturation of the steam, drying, water left.

``analyse(read_record(content, name), Cycle(...))`` gives a `Review`, which prints readably.

Nothing here releases a load: the sterilizer's own verdict, indicators, makers' instructions and
local rules do.
"""

from turnwell.steam.analyse import analyse
from turnwell.steam.cycle import AirRemoval, Cycle, Sensors
from turnwell.steam.fault import Fault, FaultKey, Question
from turnwell.steam.load.balance import Lever, Reached, WaterBalance, water_balance
from turnwell.steam.load.items import Load, LoadItem
from turnwell.steam.reading import Layout, Proposal, UnsureLayoutError, propose, read_record
from turnwell.steam.readings import LethalityScale
from turnwell.steam.record import Record, RowCounts
from turnwell.steam.review import SCHEMA, Review
from turnwell.steam.stage import Admission, Course, Ending, Pulse, Stage, StageKind, Sure

__all__ = [
    "SCHEMA",
    "Admission",
    "AirRemoval",
    "Course",
    "Cycle",
    "Ending",
    "Fault",
    "FaultKey",
    "Layout",
    "LethalityScale",
    "Lever",
    "Load",
    "LoadItem",
    "Proposal",
    "Pulse",
    "Question",
    "Reached",
    "Record",
    "Review",
    "RowCounts",
    "Sensors",
    "Stage",
    "StageKind",
    "Sure",
    "UnsureLayoutError",
    "WaterBalance",
    "analyse",
    "propose",
    "read_record",
    "water_balance",
]
