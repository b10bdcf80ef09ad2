"""Takes one stretch of steady running apart: run-up before, coast-down after, release between.

The release of the foot control is where the falling curve, drawn back, meets the steady speed: the
speed is continuous, so the crossing is found to a few milliseconds even when the tone drops as the
air goes off.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.speed.phase import FineTrack, refined
from turnwell.sound.speed.plateaus import HOP_S, WINDOW_S, Plateau
from turnwell.sound.speed.smoothing import Spread
from turnwell.sound.speed.spectra import Spectra
from turnwell.sound.speed.sweep import Sweep, follow

__all__ = ["Run", "run_around"]

Floats = NDArray[np.float64]

_STEP_S = 0.016
_PIECE_S = 8.0
_COARSE = 1.5
_OVERLAP_S = 0.25
_FALLEN = 0.93
_LEAVES_S = 0.3  # after the last long spectrum that shows the steady line
_SLOW_BINS, _LEVEL = 50.0, 0.02
_NEARLY = 0.008
_LOW = 0.002
# In the last milliseconds before the release, as found, the rotor may already have slowed.
_END_S, _END_ERROR = 0.004, 0.0015
_COAST_POINTS = 5
# Power of the strongest line over the noise in one step. Line 1 as strong as the noise in 128 Hz,
# alone, has 2.
_LEAST_CLEAR = 1.0
_STRONG = 0.4  # of the strongest line's power


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """One run of the handpiece.

    Parameters
    ----------
    pieces : tuple of FineTrack
        The steady part, in pieces of some seconds.
    start_s, release_s : float
        Ends of the steady part.
    is_released : bool
        True where the coast-down after it is heard.
    run_up, coast_down : Sweep or None
        The parts before and after it, where they are heard.
    """

    pieces: tuple[FineTrack, ...]
    start_s: float
    release_s: float
    is_released: bool
    run_up: Sweep | None
    coast_down: Sweep | None

    @property
    def mean_hz(self) -> float:
        """Mean rotation frequency from `start_s` to `release_s`."""
        return float(np.average([p.mean_hz for p in self.pieces], weights=self._spans))

    @property
    def mean_sd_hz(self) -> float:
        """Standard deviation of the mean: of the pieces, and of where the part ends."""
        turns = [span * p.mean_sd_hz for span, p in zip(self._spans, self.pieces, strict=True)]
        if self.is_released:
            turns.append(_END_ERROR * self.pieces[-1].mean_hz * _END_S)
        return float(np.sqrt(np.sum(np.square(turns)))) / self.steady_s

    @property
    def steady_s(self) -> float:
        """Length of the steady part."""
        return self.release_s - self.start_s

    @property
    def rotation_hz(self) -> Floats:
        """Rotation frequency of the steady part, point by point."""
        return np.concatenate([piece.rotation_hz for piece in self.pieces])

    @property
    def spread(self) -> Spread:
        """Variance of the steady speed about its mean, over the square of the mean."""
        spans = np.array(self._spans) / sum(self._spans)
        between = sum(
            span * (piece.mean_hz - self.mean_hz) ** 2
            for span, piece in zip(spans, self.pieces, strict=True)
        )
        noise = sum(
            span * piece.mean_sd_hz**2 for span, piece in zip(spans, self.pieces, strict=True)
        )
        # What the pieces owe to their noise may err together: bounds are added to bounds.
        low, middle, high = (
            float(sum(spans * [getattr(piece.spread_hz2, key) for piece in self.pieces]))
            for key in ("low", "middle", "high")
        )
        low += max(between - noise, 0.0)
        middle, high = middle + between, high + between
        return Spread(low, middle, high).scaled(1.0 / self.mean_hz**2)

    @property
    def wander(self) -> float:
        """Standard deviation of the steady speed over its mean."""
        return float(np.sqrt(self.spread.middle))

    @property
    def lines_agree(self) -> bool:
        """True where one line leads clearly, and those that turn with it share no divisor.

        Were all of them lines 2, 4 and 6, the shaft would turn twice as fast. A strong line counts
        even where its phase moves, as on the way through a resonance.
        """
        piece = max(self.pieces, key=lambda piece: float(piece.line_to_noise.max()))
        ratio = piece.line_to_noise
        leading = int(np.argmax(np.arange(1, ratio.size + 1) ** 2 * ratio))
        leads = ratio.max() >= _LEAST_CLEAR and piece.keeps_phase[leading]
        kept = np.any([piece.keeps_phase for piece in self.pieces], axis=0)
        counted = np.flatnonzero(kept | (ratio > _STRONG * ratio.max())) + 1
        return bool(leads) and int(np.gcd.reduce(counted)) == 1

    @property
    def _spans(self) -> list[float]:
        return [p.stop_s - p.start_s for p in self.pieces]


def run_around(
    samples: NDArray[np.float32],
    rate_hz: float,
    spectra: Spectra,
    plateau: Plateau,
    *,
    not_before_s: float,
    not_after_s: float,
    edge_hz: float,
) -> Run | None:
    """Take the run around a plateau apart; None when too little of it is steady.

    Parameters
    ----------
    samples, rate_hz
        The recording.
    spectra, plateau
        The long spectra, and the stretch found in them.
    not_before_s, not_after_s : float
        Where the neighbouring runs end and begin.
    edge_hz : float
        Highest frequency the codec passes.
    """
    plateau = _level_part(plateau, spectra.bin_hz)
    time_s = spectra.time_s[plateau.frames]
    speed_hz = plateau.median_hz
    inside_s = min(_OVERLAP_S, 0.4 * (time_s[-1] - time_s[0]))
    down = follow(
        samples,
        rate_hz,
        from_s=float(time_s[-1]) - inside_s,
        to_s=not_after_s,
        rotation_hz=float(np.median(plateau.rotation_hz[-6:])),
        edge_hz=edge_hz,
        leaves_by_s=float(time_s[-1]) + _LEAVES_S,
    )
    up = follow(
        samples,
        rate_hz,
        from_s=float(time_s[0]) + inside_s,
        to_s=not_before_s,
        rotation_hz=float(np.median(plateau.rotation_hz[:6])),
        edge_hz=edge_hz,
    )
    # The steady tone may reach half a window beyond the middle of the last spectrum.
    first_s = max(float(time_s[0]) - HOP_S, not_before_s)
    last_s = min(float(time_s[-1]) + HOP_S, not_after_s)
    release_s = _crossing(down, float(np.median(plateau.rotation_hz[-20:]))) if down else None
    is_released = release_s is not None
    if release_s is None:
        release_s = not_after_s if last_s >= not_after_s - 2.0 * HOP_S else float(time_s[-1])
    start_s = not_before_s if first_s <= not_before_s + HOP_S else float(time_s[0])
    nodes = _nodes(time_s, plateau.rotation_hz, start_s, release_s)
    orders = _orders(speed_hz, min(edge_hz, 0.49 * rate_hz))
    tracks = _pieces(samples, rate_hz, nodes, orders)
    if not tracks:
        return None
    has_run_up = up is not None and bool(up.rotation_hz[0] < _FALLEN * speed_hz)
    if has_run_up or _starts_low(tracks[0]):
        start_s = _settled(tracks[0])
        tracks = _pieces(samples, rate_hz, _cut(nodes, start_s), orders) or tracks
    return Run(
        pieces=tracks,
        start_s=start_s,
        release_s=release_s,
        is_released=is_released,
        run_up=up if has_run_up else None,
        coast_down=down if is_released else None,
    )


def _crossing(down: Sweep, speed_hz: float) -> float | None:
    """Instant at which the falling curve, drawn back, meets the steady speed."""
    share = down.rotation_hz / speed_hz
    if share.min() > _FALLEN:
        return None
    begin = int(np.flatnonzero(share > 0.985)[-1]) if np.any(share > 0.985) else 0
    used = np.arange(share.size) > begin
    used &= (share < 0.97) & (share > 0.45)
    if np.count_nonzero(used) < _COAST_POINTS:
        used = (np.arange(share.size) > begin) & (share < 0.97) & (share > 0.1)
    if np.count_nonzero(used) < 3:
        return float(down.time_s[begin])
    degree = 3 if np.count_nonzero(used) > 12 else 2 if np.count_nonzero(used) > 5 else 1
    # The sweep's grid may hold a slow fall on a few levels only.
    degree = min(degree, np.unique(share[used]).size - 1)
    curve = np.polynomial.Polynomial.fit(share[used], down.time_s[used], degree)
    crossing = float(curve(1.0))
    latest = float(down.time_s[used][0])
    return min(max(crossing, float(down.time_s[begin]) - 0.1), latest)


def _nodes(
    time_s: Floats, rotation_hz: Floats, start_s: float, stop_s: float
) -> tuple[Floats, Floats]:
    """Coarse track over the steady part, smoothed, held at both ends."""
    # A spectrum that reaches beyond the release holds the falling line too.
    inside = (time_s >= start_s) & (time_s <= stop_s - 0.35 * WINDOW_S)
    if np.count_nonzero(inside) < 3:
        inside = np.ones(time_s.size, bool)
    times, values = time_s[inside], rotation_hz[inside]
    if values.size >= 5:
        middle = np.median(np.lib.stride_tricks.sliding_window_view(values, 3), axis=1)
        values = np.concatenate([[middle[0]], middle, [middle[-1]]])
        values = np.convolve(np.pad(values, 1, mode="edge"), [0.25, 0.5, 0.25], mode="valid")
    times = np.concatenate(
        [[min(start_s, times[0] - 1e-6)], times, [max(stop_s, times[-1] + 1e-6)]]
    )
    return times, np.concatenate([values[:1], values, values[-1:]])


def _cut(nodes: tuple[Floats, Floats], start_s: float) -> tuple[Floats, Floats]:
    time_s, value = nodes
    kept = time_s > start_s
    first = np.interp(start_s, time_s, value)
    return np.append(start_s, time_s[kept]), np.append(first, value[kept])


def _orders(speed_hz: float, highest_hz: float) -> tuple[int, ...]:
    """Lines to use: those that fit, at most six of a slow shaft."""
    return tuple(range(1, max(1, min(6, int(highest_hz / (1.02 * speed_hz)))) + 1))


def _pieces(
    samples: NDArray[np.float32],
    rate_hz: float,
    nodes: tuple[Floats, Floats],
    orders: tuple[int, ...],
) -> tuple[FineTrack, ...]:
    """Refine the steady part in pieces of equal length."""
    time_s, value = nodes
    step_s = max(_STEP_S, 6.0 / float(np.min(value)))
    count = max(1, round((time_s[-1] - time_s[0]) / _PIECE_S))
    edges = np.linspace(time_s[0], time_s[-1], count + 1)
    tracks = []
    for begin, end in pairwise(edges):
        inside = (time_s > begin) & (time_s < end)
        piece_s = np.concatenate([[begin], time_s[inside], [end]])
        piece_hz = np.interp(piece_s, time_s, value)
        track = refined(
            samples,
            rate_hz,
            piece_s,
            piece_hz,
            orders,
            step_s=step_s,
            coarse_step_s=_COARSE * step_s,
        )
        if track is not None:
            tracks.append(track)
    return tuple(tracks)


def _level_part(plateau: Plateau, bin_hz: float) -> Plateau:
    """Cut off both ends where a slow shaft already runs up or coasts down.

    The path through the spectra may bend by part of a bin a step; for a shaft of a few bins that is
    enough to follow it down.
    """
    if plateau.median_hz > _SLOW_BINS * bin_hz:
        return plateau
    level = np.flatnonzero(np.abs(plateau.rotation_hz / plateau.median_hz - 1.0) < _LEVEL)
    part = slice(int(level[0]), int(level[-1]) + 1)
    return replace(plateau, frames=plateau.frames[part], rotation_hz=plateau.rotation_hz[part])


def _starts_low(track: FineTrack) -> bool:
    """Tell whether the track begins with the last of a run-up that is not heard by itself."""
    speed = track.rotation_hz
    usual = float(np.median(speed[speed.size // 3 :]))
    near = max(3, round(0.1 / track.step_s))
    return bool(np.median(speed[:near]) < (1.0 - _LOW) * usual)


def _settled(track: FineTrack) -> float:
    """Give the instant from which the speed no longer lies below that of what follows.

    A run-up creeps towards the steady speed; the first tenth of a second whose median reaches the
    median of the next 0.8 s ends it. At most two thirds of the track are given away.
    """
    near, far = max(3, round(0.1 / track.step_s)), max(5, round(0.8 / track.step_s))
    speed = track.rotation_hz
    limit = min(speed.size - far, speed.size * 2 // 3)
    later = speed[speed.size // 2 :]
    usual = float(np.median(later))
    reach = max(_NEARLY, 6.0 * float(np.median(np.abs(later / usual - 1.0))))
    far_off = np.flatnonzero(np.abs(speed[: max(limit, 0)] / usual - 1.0) > reach)
    for index in range(int(far_off[-1]) + 1 if far_off.size else 0, max(limit, 0)):
        ahead = float(np.median(speed[index : index + far]))
        if np.median(speed[index : index + near]) >= ahead * (1.0 - 3e-5):
            return float(track.time_s[index])
    return float(track.time_s[max(limit, 0)])
