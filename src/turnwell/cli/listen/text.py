"""What was heard in one recording, as lines of a terminal."""

from collections.abc import Iterator, Mapping
from typing import Any

from turnwell.cli.lines import reading_line
from turnwell.cli.listen.sections import section_lines
from turnwell.sound import Listening, SegmentKind

__all__ = ["listening_lines"]

# Where no shaft is followed it need not be silent.
_KIND = {SegmentKind.SILENT: "no tone"}


def listening_lines(listening: Listening, document: Mapping[str, Any]) -> Iterator[str]:
    """Write the facts, the segments, the readings, what else was heard and the notes.

    Parameters
    ----------
    listening : Listening
    document : mapping
        Of the same, as `Listening.as_dict` gives it.
    """
    facts = listening.recording
    yield f"{facts.duration_s:.2f} s, {facts.rate_hz:,.0f} samples a second, {facts.codec}"
    for segment in listening.segments:
        kind = _KIND.get(segment.kind, segment.kind.value)
        yield f"  {kind:<10} {segment.start_s:7.2f} to {segment.stop_s:.2f} s"
    for reading in listening.readings:
        yield reading_line(reading, with_limit=True)
    yield from section_lines(document)
    if document["gate"]:
        yield ""
    yield from (f"note: {finding['message']}" for finding in document["gate"])
