"""Refines a coarse speed track by the phase of the lines.

First the strongest line is followed: its phase, in steps long enough to stand out of the noise, is
unwrapped and smoothed, and the track is moved by it. What phase is then left is small, and all
lines are joined by weighted least squares, each with its own noise; the result is smoothed again.

References
----------
Weight of line k is k² A_k² / S(k f), its share of the information: [NEHORAI1986].
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.speed.demodulate import Baseband, baseband_of
from turnwell.sound.speed.smoothing import Spread, smooth

__all__ = ["FineTrack", "refined"]

Floats = NDArray[np.float64]

_FEWEST = 6
_CLEAR = 8.0
_SURE = 8.0
_KEEPS_PHASE = 0.6
_FAINTEST = 0.2  # power over noise of a line that is asked for its phase
_BY_CHANCE = 3.0  # standard deviations
_REACH = 16
_AGREEING_REACH = 40
_MOST_WANDER = 1e-3  # of the speed, from step to step
_LONGEST = 2.7


@dataclass(frozen=True, slots=True, eq=False)
class FineTrack:
    """Rotation frequency over time, refined.

    Parameters
    ----------
    time_s, rotation_hz, sd_hz : arrays, shape (n,)
        Equal steps; standard deviation of each point.
    start_s, stop_s : float
        Ends of the stretch, a little before the first and after the last point.
    mean_hz, mean_sd_hz : float
        Mean from `start_s` to `stop_s`, and its standard deviation.
    line_to_noise : array, shape (orders,)
        Power of each line over the noise power in a band as wide as one step allows.
    step_s : float
        Step of the track.
    wander_hz : float
        Change of the speed from step to step, one standard deviation.
    spread_hz2 : Spread
        Variance of the speed about its mean.
    keeps_phase : array of bool, shape (orders,)
        True where a line turns with the others for a second.
    """

    time_s: Floats
    rotation_hz: Floats
    sd_hz: Floats
    start_s: float
    stop_s: float
    mean_hz: float
    mean_sd_hz: float
    line_to_noise: Floats
    step_s: float
    wander_hz: float
    spread_hz2: Spread
    keeps_phase: NDArray[np.bool_]


def refined(
    samples: NDArray[np.float32],
    rate_hz: float,
    node_s: Floats,
    node_hz: Floats,
    orders: tuple[int, ...],
    *,
    step_s: float,
    coarse_step_s: float,
) -> FineTrack | None:
    """Refine a track of steady running; None when the stretch is too short.

    Parameters
    ----------
    samples, rate_hz
        The recording.
    node_s, node_hz : arrays
        Coarse track, good to about half the inverse of `coarse_step_s`.
    orders : tuple of int
        Lines to use.
    step_s, coarse_step_s : float
        Steps of the last and of the first pass.
    """
    base = baseband_of(samples, rate_hz, node_s, node_hz, orders, block_s=0.25 * step_s)
    steps = _grouped(base, coarse_step_s)
    if steps is None:
        return None
    line_to_noise = _line_to_noise(base, steps)
    strongest = int(np.argmax(line_to_noise))
    # A weak line needs longer steps for its phase to be unwrapped without a slip of a whole turn.
    longer = min(_SURE / float(line_to_noise[strongest]), _LONGEST)
    if longer > 1.0:
        steps = _grouped(base, longer * coarse_step_s)
        if steps is None:
            return None
        line_to_noise = _line_to_noise(base, steps)
    ahead = np.unwrap(np.angle(steps.lines[strongest])) / (2.0 * np.pi * base.orders[strongest])
    noise = _noise_sd(base.orders[strongest : strongest + 1], line_to_noise[strongest:])
    turns = float(steps.turns[-1] - steps.turns[0]) / steps.turns.size
    moved = smooth(ahead, noise, _MOST_WANDER * turns)
    base = base.moved(np.interp(base.time_s, steps.time_s, moved.value))
    steps = _grouped(base, step_s)
    if steps is None:
        return None
    line_to_noise = _line_to_noise(base, steps)
    # A straight line is set aside, so that what is smoothed is the wander of the shaft itself and
    # the noise, not the jitter of the coarse track.
    line = np.polynomial.Polynomial.fit(steps.time_s, steps.turns, 1)
    aside = line(steps.time_s)
    noise = _noise_sd(steps.orders, line_to_noise)
    most = _MOST_WANDER * float(steps.turns[-1] - steps.turns[0]) / steps.turns.size
    first = smooth(steps.turns - aside + _joined(steps, line_to_noise), noise, most)
    steps = steps.moved(aside + first.value - steps.turns)
    each_s = float(steps.time_s[-1] - steps.time_s[0]) / (steps.time_s.size - 1)
    final = smooth(
        first.value + _joined(steps, line_to_noise),
        noise,
        most,
        before=float(steps.time_s[0] - node_s[0]) / each_s,
        after=float(node_s[-1] - steps.time_s[-1]) / each_s,
    )
    span_s = float(node_s[-1] - node_s[0])
    carried = float(line(node_s[-1]) - line(node_s[0])) / span_s
    return FineTrack(
        time_s=steps.time_s,
        rotation_hz=np.gradient(aside + final.value, steps.time_s),
        sd_hz=final.rate_sd / each_s,
        start_s=float(node_s[0]),
        stop_s=float(node_s[-1]),
        mean_hz=carried + final.mean_rate / each_s,
        mean_sd_hz=final.mean_rate_sd / each_s,
        line_to_noise=line_to_noise,
        step_s=each_s,
        wander_hz=final.wander_sd / each_s,
        spread_hz2=final.spread.scaled(1.0 / each_s**2),
        keeps_phase=_keeping_phase(steps.moved(final.value - first.value), line_to_noise),
    )


def _grouped(base: Baseband, step_s: float) -> Baseband | None:
    """Join blocks into steps of equal length; None when there would be too few."""
    span = base.time_s[-1] - base.time_s[0] if base.time_s.size else 0.0
    step_s = max(step_s, 2.0 * float(np.max(np.diff(base.time_s), initial=0.0)))
    count = int(span / step_s)
    if count < _FEWEST:
        return None
    wanted = base.time_s[0] + span * np.arange(count) / count
    return base.grouped(np.searchsorted(base.time_s, wanted - 1e-9))


def _line_to_noise(base: Baseband, steps: Baseband) -> Floats:
    """Power of each line over that of the noise in one step, from the scatter within steps.

    A line that does not stand out is counted as missing: by chance it would seem to know something,
    and much of it, for high orders weigh most.
    """
    count = steps.time_s.size
    freedom = base.time_s.size - count
    inner = np.sum(np.abs(base.lines) ** 2 * base.count, axis=1)
    outer = np.sum(np.abs(steps.lines) ** 2 * steps.count, axis=1)
    noise = np.maximum(inner - outer, 1e-9 * outer + 1e-30) / freedom
    ratio = outer / count / noise - 1.0
    chance = _BY_CHANCE * np.sqrt(1.0 / count + 1.0 / freedom)
    heard = (ratio > chance) | (ratio == np.max(ratio))
    return np.asarray(np.maximum(np.where(heard, ratio, 0.0), 1e-6), np.float64)


def _noise_sd(orders: tuple[float, ...], line_to_noise: Floats) -> float:
    """Give the standard deviation, in turns, of one step's phase by all lines together."""
    information = sum(2.0 * k**2 * r for k, r in zip(orders, line_to_noise, strict=False))
    return float(1.0 / (2.0 * np.pi * np.sqrt(information)))


def _joined(steps: Baseband, line_to_noise: Floats) -> Floats:
    """Give the turns by which the shaft runs ahead in each step, lines weighted as they inform."""
    order = np.array(steps.orders)[:, None]
    whole = steps.lines.mean(axis=1, keepdims=True)
    # A line that slipped, or whose path to the microphone changed, has no one phase throughout.
    power = np.mean(np.abs(steps.lines) ** 2, axis=1, keepdims=True)
    power *= (line_to_noise / (1.0 + line_to_noise))[:, None]
    keeps = np.abs(whole) ** 2 > _KEEPS_PHASE * power
    reference = np.where(keeps, whole, _moving_mean(steps.lines, _REACH))
    turned = steps.lines * np.conj(reference)
    # The angle itself where the line stands clear of the noise, its linear form where it does not.
    size = np.maximum(np.abs(reference) ** 2, 1e-30)
    clear = line_to_noise[:, None] > _CLEAR
    angle = np.where(clear, np.angle(turned), np.imag(turned) / size)
    weight = order**2 * line_to_noise[:, None]
    ahead = np.sum(weight * angle / order, axis=0) / np.sum(weight, axis=0)
    return np.asarray(ahead / (2.0 * np.pi), np.float64)


def _keeping_phase(steps: Baseband, line_to_noise: Floats) -> NDArray[np.bool_]:
    """Tell which lines have one phase over a second, as lines of one shaft do.

    What another source puts near a line turns against it and is lost in the mean.
    """
    power = np.mean(np.abs(steps.lines) ** 2, axis=1) * line_to_noise / (1.0 + line_to_noise)
    kept = np.mean(np.abs(_moving_mean(steps.lines, _AGREEING_REACH)) ** 2, axis=1)
    return np.asarray((line_to_noise > _FAINTEST) & (kept > _KEEPS_PHASE * power), np.bool_)


def _moving_mean(lines: NDArray[np.complex128], reach: int) -> NDArray[np.complex128]:
    """Mean over `reach` steps on both sides, fewer at the ends."""
    count = lines.shape[1]
    total = np.concatenate([np.zeros((lines.shape[0], 1)), np.cumsum(lines, axis=1)], axis=1)
    low = np.maximum(np.arange(count) - reach, 0)
    high = np.minimum(np.arange(count) + reach + 1, count)
    mean: NDArray[np.complex128] = (total[:, high] - total[:, low]) / (high - low)
    return mean
