"""What many records of one sterilizer say together: lasting changes, times of the week, a turn."""

from turnwell.steam.months.confidence import FALSE_ALARM
from turnwell.steam.months.drift import ChangeKind
from turnwell.steam.months.habits import Cell, Habits, habits_of
from turnwell.steam.months.share import DryingRun, Share, share_of
from turnwell.steam.months.trend import Change, Trend, trend_of
from turnwell.steam.months.turn import Turn, turn_at

__all__ = [
    "FALSE_ALARM",
    "Cell",
    "Change",
    "ChangeKind",
    "DryingRun",
    "Habits",
    "Share",
    "Trend",
    "Turn",
    "habits_of",
    "share_of",
    "trend_of",
    "turn_at",
]
