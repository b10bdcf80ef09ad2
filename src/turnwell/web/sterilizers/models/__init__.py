"""Sterilizers, their plans and clocks, their records, loads and water, and what is being read."""

from turnwell.web.sterilizers.models.intake import Intake, IntakeFile
from turnwell.web.sterilizers.models.layout import ConfirmedLayout
from turnwell.web.sterilizers.models.paper import IssuedReview
from turnwell.web.sterilizers.models.record import CycleReading, CycleRecord, Load, StartEntry
from turnwell.web.sterilizers.models.sterilizer import ClockSetting, Plan, Sterilizer
from turnwell.web.sterilizers.models.water import FeedWater

__all__ = [
    "ClockSetting",
    "ConfirmedLayout",
    "CycleReading",
    "CycleRecord",
    "FeedWater",
    "Intake",
    "IntakeFile",
    "IssuedReview",
    "Load",
    "Plan",
    "StartEntry",
    "Sterilizer",
]
