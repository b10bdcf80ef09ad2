"""Names the damaged part of a bearing, or says why none can be named.

Lines that stand out of the noise are not enough: real records of a damaged bearing also hold lines
of some 20 dB at orders of parts that are whole. A part is named when its lines give a false alarm
of at most 1 %, its strongest line lies wholly above the limit by itself, and it leads the next part
that stands out by 6 dB or lies above 30 dB. Where only the sound of steady running shows it, two of
its lines must stand out: one may be a tone from elsewhere.
"""

from dataclasses import dataclass

from turnwell.sound.orders.bearing import Bearing, Part
from turnwell.sound.orders.evidence import PartEvidence
from turnwell.sound.orders.spectrum import Kind
from turnwell.sound.segment import SegmentKind
from turnwell.words import Message, Param

__all__ = ["Decision", "decide", "part_name"]

_LEAD_DB = 6.0
_CLEAR_DB = 30.0
_FEWEST_LINES = 2


@dataclass(frozen=True, slots=True)
class Decision:
    """The part that is named, or None, and why."""

    named: Part | None
    why: Message


def part_name(part: Part) -> Message:
    """Give the name of a part for a sentence."""
    return Message(f"bearing.part.{part.value}")


def decide(parts: tuple[PartEvidence, ...], bearing: Bearing) -> Decision:
    """Name the part that the evidence speaks for.

    Parameters
    ----------
    parts : tuple of PartEvidence
        Of all parts, as `judge` gives them.
    bearing : Bearing
    """
    reached = [found for found in parts if found.is_reached]
    if not reached:
        return Decision(None, Message("bearing.no_part"))
    standing = sorted((f for f in reached if f.stands_out), key=lambda f: -f.surprise)
    if not standing:
        return Decision(None, _nothing(reached))
    best = standing[0]
    doubt = _doubt(best, standing[1:], bearing)
    if doubt is not None:
        return Decision(None, doubt)
    params: dict[str, Param] = {
        "part": part_name(best.part),
        "level_db": _level_db(best),
        "chance": _one_in(best.false_alarm or 0.0),
    }
    is_direct = best.spectrum is not None and best.spectrum.kind is Kind.DIRECT
    why = Message("bearing.named_direct" if is_direct else "bearing.named", params)
    return Decision(best.part, why)


def _doubt(best: PartEvidence, others: list[PartEvidence], bearing: Bearing) -> Message | None:
    """Say what keeps the part that stands out most from being named; None where nothing does."""
    names = {"part": part_name(best.part)}
    tied = bearing.inseparable()
    if best.part in tied:
        other = next(part for part in tied if part is not best.part)
        return Message("bearing.inseparable", names | {"other": part_name(other)})
    line, limit_db = best.strongest, best.limit_db
    if line is None or line.low_db is None or limit_db is None or line.low_db <= limit_db:
        return Message("bearing.faint", names)
    if _may_be_a_tone(best):
        return Message("bearing.one_tone", names)
    for found in others:
        if _level_db(best) < _CLEAR_DB and _level_db(best) - _level_db(found) < _LEAD_DB:
            return Message("bearing.no_lead", names | {"other": part_name(found.part)})
    return None


def _may_be_a_tone(best: PartEvidence) -> bool:
    """Tell whether a tone from elsewhere would look the same: one line, at a constant speed."""
    spectrum = best.spectrum
    return (
        spectrum is not None
        and spectrum.kind is Kind.DIRECT
        and spectrum.stretch is SegmentKind.STEADY
        and best.clear_lines < _FEWEST_LINES
    )


def _nothing(reached: list[PartEvidence]) -> Message:
    limits = [found.limit_db for found in reached if found.limit_db is not None]
    params = {"limit_db": max(limits, default=0.0)}
    if len(reached) == len(Part):
        return Message("bearing.nothing", params)
    return Message("bearing.nothing_partly", params | {"count": len(Part) - len(reached)})


def _level_db(found: PartEvidence) -> float:
    line = found.strongest
    return 0.0 if line is None or line.level_db is None else line.level_db


def _one_in(chance: float) -> str:
    """Write a chance as one in a round number that it does not exceed.

    >>> _one_in(0.004), _one_in(1e-9)
    ('1 in 100', '1 in 1,000,000')
    """
    for count in (1_000_000, 100_000, 10_000, 1_000):
        if chance * count <= 1.0:
            return f"1 in {count:,}"
    return "1 in 100"
