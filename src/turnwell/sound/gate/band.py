"""Tells whether the line of the rotation lies inside what was recorded.

References
----------
Twice the frequency is the least sample rate [SHANNON1949]; a tenth more leaves room for the filter
in front of the converter, and a twentieth for the slope of a coder's edge: common practice.
"""

from turnwell.sound.gate.findings import COAST, CONDITION, SPEED, GateFinding
from turnwell.words import Message

__all__ = ["EDGE_PER_LINE", "RATE_PER_LINE", "band_findings"]

RATE_PER_LINE = 2.2
EDGE_PER_LINE = 1.05


def band_findings(rate_hz: float, edge_hz: float, line_1_hz: float) -> tuple[GateFinding, ...]:
    """Give the finding that line 1 does not fit into the recording, or nothing.

    Parameters
    ----------
    rate_hz : float
        Samples per second.
    edge_hz : float
        Above it the coding let nothing pass; half the rate where it let all pass.
    line_1_hz : float
        Rotation frequency that is heard; where none is, the fastest that is looked for.

    Examples
    --------
    >>> [finding.key for finding in band_findings(16_000.0, 8_000.0, 8_333.3)]
    ['rate_low']
    >>> band_findings(48_000.0, 24_000.0, 8_333.3)
    ()
    """
    lost = (SPEED, COAST, CONDITION)
    line_khz = line_1_hz / 1e3
    if rate_hz < RATE_PER_LINE * line_1_hz:
        params = {"rate_hz": rate_hz, "line_khz": line_khz, "needed_hz": RATE_PER_LINE * line_1_hz}
        return (GateFinding("rate_low", Message("sound.gate.rate_low", params), lost),)
    if edge_hz < EDGE_PER_LINE * line_1_hz:
        params = {"edge_khz": edge_hz / 1e3, "line_khz": line_khz}
        return (GateFinding("edge_low", Message("sound.gate.edge_low", params), lost),)
    return ()
