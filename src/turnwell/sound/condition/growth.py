"""How the rotation line grows with the speed: as an unbalance makes it, or with a resonance.

The force of an unbalance goes as the square of the speed. What is heard of it goes as the second
power close to a stiff head and as the third far from it, since a small body that is shaken sounds
like a dipole; structure and radiation bend that by some tenths. A resonance is a peak at one
frequency. How large the unbalance is cannot be heard: there is no mass, no distance and no
calibration in a recording, so no balance grade is given.

References
----------
Force m e ω²: [ISO21940-11], 3. A small shaken body as a dipole, whose far field goes as frequency
times force: [PIERCE1989], 4-2.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.measure import Reading, cannot_tell, reading
from turnwell.sound.condition.laws import Growing, judged
from turnwell.sound.condition.line_level import LineLevel, joined, level_along
from turnwell.sound.gate.findings import GateFinding
from turnwell.sound.quantity import Quantity
from turnwell.sound.speed.turning import Turning
from turnwell.units import hz_to_rpm
from turnwell.words import Message, text_of

__all__ = ["Growth", "GrowthKind", "growth_of"]

_KEY = "rotation_line_growth"
_MOST_COAST_DOWNS = 6
_LEAST_SPAN = 2.0
_LEAST_POINTS = 12
# Second and third power, half a power of leeway for structure and radiation. Own choice.
_LIKE_UNBALANCE = (1.5, 3.5)
# Evidence of 20 to 1, "strong" in [KASS1995].
_EVIDENCE = 3.0
_LEAST_HEIGHT_DB = 3.0
_RIPPLE_DB = 3.0
# A finding of the gate that leaves the level of one line as it is.
_HARMLESS = frozenset({"codec_edge"})


class GrowthKind(StrEnum):
    """What the growth of the rotation line looks like."""

    UNBALANCE = "unbalance"
    RESONANCE = "resonance"
    NEITHER = "neither"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True, eq=False)
class Growth:
    """Level of the rotation line against the speed, and the law it follows.

    Parameters
    ----------
    rotation_hz, level_db : arrays, shape (n,)
        Of the shaft that is heard, rising; level relative to the loudest point. Empty when refused.
    exponent : Quantity or None
        p of amplitude ∝ speed^p; with a resonance, of the law beneath it.
    resonance_hz : Quantity or None
        Frequency of the peak, given when `kind` is resonance.
    kind : GrowthKind
    why : Message
        The verdict as a sentence.
    """

    rotation_hz: NDArray[np.float64]
    level_db: NDArray[np.float64]
    exponent: Quantity | None
    resonance_hz: Quantity | None
    kind: GrowthKind
    why: Message

    @property
    def reading(self) -> Reading:
        """The exponent as a reading; no limit stands anywhere for it."""
        if self.exponent is None:
            return cannot_tell(_KEY, "", self.why)
        exponent = self.exponent
        return reading(_KEY, exponent.value, exponent.low, exponent.high, "", why=self.why)

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the growth as JSON values."""
        return {
            "speed_rpm": [round(hz_to_rpm(value), 1) for value in self.rotation_hz.tolist()],
            "level_db": [round(value, 3) for value in self.level_db.tolist()],
            "exponent": None if self.exponent is None else self.exponent.as_dict(),
            "resonance_hz": None if self.resonance_hz is None else self.resonance_hz.as_dict(),
            "kind": self.kind.value,
            "why": text_of(self.why, language),
        }


def growth_of(
    samples: NDArray[np.float32],
    rate_hz: float,
    coast_downs: tuple[Turning, ...],
    *,
    edge_hz: float,
    gate: Iterable[GateFinding] = (),
) -> Growth:
    """Give the growth of the rotation line along the coast-downs, where the air is off.

    Parameters
    ----------
    samples : array of float32, shape (n,)
    rate_hz : float
    coast_downs : tuple of Turning
        At least one; the first six are used.
    edge_hz : float
        Highest frequency that the coding passes.
    gate : iterable of GateFinding
        What is wrong with the recording: a level that is not true gives no growth.

    Notes
    -----
    The microphone is taken to hear all frequencies alike. One that falls off within the range of
    the rotation line lowers the exponent.
    """
    for finding in gate:
        if {"level", "condition"} & set(finding.takes_away) and finding.key not in _HARMLESS:
            return _refused(Message("condition.growth.gate", {"finding": finding.message}))
    levels = tuple(
        level_along(samples, rate_hz, turning, edge_hz=edge_hz)
        for turning in coast_downs[:_MOST_COAST_DOWNS]
    )
    used = tuple(level for level in levels if level.span >= _LEAST_SPAN)
    level = joined(used) if used else max(levels, key=lambda level: level.span)
    if level.span < _LEAST_SPAN or level.number.size < _LEAST_POINTS:
        return _refused(Message("condition.growth.short", {"span": level.span}))
    return _decided(level, judged(level.rotation_hz, level.level_db, level.sd_db))


def _decided(level: LineLevel, growing: Growing) -> Growth:
    """Name what the laws say."""
    exponent, resonance_hz = growing.exponent, None
    peak = growing.peak
    is_shown = growing.log_evidence > _EVIDENCE
    if peak is not None and is_shown and peak.height_db >= _LEAST_HEIGHT_DB:
        kind, exponent, resonance_hz = GrowthKind.RESONANCE, peak.exponent, peak.frequency_hz
        found = {
            "resonance_khz": peak.frequency_hz.value / 1e3,
            "speed_rpm": hz_to_rpm(peak.frequency_hz.value),
            "height_db": peak.height_db,
        }
        why = Message("condition.growth.resonance", found)
    else:
        kind, why = _without_peak(exponent, growing.ripple_db)
    return Growth(
        rotation_hz=level.rotation_hz,
        level_db=level.level_db - level.level_db.max(),
        exponent=exponent,
        resonance_hz=resonance_hz,
        kind=kind,
        why=why,
    )


def _without_peak(exponent: Quantity, ripple_db: float) -> tuple[GrowthKind, Message]:
    """Hold the exponent against that of an unbalance: wholly inside, wholly outside, or neither."""
    low, high = _LIKE_UNBALANCE
    shown: dict[str, float] = {
        "exponent": exponent.value,
        "low": exponent.low,
        "high": exponent.high,
        "ripple_db": ripple_db,
    }
    if ripple_db > _RIPPLE_DB:
        return GrowthKind.NEITHER, Message("condition.growth.ripple", shown)
    if low <= exponent.low and exponent.high <= high:
        return GrowthKind.UNBALANCE, Message("condition.growth.unbalance", shown)
    if exponent.high < low or exponent.low > high:
        word = "flat" if exponent.high < low else "steep"
        return GrowthKind.NEITHER, Message(f"condition.growth.{word}", shown)
    return GrowthKind.CANNOT_TELL, Message("condition.growth.wide", shown)


def _refused(why: Message) -> Growth:
    empty = np.empty(0)
    return Growth(empty, empty, None, None, GrowthKind.CANNOT_TELL, why)
