"""Refuses a file that holds several runs, rather than to take two for one."""

import numpy as np

from turnwell.errors import CannotTellError
from turnwell.steam.reading.grid import place_of
from turnwell.steam.record import Record

__all__ = ["refuse_several_runs"]

HOT_C = 115.0
SHORTEST_HOT_S = 90.0
COOL_C = 105.0
REST_KPA = 8.0


def refuse_several_runs(record: Record, name: str) -> None:
    """Refuse where the chamber comes to rest between two plateaus.

    Raises
    ------
    CannotTellError
        If there are two or more plateaus.
    """
    count = plateaus_in(record)
    if count > 1:
        raise CannotTellError(
            f"{place_of(name)} holds {count} runs; cut it into one file for each run"
        )


def plateaus_in(record: Record) -> int:
    """Count long hot stretches that a rest at the atmosphere parts."""
    hot = np.concatenate([[False], record.temperature_c >= HOT_C, [False]]).astype(int)
    edges = np.flatnonzero(np.diff(hot))
    count, last_stop = 0, 0
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if record.time_s[stop - 1] - record.time_s[start] < SHORTEST_HOT_S:
            continue
        if count == 0 or _rests(record, last_stop, start):
            count += 1
        last_stop = stop
    return count


def _rests(record: Record, start: int, stop: int) -> bool:
    between = slice(start, stop)
    cool = record.temperature_c[between] < COOL_C
    if record.has_pressure:
        at_rest = np.abs(record.pressure_kpa[between] - record.atmosphere_kpa) < REST_KPA
        return bool(np.count_nonzero(cool & at_rest) >= 2)
    return bool(np.count_nonzero(cool) >= 2)
