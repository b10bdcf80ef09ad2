"""What was heard in one recording, as lines of a terminal."""

from collections.abc import Iterator

from turnwell.cli.lines import reading_line
from turnwell.sound import Listening

__all__ = ["listening_lines"]


def listening_lines(listening: Listening) -> Iterator[str]:
    """Write the facts, the segments, the readings and the notes."""
    facts = listening.recording
    yield f"{facts.duration_s:.2f} s, {facts.rate_hz:,.0f} samples a second, {facts.codec}"
    for segment in listening.segments:
        yield f"  {segment.kind.value:<10} {segment.start_s:7.2f} to {segment.stop_s:.2f} s"
    for reading in listening.readings:
        yield reading_line(reading)
    for finding in listening.gate:
        yield f"note: {finding.as_dict()['message']}"
