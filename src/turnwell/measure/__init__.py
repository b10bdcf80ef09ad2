"""Readings: numbers with their interval, their limit, a verdict and the reason for it."""

from turnwell.measure.budget import (
    Budget,
    Part,
    common_error,
    gauge_error,
    repeatability,
    resolution,
)
from turnwell.measure.limit import Basis, Limit
from turnwell.measure.reading import Interval, Reading, cannot_tell, reading
from turnwell.measure.verdict import Verdict, verdict_on

__all__ = [
    "Basis",
    "Budget",
    "Interval",
    "Limit",
    "Part",
    "Reading",
    "Verdict",
    "cannot_tell",
    "common_error",
    "gauge_error",
    "reading",
    "repeatability",
    "resolution",
    "verdict_on",
]
