"""How rough a handpiece sounds: noise between its rotation lines, relative to line 1.

Roughness is the power of the noise within one order, averaged over the bands between lines 1 and 3,
relative to the power of line 1, both averaged over equal steps of the logarithm of the speed from
80 to 40 % of full speed while the rotor coasts. Gain and distance act on both alike and drop out.
The room's noise, heard while nothing turns, is taken off; what does not stand clear of it is not
told.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import log, log10, sqrt
from statistics import fmean, stdev
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.measure import (
    Basis,
    Budget,
    Limit,
    Part,
    Reading,
    cannot_tell,
    reading,
    repeatability,
)
from turnwell.sound.condition.between_lines import (
    HIGHEST_ORDER,
    HIGHEST_SHARE,
    CoastNoise,
    Room,
    coast_noise,
)
from turnwell.sound.gate.findings import GateFinding
from turnwell.sound.quantity import Quantity
from turnwell.sound.speed.turning import Turning
from turnwell.words import Message, text_of

__all__ = ["Roughness", "roughness_limit", "roughness_of"]

_KEY, _UNIT = "roughness", "dB"
_MOST_COAST_DOWNS = 6
_CLEAR_OF_ROOM = 2.0  # 3 dB, the room's part included
# What steps of speed, windows and an unsure track leave, as seen on coast-downs of known roughness.
_METHOD_DB = 0.04
_SURE = 3.0  # standard deviations by which the rest stands above nothing


@dataclass(frozen=True, slots=True)
class Roughness:
    """Noise between the lines over line 1, in dB.

    Parameters
    ----------
    level_db : Quantity or None
        None when it cannot be told.
    why : Message
        What it is, or why it cannot be told.
    limit : Limit or None
        From earlier values of the same handpiece.
    """

    level_db: Quantity | None
    why: Message
    limit: Limit | None = None

    @property
    def reading(self) -> Reading:
        """The roughness held against what this handpiece had before."""
        if self.level_db is None:
            return cannot_tell(_KEY, _UNIT, self.why, limit=self.limit)
        level = self.level_db
        why = self.why if self.limit is None else None
        return reading(_KEY, level.value, level.low, level.high, _UNIT, limit=self.limit, why=why)

    def as_dict(self, language: str = "en") -> dict[str, Any] | None:
        """Give the roughness as JSON values; None when it cannot be told."""
        if self.level_db is None:
            return None
        return {"level_db": self.level_db.as_dict(), "why": text_of(self.why, language)}


def roughness_limit(baseline_db: tuple[float, ...]) -> Limit | None:
    """Give the upper limit that earlier values of the same handpiece set.

    The one-sided 95 % prediction bound for one more value; None with fewer than three.

    >>> limit = roughness_limit((-30.0, -29.0, -31.0))
    >>> limit.low, round(limit.high, 2)
    (None, -26.63)
    """
    if len(baseline_db) < 3:
        return None
    spread = Part("repeatability", stdev(baseline_db), len(baseline_db) - 1.0)
    # The two-sided factor of 90 % leaves 5 % above.
    factor = Budget(0.0, (spread,)).coverage_factor(0.90)
    high = fmean(baseline_db) + factor * spread.standard * sqrt(1.0 + 1.0 / len(baseline_db))
    return Limit(None, round(high, 2), "own earlier roughness", Basis.OWN)


def roughness_of(
    samples: NDArray[np.float32],
    rate_hz: float,
    coast_downs: tuple[Turning, ...],
    *,
    free_hz: float,
    quiet: Iterable[tuple[float, float]],
    edge_hz: float,
    gate: Iterable[GateFinding] = (),
    baseline_db: tuple[float, ...] | None = None,
) -> Roughness:
    """Give the roughness of a handpiece from its coast-downs.

    Parameters
    ----------
    samples : array of float32, shape (n,)
    rate_hz : float
    coast_downs : tuple of Turning
        At least one; the first six are used.
    free_hz : float
        Free-running rotation frequency of the shaft that is heard.
    quiet : iterable of (float, float)
        Stretches, in s, in which nothing turns and no air flows.
    edge_hz : float
        Highest frequency that the coding passes.
    gate : iterable of GateFinding
    baseline_db : tuple of float or None
        Earlier roughness of this handpiece with the same bur and pressure.

    Notes
    -----
    It rises too when line 1 falls, as after balancing. Lines of a bearing between the rotation
    lines count as noise.
    """
    limit = roughness_limit(baseline_db or ())
    for finding in gate:
        if {"level", "condition"} & set(finding.takes_away):
            why = Message("condition.roughness.gate", {"finding": finding.message})
            return Roughness(None, why, limit)
    if HIGHEST_ORDER * HIGHEST_SHARE * free_hz > min(edge_hz, 0.47 * rate_hz):
        needed_khz = HIGHEST_ORDER * HIGHEST_SHARE * free_hz / 1e3
        return Roughness(None, Message("condition.roughness.edge", {"khz": needed_khz}), limit)
    room = Room.heard(samples, rate_hz, quiet)
    if room is None:
        return Roughness(None, Message("condition.roughness.no_quiet"), limit)
    heard = [
        coast_noise(samples, rate_hz, turning, free_hz=free_hz)
        for turning in coast_downs[:_MOST_COAST_DOWNS]
    ]
    parts = [_over_line(coast, room) for coast in heard if coast is not None]
    if not parts:
        return Roughness(None, Message("condition.roughness.short"), limit)
    clear = [part for part in parts if part is not None]
    # Leaving out only those coast-downs that sound too smooth would raise the mean of the rest.
    if len(clear) < len(parts):
        return Roughness(None, Message("condition.roughness.room"), limit)
    budget = _budget(clear)
    level = Quantity(budget.value, *budget.interval())
    return Roughness(level, Message("condition.roughness.no_limit"), limit)


@dataclass(frozen=True, slots=True)
class _Level:
    """Roughness of one coast-down and its standard deviations: its own, and the room's."""

    level_db: float
    own_sd_db: float
    room_sd_db: float
    degrees: float


def _over_line(coast: CoastNoise, room: Room) -> _Level | None:
    """Take the room off and compare with the line; None when too little is left."""
    added, added_sd = room.noise(coast)
    left = coast.noise - added
    sd = float(np.hypot(coast.noise_sd, added_sd))
    if coast.line <= 0.0 or coast.noise < _CLEAR_OF_ROOM * added or left < _SURE * sd:
        return None
    per_share = 10.0 / log(10.0)
    own = sqrt((coast.noise_sd / left) ** 2 + (coast.line_sd / coast.line) ** 2)
    return _Level(
        level_db=10.0 * log10(left / coast.line),
        own_sd_db=per_share * own,
        room_sd_db=per_share * added_sd / left,
        degrees=coast.degrees,
    )


def _budget(levels: list[_Level]) -> Budget:
    """Mean of the coast-downs; the room is the same for all, so its part does not shrink."""
    values = [level.level_db for level in levels]
    own = sqrt(sum(level.own_sd_db**2 for level in levels)) / len(levels)
    shared = fmean(level.room_sd_db for level in levels)
    degrees = sum(level.degrees for level in levels)
    parts = [Part("estimate", own, degrees), Part("room", shared), Part("method", _METHOD_DB)]
    if len(values) > 1:
        parts.append(repeatability(values))
    return Budget(fmean(values), tuple(parts))
