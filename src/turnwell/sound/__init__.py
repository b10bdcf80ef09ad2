"""From a recording of a running handpiece to its speed, coast-down and condition."""

from turnwell.sound.analyse import analyse
from turnwell.sound.condition.comparison import Comparison, compare
from turnwell.sound.decode import read_recording
from turnwell.sound.expectation import Expectation
from turnwell.sound.gate.findings import GateFinding
from turnwell.sound.listening import Facts, Listening, Track
from turnwell.sound.loudness import with_level
from turnwell.sound.orders.bearing import Bearing
from turnwell.sound.recording import Recording, recording_of
from turnwell.sound.segment import Segment, SegmentKind
from turnwell.sound.version import SOUND_VERSION

__all__ = [
    "SOUND_VERSION",
    "Bearing",
    "Comparison",
    "Expectation",
    "Facts",
    "GateFinding",
    "Listening",
    "Recording",
    "Segment",
    "SegmentKind",
    "Track",
    "analyse",
    "compare",
    "read_recording",
    "recording_of",
    "with_level",
]
