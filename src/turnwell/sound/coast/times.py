"""How long the rotor coasts after the air is shut off, read off the falling speed.

The times at which the speed passes 90, 50 and 10 % of the free-running speed come from a parabola
laid through the points around each crossing, time over the logarithm of the speed. No law of the
drag is assumed, and no torque follows: the rotor's inertia cannot be heard.
"""

from dataclasses import dataclass
from math import sqrt
from statistics import fmean

import numpy as np
from numpy.typing import NDArray

from turnwell.measure import Budget, Part, Reading, cannot_tell, reading, repeatability
from turnwell.sound.coast.baseline import baseline_limit
from turnwell.sound.speed.runs import Run
from turnwell.words import Message

__all__ = ["baseline_limit", "coast_down_readings"]

_REACH = 0.22  # of the logarithm of the speed, on both sides of a crossing
_POINTS = 5
_HIGH, _HALF, _LOW = 0.9, 0.5, 0.1
_RELEASE_SD_S = 0.004


@dataclass(frozen=True, slots=True)
class _Crossing:
    """Instant at which the speed passes a share of the free speed, with its standard deviation."""

    time_s: float
    sd_s: float


def coast_down_readings(
    runs: tuple[Run, ...], baseline_s: tuple[float, ...] | None = None
) -> tuple[Reading, ...]:
    """Give the coast-down times of the runs that were released within the recording.

    Parameters
    ----------
    runs : tuple of Run
    baseline_s : tuple of float or None
        Earlier times from 90 % to 10 % of this handpiece with the same bur and pressure.
    """
    released = [run for run in runs if run.coast_down is not None]
    if not released:
        return ()
    whole = _time_between(released, _HIGH, _LOW)
    half = _time_from_release(released)
    limit = baseline_limit(baseline_s or ())
    readings = []
    for key, budget, held in (
        ("coast_down_time", whole, limit),
        ("coast_down_half_time", half, None),
    ):
        if budget is None:
            readings.append(cannot_tell(key, "s", Message(f"sound.{key}_lost"), limit=held))
        else:
            low, high = budget.interval()
            why = None if held is not None else Message("sound.coast_down_no_limit")
            readings.append(
                reading(key, budget.value, max(low, 0.0), high, "s", limit=held, why=why)
            )
    return tuple(readings)


def _time_between(runs: list[Run], high: float, low: float) -> Budget | None:
    """Mean time from one share of the free speed to another; None where a run does not reach it."""
    times, parts = [], []
    for run in runs:
        first, last = _crossing(run, high), _crossing(run, low)
        if first is not None and last is not None:
            times.append(last.time_s - first.time_s)
            parts.append(sqrt(first.sd_s**2 + last.sd_s**2))
    return _budget(times, parts)


def _time_from_release(runs: list[Run]) -> Budget | None:
    times, parts = [], []
    for run in runs:
        half = _crossing(run, _HALF)
        if half is not None:
            times.append(half.time_s - run.release_s)
            parts.append(sqrt(half.sd_s**2 + _RELEASE_SD_S**2))
    return _budget(times, parts)


def _budget(times: list[float], sds: list[float]) -> Budget | None:
    if not times:
        return None
    own = Part("estimate", sqrt(sum(sd**2 for sd in sds)) / len(sds))
    parts = (own, repeatability(times)) if len(times) > 1 else (own,)
    return Budget(fmean(times), parts)


def _crossing(run: Run, share: float) -> _Crossing | None:
    """Find where the speed passes a share of the free speed."""
    assert run.coast_down is not None  # noqa: S101 - only released runs come here
    time_s = run.coast_down.time_s
    height = np.log(run.coast_down.rotation_hz / run.mean_hz) - np.log(share)
    after = time_s > run.release_s
    if not np.any(height[after] < -0.02):
        return None
    near = after & (np.abs(height) < _REACH)
    if np.count_nonzero(near) < _POINTS:
        return None
    return _parabola(height[near], time_s[near])


def _parabola(height: NDArray[np.float64], time_s: NDArray[np.float64]) -> _Crossing:
    design = np.stack([np.ones_like(height), height, height**2], axis=1)
    solution, *_ = np.linalg.lstsq(design, time_s, rcond=None)
    residual = time_s - design @ solution
    # Neighbouring spectra overlap by three quarters: a quarter of the points are independent.
    freedom = max(height.size / 4.0 - 1.0, 1.0)
    variance = float(residual @ residual) / height.size * (height.size / 4.0) / freedom
    inverse = np.linalg.pinv(design.T @ design)
    resolution_s = abs(float(solution[1])) * 0.004 / sqrt(12.0)
    sd_s = sqrt(max(variance * 4.0 * float(inverse[0, 0]), 0.0) + resolution_s**2)
    return _Crossing(float(solution[0]), sd_s)
