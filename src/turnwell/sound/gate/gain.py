"""Tells whether the recorder's gain rode up once the tone faded.

After the release no air flows, and the room's noise stays as it is while the lines fall silent. An
automatic gain follows the falling loudness and lifts that noise with it. A rise of the floor, away
from the lines, that goes on without falling back and without a leap is its mark: a voice leaps and
falls. The floor before the run says nothing, since the gain may have been up there already.
"""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.gate.findings import GateFinding
from turnwell.sound.speed.spectra import Spectra
from turnwell.words import Message

__all__ = ["gain_riding"]

_WAIT_S = 0.1  # the air has left the hose, the jet is silent
_LONGEST_S = 4.0
_SETTLED_S = 0.6  # the lowest floor comes no later
_FEWEST = 10
_SMOOTH = 5
_RISE_DB = 4.0
_FALL_DB = 3.0  # noise of the smoothed floor itself
_FALL_SHARE = 0.25
_LEAP_DB = 6.0
_LOW_HZ, _HIGH_HZ = 1_500.0, 12_000.0


def gain_riding(
    spectra: Spectra, ends_s: Iterable[tuple[float, float]], edge_hz: float
) -> tuple[GateFinding, ...]:
    """Give the finding that the gain rode, or nothing.

    Parameters
    ----------
    spectra : Spectra
        Of the whole recording.
    ends_s : iterable of (float, float)
        Of each run, the release and the beginning of the next run or the recording's end, in s.
    edge_hz : float
        Above it the coding let nothing pass.
    """
    rises = [_rise_db(spectra, *ends, edge_hz) for ends in ends_s]
    if max(rises, default=0.0) < _RISE_DB:
        return ()
    message = Message("sound.gate.gain_rides", {"rise_db": max(rises)})
    return (GateFinding("gain_rides", message, ("level", "condition")),)


def _rise_db(spectra: Spectra, release_s: float, until_s: float, edge_hz: float) -> float:
    """Give by how many decibels the floor rises; 0 where it falls back or leaps."""
    start_s, stop_s = release_s + _WAIT_S, min(until_s - 0.1, release_s + _LONGEST_S)
    frames = np.flatnonzero((spectra.time_s >= start_s) & (spectra.time_s <= stop_s))
    first = int(_LOW_HZ / spectra.bin_hz)
    last = int(min(_HIGH_HZ, 0.9 * edge_hz, spectra.highest_hz) / spectra.bin_hz)
    if frames.size < _FEWEST or last - first < 8:
        return 0.0
    # A quarter of the bins lies below this: lines and their skirts do not reach it.
    quiet = np.percentile(spectra.power_of(frames)[:, first:last], 25.0, axis=1)
    level_db = _smoothed(10.0 * np.log10(np.maximum(quiet, 1e-30)))
    settled = max(int(_SETTLED_S / spectra.hop_s), 1)
    level_db = level_db[int(np.argmin(level_db[:settled])) :]
    fall_db = float(np.max(np.maximum.accumulate(level_db) - level_db))
    leap_db = float(np.diff(level_db).max(initial=0.0))
    rise_db = float(level_db[-max(level_db.size // 4, 3) :].mean() - level_db[0])
    falls_back = fall_db > max(_FALL_DB, _FALL_SHARE * rise_db)
    return 0.0 if falls_back or leap_db > _LEAP_DB else rise_db


def _smoothed(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Middle of five neighbours."""
    padded = np.pad(values, _SMOOTH // 2, mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, _SMOOTH)
    return np.asarray(np.median(windows, axis=1), np.float64)
