"""Order analysis of a recording: the spectra, the lines, the evidence on the bearing."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.orders.bearing import Bearing, Part
from turnwell.sound.orders.decision import Decision, decide
from turnwell.sound.orders.evidence import PartEvidence, judge
from turnwell.sound.orders.order_lines import (
    ListedLine,
    bearing_lines,
    rotation_lines,
    why_not,
)
from turnwell.sound.orders.spectra import spectra_of_turns
from turnwell.sound.orders.spectrum import OrderSpectrum
from turnwell.sound.orders.unknown import InferredBearing, infer_bearing
from turnwell.sound.segment import SegmentKind
from turnwell.sound.speed.turning import Turning
from turnwell.units import hz_to_rpm
from turnwell.words import Message, text_of

__all__ = ["Orders", "orders_of"]

_MOST_VALUES = 1_200


@dataclass(frozen=True, slots=True, eq=False)
class Orders:
    """What a recording shows in orders of the shaft's speed.

    Parameters
    ----------
    spectra : tuple of OrderSpectrum
        Of steady running and of coast-downs; direct, and of the envelope of some bands.
    lines : tuple of ListedLine
        Of the shaft, and of the bearing where one is given.
    bearing : Bearing or None
    parts : tuple of PartEvidence
        One for each part of the bearing; empty where none is given.
    decision : Decision or None
        The part that is named; None where no bearing is given.
    inferred : InferredBearing or None
        Where no bearing is given: what its lines say about it, if they say so clearly.
    """

    spectra: tuple[OrderSpectrum, ...]
    lines: tuple[ListedLine, ...]
    bearing: Bearing | None
    parts: tuple[PartEvidence, ...]
    decision: Decision | None
    inferred: InferredBearing | None

    @property
    def named_part(self) -> Part | None:
        """The part that is named as damaged."""
        return None if self.decision is None else self.decision.named

    def why_out_of_reach(self, found: PartEvidence) -> Message | None:
        """Say why the recording cannot show a part at all; None where it can."""
        return None if found.is_reached else why_not(found, found.lines[0], self.spectra)

    def as_dict(self, factor: float = 1.0, language: str = "en") -> dict[str, Any]:
        """Give spectra and lines as JSON values.

        Parameters
        ----------
        factor : float
            Speed to show over the speed of the shaft that is heard.
        language : str
        """
        return {
            "spectra": [_spectrum_as_dict(spectrum, factor) for spectrum in self.spectra],
            "lines": [line.as_dict(language) for line in self.lines],
            "bearing": None if self.bearing is None else _bearing_as_dict(self.bearing),
            "inferred_bearing": None if self.inferred is None else self.inferred.as_dict(),
        }

    def evidence_as_dict(self, language: str = "en") -> dict[str, Any] | None:
        """Give the evidence on the bearing as JSON values; None where no bearing is given."""
        if self.decision is None:
            return None
        named = self.decision.named
        return {
            "parts": [self._part_as_dict(found, language) for found in self.parts],
            "named_part": None if named is None else named.value,
            "why": text_of(self.decision.why, language),
        }

    def _part_as_dict(self, found: PartEvidence, language: str) -> dict[str, Any]:
        line = found.strongest
        if line is None or not found.is_reached:
            why = self.why_out_of_reach(found) or Message("bearing.short")
            verdict = "out of reach"
        else:
            why = Message(
                "bearing.level_of_part",
                {
                    "level_db": line.level_db or 0.0,
                    "order": line.order or 0.0,
                    "limit_db": found.limit_db or 0.0,
                },
            )
            verdict = "stands out" if found.stands_out else "does not stand out"
        return {
            "part": found.part.value,
            "level_db": None if line is None else line.level_db,
            "false_alarm": found.false_alarm,
            "verdict": verdict,
            "why": text_of(why, language),
        }


def orders_of(
    samples: NDArray[np.float32],
    rate_hz: float,
    stretches: Sequence[Turning],
    *,
    edge_hz: float,
    bearing: Bearing | None = None,
    judges: bool = True,
) -> Orders | None:
    """Analyse a recording in orders of the shaft; None when too few turns are known.

    Parameters
    ----------
    samples : array of float32, shape (n,)
    rate_hz : float
    stretches : sequence of Turning
        Steady running and coast-downs, of one or several runs of the same shaft.
    edge_hz : float
        Highest frequency that the coding passes undamaged; below half the rate.
    bearing : Bearing or None
        Without it there is no evidence on parts; the bearing itself is inferred if it can be.
    judges : bool
        False where the recording is spoilt for judging a bearing: spectra and shaft lines only.
    """
    spectra = spectra_of_turns(samples, rate_hz, stretches, edge_hz)
    if not spectra:
        return None
    lines = rotation_lines(spectra)
    if bearing is None or not judges:
        inferred = infer_bearing(_surest(spectra)) if judges else None
        return Orders(spectra, lines, bearing, (), None, inferred)
    parts = judge(spectra, bearing)
    lines += bearing_lines(parts, spectra)
    return Orders(spectra, lines, bearing, parts, decide(parts, bearing), None)


def _surest(spectra: tuple[OrderSpectrum, ...]) -> tuple[OrderSpectrum, ...]:
    """Keep those of coast-downs, where there are any: a voice does not fall as a rotor does."""
    falling = tuple(s for s in spectra if s.stretch is SegmentKind.COAST_DOWN)
    return falling or spectra


def _spectrum_as_dict(spectrum: OrderSpectrum, factor: float) -> dict[str, Any]:
    """Give a spectrum in at most 1200 values, each the highest of the bins that it stands for."""
    heard = np.flatnonzero(spectrum.blocks)
    first, last = (int(heard[0]), int(heard[-1]) + 1) if heard.size else (0, 0)
    joined = max(-(-(last - first) // _MOST_VALUES), 1)
    count = (last - first) // joined
    power = spectrum.power[first : first + count * joined].reshape(count, joined).max(axis=1)
    level_db = 10.0 * np.log10(np.maximum(power, 1e-3))
    band = spectrum.band_hz
    return {
        "stretch": spectrum.stretch.value,
        "kind": spectrum.kind.value,
        "band_low_hz": None if band is None else band[0],
        "band_high_hz": None if band is None else band[1],
        "first_order": (first + 0.5 * (joined - 1)) * spectrum.order_step,
        "order_step": joined * spectrum.order_step,
        "level_db": [round(float(value), 2) for value in level_db],
        "speed_low_rpm": hz_to_rpm(spectrum.speed_low_hz) * factor,
        "speed_high_rpm": hz_to_rpm(spectrum.speed_high_hz) * factor,
        "turns": spectrum.turns,
    }


def _bearing_as_dict(bearing: Bearing) -> dict[str, Any]:
    return {
        "balls": bearing.balls,
        "ball_mm": 1e3 * bearing.ball_m,
        "pitch_mm": 1e3 * bearing.pitch_m,
        "contact_deg": degrees(bearing.contact_rad),
    }
