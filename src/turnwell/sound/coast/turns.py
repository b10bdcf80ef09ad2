"""Brings the lines of a falling shaft down to near zero frequency, one value a turn.

At full speed a turn may be seven samples long. A sum over the samples of one turn then jumps as
its ends move from sample to sample, and the jumps beat with the rotation. Here each turn is
weighted by a triangle two turns wide, which ends at zero: every other line still falls on a zero
of it, twofold, and the jumps are gone.
"""

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.speed.demodulate import Baseband

__all__ = ["turn_by_turn"]

Floats = NDArray[np.float64]


def turn_by_turn(
    samples: NDArray[np.float32], rate_hz: float, node_s: Floats, node_hz: Floats, lines: int
) -> Baseband | None:
    """Bring the first lines of a shaft down along a path; None where it lies off the recording.

    Parameters
    ----------
    samples : array of float32, shape (n,)
    rate_hz : float
    node_s, node_hz : arrays, shape (m,)
        The path, straight between nodes.
    lines : int
        Harmonics 1 to this.

    Returns
    -------
    Baseband
        One block a whole turn, its time that at which the turn is full; `count` is the turn's
        length in samples.
    """
    first = max(int(np.ceil(node_s[0] * rate_hz)), 0)
    last = min(int(node_s[-1] * rate_hz), samples.size)
    if last - first < 2:
        return None
    time_s = np.arange(first, last) / rate_hz
    speed_hz = np.interp(time_s, node_s, node_hz)
    # The trapezoid rule, exact on a straight path; a plain sum runs half a sample ahead.
    turns = (np.cumsum(speed_hz) - 0.5 * (speed_hz + speed_hz[0])) / rate_hz
    whole = np.floor(turns)
    starts = np.concatenate([[0], np.flatnonzero(np.diff(whole)) + 1])
    part = (turns - whole).astype(np.float32)
    angle = np.float32(-2.0 * np.pi) * part
    turn = np.empty(angle.size, np.complex64)
    np.cos(angle, out=turn.real)
    np.sin(angle, out=turn.imag)
    product = samples[first:last].astype(np.complex64)
    # A turn is full at a whole number: the rest of the turn before it rises, its own start falls.
    numbers = whole[starts[1:]]
    sums = np.empty((lines, numbers.size), np.complex128)
    for row in range(lines):
        product *= turn
        rising = np.add.reduceat(product * part, starts)
        falling = np.add.reduceat(product, starts) - rising
        sums[row] = rising[:-1] + falling[1:]
    at_s = np.interp(numbers, turns, time_s)
    count = rate_hz / np.interp(at_s, node_s, node_hz)
    # The last turn may not be whole.
    inner = slice(0, -1)
    return Baseband(
        at_s[inner],
        numbers[inner],
        count[inner],
        (sums / count)[:, inner],
        tuple(float(order) for order in range(1, lines + 1)),
    )
