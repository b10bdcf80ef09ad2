"""What happens when in a recording: its segments, the speed over time, where nothing turns."""

from itertools import chain

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.coast.coast_down import CoastDown
from turnwell.sound.listening import Track
from turnwell.sound.segment import Segment, SegmentKind
from turnwell.sound.speed.runs import Run
from turnwell.sound.speed.turning import Turning
from turnwell.units import hz_to_rpm

__all__ = ["quiet_of", "segments_of", "steady_of", "track_of"]

Floats = NDArray[np.float64]

_SAME_RELEASE_S = 0.2
_SHORTEST_S = 1e-3
_SWEEP_SD = 0.002  # of the speed: half a step of the grid a run-up is followed on
_EXHAUST_S = 0.3  # until hose and head have emptied
_MARGIN_S = 0.05
_AIR_FIRST_S = 0.4  # the jet blows before the rotor is fast enough to be followed


def segments_of(
    runs: tuple[Run, ...], coast_downs: tuple[CoastDown, ...], duration_s: float
) -> tuple[Segment, ...]:
    """Name every stretch of the recording; what lies between runs is silent."""
    segments: list[Segment] = []
    at = 0.0
    for run in runs:
        start_s = max(run.start_s, at)
        if run.run_up is not None:
            up_s = min(max(float(run.run_up.time_s[0]), at), start_s)
            segments.append(Segment(SegmentKind.SILENT, at, up_s))
            segments.append(Segment(SegmentKind.RUN_UP, up_s, start_s))
        else:
            segments.append(Segment(SegmentKind.SILENT, at, start_s))
        coast_down = _after(run, coast_downs)
        release_s = run.release_s if coast_down is None else coast_down.release_s
        at = max(release_s, start_s)
        segments.append(Segment(SegmentKind.STEADY, start_s, at))
        if (last_s := _end_s(run, coast_down)) is not None:
            segments.append(Segment(SegmentKind.COAST_DOWN, at, max(last_s, at)))
            at = max(last_s, at)
    segments.append(Segment(SegmentKind.SILENT, at, duration_s))
    return tuple(s for s in segments if s.stop_s - s.start_s > _SHORTEST_S)


def track_of(runs: tuple[Run, ...], coast_downs: tuple[CoastDown, ...], factor: float) -> Track:
    """Join the parts of all runs; points of a later part start where the earlier one ends.

    Parameters
    ----------
    runs, coast_downs
    factor : float
        Speed to show over the speed heard.
    """
    parts = list(chain.from_iterable(_parts(run, _after(run, coast_downs)) for run in runs))
    if not parts:
        return Track(np.empty(0), np.empty(0), np.empty(0))
    kept, at = [], -np.inf
    for time_s, rotation_hz, sd_hz in parts:
        later = time_s > at
        kept.append((time_s[later], rotation_hz[later], sd_hz[later]))
        at = float(time_s[later][-1]) if np.any(later) else at
    rpm = factor * hz_to_rpm(1.0)
    time_s, rotation_hz, sd_hz = (np.concatenate(column) for column in zip(*kept, strict=True))
    return Track(time_s, rpm * rotation_hz, rpm * sd_hz)


def steady_of(runs: tuple[Run, ...]) -> tuple[Turning, ...]:
    """Give the steady part of each run as a stretch in which the shaft's angle is known."""
    return tuple(
        Turning(
            SegmentKind.STEADY,
            np.concatenate([piece.time_s for piece in run.pieces]),
            run.rotation_hz,
            np.concatenate([piece.sd_hz for piece in run.pieces]),
        )
        for run in runs
    )


def quiet_of(segments: tuple[Segment, ...]) -> tuple[tuple[float, float], ...]:
    """Give the stretches, in s, in which nothing turns and no air flows.

    Parameters
    ----------
    segments : tuple of Segment
        In the order of time.
    """
    steady = [part for part in segments if part.kind is SegmentKind.STEADY]
    quiet = []
    for segment in segments:
        if segment.kind is not SegmentKind.SILENT:
            continue
        starts = [part.stop_s + _EXHAUST_S for part in steady if part.stop_s <= segment.start_s]
        start_s = max([segment.start_s + _MARGIN_S, *starts])
        runs_up = any(part.start_s >= segment.stop_s for part in steady)
        stop_s = segment.stop_s - (_AIR_FIRST_S if runs_up else _MARGIN_S)
        if stop_s > start_s:
            quiet.append((start_s, stop_s))
    return tuple(quiet)


def _after(run: Run, coast_downs: tuple[CoastDown, ...]) -> CoastDown | None:
    """Give the coast-down that was measured after a run."""
    near = (c for c in coast_downs if abs(c.release_s - run.release_s) < _SAME_RELEASE_S)
    return next(near, None)


def _end_s(run: Run, coast_down: CoastDown | None) -> float | None:
    """Give the end of the coast-down: where it was last measured, else where it was last heard."""
    if coast_down is not None:
        return coast_down.release_s + float(coast_down.time_s[-1])
    return None if run.coast_down is None else float(run.coast_down.time_s[-1])


def _parts(run: Run, coast_down: CoastDown | None) -> list[tuple[Floats, Floats, Floats]]:
    """Give times, rotation frequencies and standard deviations, part by part."""
    parts = [(piece.time_s, piece.rotation_hz, piece.sd_hz) for piece in run.pieces]
    if run.run_up is not None:
        before = run.run_up.time_s < parts[0][0][0]
        speed = run.run_up.rotation_hz[before]
        parts.insert(0, (run.run_up.time_s[before], speed, _SWEEP_SD * speed))
    if coast_down is not None:
        turning = coast_down.turning
        parts.append((turning.time_s, turning.rotation_hz, turning.sd_hz))
    elif run.coast_down is not None:
        speed = run.coast_down.rotation_hz
        parts.append((run.coast_down.time_s, speed, _SWEEP_SD * speed))
    return parts
