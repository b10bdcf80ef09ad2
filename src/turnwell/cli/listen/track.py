"""The speed over time as a CSV file, for a spreadsheet or another program."""

import csv
from io import StringIO

import numpy as np

from turnwell.sound import Listening, Segment

__all__ = ["HEADER", "track_csv"]

HEADER = ("time_s", "speed_rpm", "sd_rpm", "segment")


def track_csv(listening: Listening) -> str:
    """Write the track, one instant a line under a header.

    Parameters
    ----------
    listening : Listening
        Its track holds only instants at which the speed is known; without any the header is alone.

    Returns
    -------
    str
        Columns `HEADER`; the segment is the one that holds the instant.
    """
    target = StringIO()
    rows = csv.writer(target, lineterminator="\n")
    rows.writerow(HEADER)
    track = listening.track.as_dict()
    names = _segment_names(track["time_s"], listening.segments)
    rows.writerows(zip(track["time_s"], track["speed_rpm"], track["sd_rpm"], names, strict=True))
    return target.getvalue()


def _segment_names(time_s: list[float], segments: tuple[Segment, ...]) -> list[str]:
    """Name the segment of each instant: the last one that has begun."""
    if not segments:
        return [""] * len(time_s)
    starts = np.array([segment.start_s for segment in segments])
    places = np.searchsorted(starts, time_s, side="right") - 1
    return [segments[place].kind.value for place in np.maximum(places, 0).tolist()]
