"""Says why there is no speed, and what would give one."""

from turnwell.sound.expectation import SLOWEST_RPM, Expectation
from turnwell.sound.gate.findings import GateFinding
from turnwell.sound.recording import Recording
from turnwell.units import hz_to_rpm
from turnwell.words import Message

__all__ = ["why_no_speed"]

_REFUSALS = ("fold", "hum", "several_tones", "not_steady", "too_slow", "too_short")
_SAID_BY_GATE = ("silent", "too_short")


def why_no_speed(
    recording: Recording,
    edge_hz: float,
    expectation: Expectation,
    gate: tuple[GateFinding, ...],
    refusals: frozenset[str],
) -> Message:
    """Give the reason why there is no speed.

    Parameters
    ----------
    recording : Recording
    edge_hz : float
        Highest frequency that the coding passes.
    expectation : Expectation
    gate : tuple of GateFinding
    refusals : frozenset of str
        Keys of what spoke against the tones that are heard.
    """
    for key in _SAID_BY_GATE:
        for finding in gate:
            if finding.key == key:
                return finding.message
    ceiling_rpm = hz_to_rpm(min(0.97 * edge_hz, 0.45 * recording.rate_hz))
    if expectation.shaft_speed_rpm is not None and ceiling_rpm >= expectation.shaft_speed_rpm:
        given_rpm = expectation.shaft_speed_rpm
        return Message("sound.no_speed.given", {"given_rpm": given_rpm, "low_rpm": SLOWEST_RPM})
    if "fold" not in refusals and ceiling_rpm >= expectation.fastest_rpm:
        for key in _REFUSALS:
            if key in refusals:
                return Message(f"sound.no_speed.{key}", {"low_rpm": expectation.heard_range_rpm[0]})
        return Message("sound.no_speed.nothing")
    key = "rate" if edge_hz >= 0.44 * recording.rate_hz else "edge"
    return Message(
        f"sound.no_speed.{key}",
        {"rate_hz": recording.rate_hz, "edge_khz": edge_hz / 1e3, "ceiling_rpm": ceiling_rpm},
    )
