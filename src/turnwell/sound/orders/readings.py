"""Makes the reading of the evidence on a bearing."""

from turnwell.measure import Basis, Limit, Reading, cannot_tell, reading
from turnwell.sound.gate.findings import CONDITION, GateFinding
from turnwell.sound.orders.finding import Orders
from turnwell.words import Message

__all__ = ["bearing_objection", "bearing_reading"]

_KEY, _UNIT = "bearing_evidence", "dB"
# A codec's edge bounds the orders that are judged, and a gain that moves slowly is taken off with
# the floor of each block: neither makes lines.
_HARMLESS = frozenset({"codec_edge", "gain_rides", "quiet"})


def bearing_objection(gate: tuple[GateFinding, ...]) -> Message | None:
    """Give what is wrong with a recording so that no bearing can be judged; None where nothing is.

    Parameters
    ----------
    gate : tuple of GateFinding
    """
    for finding in gate:
        if CONDITION in finding.takes_away and finding.key not in _HARMLESS:
            return finding.message
    return None


def bearing_reading(orders: Orders | None, gate: tuple[GateFinding, ...] = ()) -> Reading:
    """Give the level of the strongest line of the part that is named.

    The limit is the level at which noise of this very recording gives a false alarm in 1 % of
    cases. Where no part is named the answer is "cannot tell": silence is no proof of health.

    Parameters
    ----------
    orders : Orders or None
        None where no stretch of known speed was found.
    gate : tuple of GateFinding
        What is wrong with the recording.
    """
    if (objection := bearing_objection(gate)) is not None:
        return cannot_tell(_KEY, _UNIT, objection)
    if orders is None:
        return cannot_tell(_KEY, _UNIT, Message("bearing.no_turns"))
    if orders.decision is None:
        return cannot_tell(_KEY, _UNIT, Message("bearing.no_bearing"))
    for found in orders.parts:
        line = found.strongest
        if found.part is not orders.named_part or line is None or found.limit_db is None:
            continue
        if line.level_db is None or line.low_db is None or line.high_db is None:
            continue
        limit = Limit(
            low=None,
            high=round(found.limit_db, 1),
            source="what the noise of this recording reaches by chance in 1 of 100",
            basis=Basis.OWN,
        )
        return reading(
            _KEY,
            line.level_db,
            line.low_db,
            line.high_db,
            _UNIT,
            limit=limit,
            why=orders.decision.why,
        )
    return cannot_tell(_KEY, _UNIT, orders.decision.why)
