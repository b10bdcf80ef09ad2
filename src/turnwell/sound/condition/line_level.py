"""The level of the rotation line along a coast-down, free of the noise beneath it.

The line is brought down to zero frequency in short blocks of whole turns. The product of each block
with the conjugate of the one before holds the line's power but not the noise's, since noise of two
blocks has nothing in common; a small error of the track turns the product and leaves its size. The
median of the products of a bin of speed is not moved by a knock on the bench.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.speed.demodulate import Baseband, baseband_of
from turnwell.sound.speed.turning import Turning

__all__ = ["BIN", "LineLevel", "joined", "level_along"]

Floats = NDArray[np.float64]

BIN = 0.04  # of the logarithm of the speed
_TURNS = 8.0
_WAIT_S = 0.03  # after the release the last of the air still drives the blades
_PAIRS = 3
_ABOVE_NOISE = 30.0
_UNSURE = 0.01
_USUAL_EXPONENT = 2.0
_DB = 10.0 / np.log(10.0)
# Variance of a median over that of a mean, where each value shares a block with both neighbours:
# pi/2 (1 + 4/pi asin 1/2) against 1 + 2/2.
_MEDIAN = 5.0 * np.pi / 12.0
_LEAST_SD_DB = 0.03


@dataclass(frozen=True, slots=True, eq=False)
class LineLevel:
    """Level of the rotation line against the speed.

    Parameters
    ----------
    number : array of int, shape (n,)
        Number of the bin of speed, rising with the logarithm of speed; the same speed has the same
        number in every coast-down.
    level_db, sd_db : arrays, shape (n,)
        Level relative to full scale, and the standard deviation that noise gives it.
    """

    number: NDArray[np.int64]
    level_db: Floats
    sd_db: Floats

    @property
    def rotation_hz(self) -> Floats:
        """Rotation frequency in the middle of each bin."""
        return np.asarray(np.exp(BIN * (self.number + 0.5)), np.float64)

    @property
    def span(self) -> float:
        """Highest speed over lowest; 1 where there are no bins."""
        if self.number.size == 0:
            return 1.0
        return float(np.exp(BIN * (self.number[-1] - self.number[0] + 1)))


def level_along(
    samples: NDArray[np.float32], rate_hz: float, turning: Turning, *, edge_hz: float
) -> LineLevel:
    """Give the level of line 1 in bins of speed, as far down as it stands out of the noise.

    Parameters
    ----------
    samples : array of float32, shape (n,)
    rate_hz : float
    turning : Turning
        A coast-down.
    edge_hz : float
        Highest frequency that the coding passes; nothing faster is looked at.
    """
    kept = turning.time_s >= turning.time_s[0] + _WAIT_S
    kept &= turning.rotation_hz < 0.95 * edge_hz
    kept &= turning.sd_hz < _UNSURE * turning.rotation_hz
    kept &= turning.rotation_hz > 0.0
    if np.count_nonzero(kept) < 2:
        return _none()
    time_s, rotation_hz = turning.time_s[kept], turning.rotation_hz[kept]
    block_s = _TURNS / float(rotation_hz.max())
    if time_s[-1] - time_s[0] < 10.0 * block_s * float(rotation_hz.max() / rotation_hz.min()):
        return _none()
    lines = baseband_of(samples, rate_hz, time_s, rotation_hz, (1,), block_s=block_s)
    return _binned(lines, np.interp(lines.time_s, time_s, rotation_hz))


def joined(levels: tuple[LineLevel, ...]) -> LineLevel:
    """Give the mean over coast-downs, in the bins that all of them reach.

    A microphone that was moved in between shifts a whole coast-down, which no growth depends on.
    """
    if len(levels) == 1:
        return levels[0]
    common = levels[0].number
    for level in levels[1:]:
        common = np.intersect1d(common, level.number)
    rows = [np.searchsorted(level.number, common) for level in levels]
    total = np.stack([level.level_db[row] for level, row in zip(levels, rows, strict=True)])
    noise = np.stack([level.sd_db[row] for level, row in zip(levels, rows, strict=True)])
    return LineLevel(common, total.mean(axis=0), np.sqrt(np.sum(noise**2, axis=0)) / len(levels))


def _binned(lines: Baseband, rotation_hz: Floats) -> LineLevel:
    """Median product and scatter of the blocks, bin by bin of the speed."""
    # Without the usual growth two blocks differ by their noise alone, and it does not matter where
    # in a bin its few pairs lie. It is put back at the end, at the middle of each bin.
    along = np.log(rotation_hz)
    block = lines.lines[0] * np.exp(-_USUAL_EXPONENT * (along - along.max()))
    product = block[1:] * np.conj(block[:-1])
    number = np.floor(0.5 * (along[1:] + along[:-1]) / BIN).astype(np.int64)
    order = np.argsort(number, kind="stable")
    numbers, first, count = np.unique(number[order], return_index=True, return_counts=True)
    full = count >= _PAIRS
    if not np.any(full):
        return _none()
    members = [order[at : at + size] for at, size in zip(first[full], count[full], strict=True)]
    turns = _turns(product, members)
    power, noise = np.empty(len(members)), np.empty(len(members))
    for row, (inside, turn) in enumerate(zip(members, turns, strict=True)):
        power[row] = np.median((product[inside] * np.conj(turn)).real)
        apart = np.abs(block[inside + 1] - turn * block[inside]) ** 2
        # Two blocks differ by both their noises; the median of an exponential is ln 2 of its mean.
        noise[row] = np.median(apart) / (2.0 * np.log(2.0))
    pair = count[full].astype(np.float64)
    noise = _smoothed(noise, pair)
    smooth = _smoothed(power, np.ones(power.size))
    heard = _heard(power, smooth, noise / pair)
    # A bin that noise has raised must not count for more than its neighbours.
    ratio = noise[heard] / smooth[heard]
    share = _MEDIAN * (2.0 * ratio + 0.5 * ratio**2) / pair[heard]
    middle = BIN * (numbers[full][heard] + 0.5)
    usual = 2.0 * _USUAL_EXPONENT * (middle - along.max())
    return LineLevel(
        number=numbers[full][heard],
        level_db=_DB * (np.log(2.0 * power[heard]) + usual),
        sd_db=np.hypot(_DB * np.sqrt(share), _LEAST_SD_DB),
    )


def _turns(
    product: NDArray[np.complex128], members: list[NDArray[np.int64]]
) -> NDArray[np.complex128]:
    """Turn of the line from block to block, of size 1, bin by bin.

    It is that of five bins together: a bin's own would lean towards its own noise and raise the
    power.
    """
    total = np.array([product[inside].sum() for inside in members])
    wide = np.convolve(total, np.ones(5))[2:-2]
    return np.asarray(wide / np.maximum(np.abs(wide), 1e-30), np.complex128)


def _smoothed(values: Floats, weight: Floats) -> Floats:
    """Mean over five neighbouring bins: the scatter of a few blocks alone is itself unsure."""
    ones = np.ones(5)
    total: Floats = np.convolve(values * weight, ones)[2:-2] / np.convolve(weight, ones)[2:-2]
    return total + 1e-30


def _heard(power: Floats, smooth: Floats, noise: Floats) -> NDArray[np.int64]:
    """Bins from the fastest down to where the line is lost in noise.

    The mean of five bins decides: to pick single bins by what they show would keep those that noise
    has raised, and flatten the growth.
    """
    lost = np.flatnonzero(smooth < _ABOVE_NOISE * noise)
    first = int(lost[-1]) + 1 if lost.size else 0
    return first + np.flatnonzero(power[first:] > noise[first:])


def _none() -> LineLevel:
    return LineLevel(np.empty(0, np.int64), np.empty(0), np.empty(0))
