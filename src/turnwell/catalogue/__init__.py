"""The facts of the trade: classes, limits, bearings, complaints, findings, causes, care, sources.

The facts lie as TOML in ``data/``; each number carries its source and how it is known. `load` reads
and checks them; importing this package reads nothing.
"""

from turnwell.catalogue.book import Catalogue
from turnwell.catalogue.reader import load, read
from turnwell.catalogue.rows import (
    Bearing,
    CareStep,
    Cause,
    ClassLimit,
    Complaint,
    Effect,
    Evidence,
    FeedWaterLimit,
    Finding,
    FindingReading,
    Group,
    HandpieceClass,
    HandpieceGroup,
    Level,
    LoadPiece,
    Pace,
    RelativeLimit,
    Source,
    Stage,
    SteamCycle,
)

__all__ = [
    "Bearing",
    "CareStep",
    "Catalogue",
    "Cause",
    "ClassLimit",
    "Complaint",
    "Effect",
    "Evidence",
    "FeedWaterLimit",
    "Finding",
    "FindingReading",
    "Group",
    "HandpieceClass",
    "HandpieceGroup",
    "Level",
    "LoadPiece",
    "Pace",
    "RelativeLimit",
    "Source",
    "Stage",
    "SteamCycle",
    "load",
    "read",
]
