"""The coast-down of a run as a measurement: fine track, times, decelerations, law of the drag.

The inertia I of the rotor cannot be heard: the law's rates are torques over I, and no torque
follows from sound alone.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.coast.departure import Curve, curve_of
from turnwell.sound.coast.fine import FinePoints, fine_points
from turnwell.sound.coast.fit import best_law
from turnwell.sound.coast.fitted_law import FittedLaw, fitted_law
from turnwell.sound.coast.passing import Estimate, Passings, passings_of
from turnwell.sound.segment import SegmentKind
from turnwell.sound.speed.runs import Run
from turnwell.sound.speed.turning import Turning
from turnwell.units import hz_to_rpm
from turnwell.words import Message, text_of

__all__ = ["SHARES", "CoastDown", "coast_downs_of"]

Floats = NDArray[np.float64]

SHARES = (1.0, 0.5, 0.2)
# Places among the levels whose passing is sought: the release, SHARES, 90 % and 10 %.
_RELEASE, _FIRST, _HALF, _HIGH, _LOW = 0, 1, 2, 4, 5
_LAW_REACH = 0.25
_MOST_MISFIT = 0.02  # of the free speed; a rotor departs from the law by less
_EXHAUST_S = 0.025  # until the air has left the head
_STRAY = 6.0
_FEWEST = 8
_STEADY_END_S, _NOT_STEADY_S = 0.15, 0.03
_FROM_COARSE_S, _RELEASE_OFF_S = 0.05, 0.01


@dataclass(frozen=True, slots=True, eq=False)
class CoastDown:
    """How a rotor slowed down after the release.

    Parameters
    ----------
    time_s : array, shape (n,)
        Since the release, rising.
    rotation_hz, sd_hz : arrays, shape (n,)
        Rotation frequency of the shaft that is heard, smoothed, and its standard deviation.
    release_s, release_sd_s : float
        Instant of the release in the recording, and its standard deviation.
    free_hz : float
        Mean rotation frequency of the steady part before.
    between : Estimate or None
        Time from 90 to 10 % of the free speed, s; None where the track does not reach 10 %.
    half : Estimate or None
        Time from the release to half of the free speed, s.
    decelerations : tuple of Estimate or None
        At each of `SHARES` of the free speed, Hz/s; None where the track does not reach it.
    law : FittedLaw or None
    why_no_law : Message or None
        The reason where there is none.
    """

    time_s: Floats
    rotation_hz: Floats
    sd_hz: Floats
    release_s: float
    release_sd_s: float
    free_hz: float
    between: Estimate | None
    half: Estimate | None
    decelerations: tuple[Estimate | None, ...]
    law: FittedLaw | None
    why_no_law: Message | None

    @property
    def reached_share(self) -> float:
        """Lowest speed of the track over the free speed."""
        return float(self.rotation_hz[-1] / self.free_hz)

    @property
    def is_disturbed(self) -> bool:
        """True where the speed seems to fall as no drag makes it: another sound was in the way."""
        return self.law is None and self.reached_share < _LAW_REACH

    @property
    def turning(self) -> Turning:
        """The stretch in which the shaft's angle is known, in time of the recording."""
        return Turning(
            SegmentKind.COAST_DOWN, self.release_s + self.time_s, self.rotation_hz, self.sd_hz
        )

    def as_dict(self, factor: float = 1.0, language: str = "en") -> dict[str, Any]:
        """Give the coast-down as JSON values.

        Parameters
        ----------
        factor : float
            Speed to show over the speed heard.
        """
        rpm = hz_to_rpm(1.0) * factor
        why = self.why_no_law
        return {
            "release_s": round(self.release_s, 4),
            "free_speed_rpm": round(rpm * self.free_hz, 2),
            "time_s": np.round(self.time_s, 4).tolist(),
            "speed_rpm": np.round(rpm * self.rotation_hz, 2).tolist(),
            "sd_rpm": np.round(rpm * self.sd_hz, 3).tolist(),
            "law": None if self.law is None else self.law.as_dict(factor),
            "why_no_law": None if why is None else text_of(why, language),
        }


def coast_downs_of(
    samples: NDArray[np.float32], rate_hz: float, runs: tuple[Run, ...], *, edge_hz: float
) -> tuple[CoastDown, ...]:
    """Measure the coast-downs that follow runs; runs without one, or too faint a one, give none.

    Parameters
    ----------
    samples : array of float32, shape (n,)
    rate_hz : float
    runs : tuple of Run
    edge_hz : float
        Highest frequency the recording holds.
    """
    found = []
    for run in runs:
        if run.coast_down is None:
            continue
        release_s = run.release_s
        coast_down = _from_release(samples, rate_hz, run, release_s, edge_hz)
        # What was taken for steady, or for the first moments of the fall, was not: once more.
        if coast_down is not None and abs(coast_down.release_s - release_s) > _RELEASE_OFF_S:
            release_s = coast_down.release_s
            coast_down = _from_release(samples, rate_hz, run, release_s, edge_hz)
        if coast_down is not None:
            found.append(coast_down)
    return tuple(found)


def _from_release(
    samples: NDArray[np.float32], rate_hz: float, run: Run, release_s: float, edge_hz: float
) -> CoastDown | None:
    """Measure a coast-down whose release is known to some ten milliseconds."""
    assert run.coast_down is not None  # noqa: S101 - only such runs come here
    points = fine_points(samples, rate_hz, run.coast_down, release_s=release_s, edge_hz=edge_hz)
    if points is None:
        return None
    return _measured(run, points.kept(points.time_s > release_s + _EXHAUST_S), release_s)


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """A curve through points, and the units it is in."""

    curve: Curve
    points: FinePoints
    start_s: float
    span_s: float
    unit_hz: float

    @property
    def strays(self) -> NDArray[np.bool_]:
        """True where a point lies too far off the curve to be of this rotor."""
        curve = self.curve
        rest_hz = self.points.rotation_hz - self.unit_hz * curve.speed_at(curve.time)
        scatter = np.sqrt(float(curve.chance @ curve.scale)) * self.points.sd_hz
        return np.asarray(np.abs(rest_hz) > _STRAY * scatter, bool)


def _laid(points: FinePoints, unit_hz: float) -> _Laid | None:
    """Lay a curve through points; None when they are too few."""
    if points.time_s.size < _FEWEST:
        return None
    start_s, span_s = float(points.time_s[0]), float(np.ptp(points.time_s))
    time = (points.time_s - start_s) / span_s
    speed, error = points.rotation_hz / unit_hz, points.sd_hz / unit_hz
    law = best_law(time, speed, lambda values: (values.T / error).T)
    curve = curve_of(law.law, law.start, time, speed, error)
    return _Laid(curve, points, start_s, span_s, unit_hz)


def _measured(run: Run, points: FinePoints, near_s: float) -> CoastDown | None:
    laid = _laid(points, run.mean_hz)
    if laid is not None and np.any(laid.strays):
        laid = _laid(points.kept(~laid.strays), run.mean_hz)
    if laid is None:
        return None
    passings = _passings(run, laid, near_s)
    release = _in_units(passings.instant(0), laid.span_s)
    if release is None:
        return None
    release_s = laid.start_s + release.value
    curve = laid.curve
    speed = curve.speed_at(curve.time)
    unit_hz_s = run.mean_hz / laid.span_s
    reached = float(speed[-1])
    law = _law(laid, release_s, reached)
    return CoastDown(
        time_s=laid.start_s + laid.span_s * curve.time - release_s,
        rotation_hz=run.mean_hz * speed,
        sd_hz=run.mean_hz * curve.sd_at_points(),
        release_s=release_s,
        release_sd_s=release.sd,
        free_hz=run.mean_hz,
        between=_in_units(passings.between(_HIGH, _LOW), laid.span_s),
        half=_in_units(passings.between(_RELEASE, _HALF), laid.span_s),
        decelerations=tuple(
            _in_units(passings.deceleration(_FIRST + place), unit_hz_s)
            for place in range(len(SHARES))
        ),
        law=law,
        why_no_law=None if law else _why_no_law(reached),
    )


def _passings(run: Run, laid: _Laid, near_s: float) -> Passings:
    """Find where the curve passes the speed before the release and shares of the free speed."""
    end = _speed_at_end(run, near_s)
    levels = np.array([end.value / run.mean_hz, *SHARES, 0.9, 0.1])
    # What makes a level uncertain: the speed before the release, and the free speed.
    by = np.zeros((levels.size, 2))
    by[_RELEASE, 0] = 1.0
    by[_FIRST:, 1] = levels[_FIRST:]
    source_sd = np.array([end.sd, run.mean_sd_hz]) / run.mean_hz
    before = -(_EXHAUST_S + _FROM_COARSE_S) / laid.span_s
    return passings_of(laid.curve, levels, by, source_sd, from_time=before)


def _law(laid: _Laid, release_s: float, reached: float) -> FittedLaw | None:
    """Fit the law; None where the track ends too early to tell its terms apart, or obeys none."""
    if reached >= _LAW_REACH:
        return None
    law = fitted_law(
        laid.curve,
        laid.points.rotation_hz / laid.unit_hz,
        start_s=laid.start_s - release_s,
        span_s=laid.span_s,
        unit_hz=laid.unit_hz,
        reached=reached,
    )
    return law if law.misfit_hz < _MOST_MISFIT * laid.unit_hz else None


def _why_no_law(reached: float) -> Message:
    if reached < _LAW_REACH:
        return Message("coast.no_such_law")
    return Message("coast.no_law", {"share": 100.0 * reached})


def _in_units(estimate: Estimate | None, unit: float) -> Estimate | None:
    return None if estimate is None else Estimate(estimate.value * unit, estimate.sd * unit)


def _speed_at_end(run: Run, release_s: float) -> Estimate:
    """Give the speed just before the release, and how far it may have wandered since."""
    piece = run.pieces[-1]
    before_s = release_s - _NOT_STEADY_S
    near = (piece.time_s > before_s - _STEADY_END_S) & (piece.time_s < before_s)
    if not np.any(near):
        near = piece.time_s == piece.time_s[-1]
    away_s = release_s - float(np.mean(piece.time_s[near]))
    walked = piece.wander_hz * np.sqrt(away_s / piece.step_s)
    own = float(np.mean(piece.sd_hz[near]))
    return Estimate(float(np.mean(piece.rotation_hz[near])), float(np.hypot(walked, own)))
