"""The lines of the shaft and of a bearing as a list: where, how strong, or why not seen."""

from dataclasses import dataclass
from math import log10
from typing import Any

import numpy as np

from turnwell.sound.orders.bearing import Part, Span
from turnwell.sound.orders.comb import HARMONICS, Judged
from turnwell.sound.orders.evidence import FALSE_ALARM, Line, PartEvidence, can_show
from turnwell.sound.orders.spectrum import Kind, OrderSpectrum
from turnwell.words import Message, text_of

__all__ = ["ListedLine", "bearing_lines", "rotation_lines", "why_not"]


@dataclass(frozen=True, slots=True)
class ListedLine:
    """A line that was looked for.

    Parameters
    ----------
    part : str
        ``"rotation"`` or the value of a `Part`.
    line : Line
    why_not : Message or None
        Why the recording cannot show it; None where it can.
    """

    part: str
    line: Line
    why_not: Message | None

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give the line as JSON values."""
        chance = self.line.false_alarm
        return {
            "part": self.part,
            "harmonic": self.line.harmonic,
            "order": self.line.span.value,
            "low_order": self.line.span.low,
            "high_order": self.line.span.high,
            "can_be_seen": self.why_not is None,
            "why_not": None if self.why_not is None else text_of(self.why_not, language),
            "found_order": self.line.order,
            "level_db": self.line.level_db,
            "false_alarm": chance,
            "stands_out": chance is not None and chance <= FALSE_ALARM,
        }


def rotation_lines(spectra: tuple[OrderSpectrum, ...]) -> tuple[ListedLine, ...]:
    """List the first harmonics of the shaft, each from the direct spectrum that shows it best."""
    direct = [spectrum for spectrum in spectra if spectrum.kind is Kind.DIRECT]
    listed = []
    for harmonic in range(1, HARMONICS + 1):
        span = Span(float(harmonic), float(harmonic), float(harmonic))
        heard = [_rotation(spectrum, span) for spectrum in direct]
        lines = [line for line in heard if line is not None]
        if lines:
            listed.append(ListedLine("rotation", max(lines, key=_level), None))
            continue
        highest = max((spectrum.highest_order for spectrum in direct), default=0.0)
        why = Message("bearing.above_edge", {"highest": highest})
        listed.append(ListedLine("rotation", Line(harmonic, span), why))
    return tuple(listed)


def _level(line: Line) -> float:
    return line.level_db or 0.0


def _rotation(spectrum: OrderSpectrum, span: Span) -> Line | None:
    """Level of a whole order of the shaft, from the strongest of the bins about it."""
    middle = round(span.value / spectrum.order_step)
    bins = np.arange(middle - 1, min(middle + 2, spectrum.power.size))
    bins = bins[spectrum.blocks[bins] > 0]
    if bins.size == 0:
        return None
    at = int(bins[np.argmax(spectrum.power[bins])])
    u = Judged(spectrum, spectrum.blocks > 0).smoothed(0).surprise
    return Line(
        int(span.value),
        span,
        order=at * spectrum.order_step,
        level_db=10.0 * log10(max(float(spectrum.power[at]), 1e-3)),
        false_alarm=float(min(max(bins.size * np.exp(-u[at]), 1e-12), 1.0)),
    )


def bearing_lines(
    parts: tuple[PartEvidence, ...], spectra: tuple[OrderSpectrum, ...]
) -> tuple[ListedLine, ...]:
    """List the harmonics of every part."""
    return tuple(
        ListedLine(found.part.value, line, why_not(found, line, spectra))
        for found in parts
        for line in found.lines
    )


def why_not(found: PartEvidence, line: Line, spectra: tuple[OrderSpectrum, ...]) -> Message | None:
    """Say why the recording cannot show a line of a part; None where it can."""
    if line.level_db is not None:
        return None
    able = [spectrum for spectrum in spectra if can_show(spectrum, found.part)]
    if not able:
        return Message("bearing.cage" if found.part is Part.CAGE else "bearing.short")
    highest = max(spectrum.highest_order for spectrum in able)
    if highest < line.span.high:
        return Message("bearing.above_edge", {"highest": highest})
    middle = line.span.value
    is_shaft = any(s.is_shaft[min(round(middle / s.order_step), s.power.size - 1)] for s in able)
    return Message("bearing.on_shaft" if is_shaft else "bearing.among")
