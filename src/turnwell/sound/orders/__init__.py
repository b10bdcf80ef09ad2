"""Order analysis: spectra against the shaft's angle, and what they say about its bearing."""

from turnwell.sound.orders.bearing import Bearing, Part
from turnwell.sound.orders.finding import Orders, orders_of
from turnwell.sound.orders.given import given_turning
from turnwell.sound.orders.readings import bearing_reading
from turnwell.sound.orders.unknown import (
    InferredBearing,
    MeasuredLine,
    bearing_from_lines,
    infer_bearing,
)

__all__ = [
    "Bearing",
    "InferredBearing",
    "MeasuredLine",
    "Orders",
    "Part",
    "bearing_from_lines",
    "bearing_reading",
    "given_turning",
    "infer_bearing",
    "orders_of",
]
